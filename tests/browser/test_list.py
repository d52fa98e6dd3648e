"""List: the eyes of a day opened at once, sorted, filtered, walked by keyboard; prints and files of them all."""

import csv
import io
import re
import zipfile

import pypdf
import pytest
from acts import choose, field, go, idle
from hurry import button, saved_by, settled
from playwright.sync_api import expect

from tissue.entry import plan_file

PLANS = {  # code: sphere, thickness, procedure
    "day-1": ("-6.00", 548, "lenticule"),
    "day-2": ("-3.00", 531, "flap"),
    "day-3": ("+2.00", 560, "surface"),
}


def text_of(code):
    """A plan file of one right eye."""
    sphere, thickness, procedure = PLANS[code]
    eye = f'sphere_D = "{sphere}"\ncentral_thickness_um = {thickness}\nprocedure = "{procedure}"\n'
    return f'schema = 1\ncode = "{code}"\n[OD]\n{eye}'


@pytest.fixture
def day(page, tmp_path):
    """The list with the plans opened, and the folder of their files."""
    for code in PLANS:
        (tmp_path / f"{code}.toml").write_text(text_of(code), "utf-8")
    go(page, "List")
    page.locator("input[type=file]").first.set_input_files(sorted(tmp_path.glob("*.toml")))
    expect(page.locator(".tissue-day tbody tr")).to_have_count(len(PLANS), timeout=20000)
    idle(page)
    return page


def codes(page):
    """The codes as they stand in the rows."""
    return page.locator(".tissue-day tbody td:first-child").all_inner_texts()


def test_the_plans_stand_in_rows_and_the_invented_one_makes_place(day):
    assert codes(day) == list(PLANS)
    assert "−6.00 sphere" in day.locator(".tissue-day tbody tr").first.inner_text()


PARTED = "() => [...document.querySelectorAll('.whole')].filter((one) => one.getClientRects().length > 1).length"
OVER = "() => ((one) => one.scrollWidth - one.clientWidth)(document.querySelector('.tissue-day .scroll'))"


def test_no_figure_is_parted_in_a_narrow_window(page, tmp_path):
    """Source: rule of the screens: 800 px wide. An axis and "< 0.1" stay whole, no column is out of sight."""
    eye = "cylinder_D = -1.00\naxis_deg = 15\ncentral_thickness_um = 498"
    (tmp_path / "more.toml").write_text(f'schema = 1\ncode = "harbour-2"\n[OD]\nsphere_D = -8.25\n{eye}\n', "utf-8")
    go(page, "List")
    page.locator("input[type=file]").first.set_input_files(tmp_path / "more.toml")
    cells = page.locator(".tissue-day tbody tr", has_text="harbour-2").locator("td")
    expect(cells.first).to_be_visible(timeout=20000)
    page.set_viewport_size({"width": 800, "height": 900})
    idle(page)
    assert cells.nth(2).inner_text() == "−8.25 −1.00 × 15" and cells.nth(5).inner_text() == "53 / 110 / 120"
    assert cells.nth(2).locator(".whole").all_inner_texts() == ["−8.25", "−1.00 × 15"]
    assert (page.evaluate(PARTED), page.evaluate(OVER)) == (0, 0)


SLOW_LINE = """() => {
  let send = tissueDesk.send;
  window.line_ms = 700;
  const get = () => (said) => (line_ms ? setTimeout(() => send(said), line_ms) : send(said));
  Object.defineProperty(tissueDesk, "send", { get, set: (one) => (send = one) }); // each answer sets it anew
}"""


def test_it_is_sorted_filtered_opened_and_stepped_through_by_keyboard(day):
    day.get_by_role("button", name="Refraction", exact=True).click()
    assert codes(day) == ["day-1", "day-2", "day-3"]
    day.get_by_role("button", name="Refraction", exact=True).click()
    assert codes(day) == ["day-3", "day-2", "day-1"]
    day.locator("#day-filter").fill("flap")
    assert codes(day) == ["day-2"]
    day.locator("#day-filter").press("ArrowDown")
    day.keyboard.press("Enter")
    expect(field(day, "code")).to_have_value("day-2", timeout=20000)
    choose(day, "OS (left)")
    choose(day, "OD (right)")
    day.keyboard.press("]")  # the switch has the focus, and nothing is typed into it
    expect(field(day, "code")).to_have_value("day-3", timeout=20000)
    day.keyboard.press("[")
    day.keyboard.press("[")
    expect(field(day, "code")).to_have_value("day-1", timeout=20000)
    expect(field(day, "sphere_D")).to_have_value("-6.00")
    _typed_while_another_is_awaited(day)


def _typed_while_another_is_awaited(day):
    """It goes to neither, not even the end of a text. Source: rule of the desk: fields are one patient's."""
    sphere = field(day, "sphere_D")
    settled(day)
    day.evaluate(SLOW_LINE)
    day.keyboard.press("]")
    sphere.focus()
    day.keyboard.type("-4.")
    assert sphere.evaluate("one => [one.readOnly, one.value]") == [True, "-6.00"]
    expect(field(day, "code")).to_have_value("day-2")
    day.keyboard.type("25")
    expect(sphere).to_have_value("-3.00")
    day.locator(".eye h1").click()
    choose(day, "OS (left)")
    sphere.focus()
    day.keyboard.type("-2.5")
    expect(day.locator("form.tissue-fields")).to_have_attribute("data-plan", re.compile("OS$"))
    choose(day, "OD (right)")
    expect(sphere).to_have_value("-3.00")
    sphere.fill("-4.25")  # it waits until the field takes something
    _the_other_eye_of_a_new_patient_is_asked_for(day)
    day.evaluate("() => { window.line_ms = 0; }")
    go(day, "List")
    rows = day.locator(".tissue-day tbody tr")
    eyes = ["day-1OD−6.00 sphere", "day-2OD−4.25 sphere", "day-3OD+2.00 sphere", "no codeOS−2.50 sphere"]
    expect(rows).to_contain_text(eyes)


def _the_other_eye_of_a_new_patient_is_asked_for(day):
    """Before the server has answered: the switch spoke for the patient before, and showed that patient's eye."""
    day.get_by_role("radio", name="OD (right)").focus()
    day.keyboard.press("]")
    expect(field(day, "code")).to_have_value("day-3")
    settled(day)
    choose(day, "OS (left)")
    expect(day.locator("form.tissue-fields")).to_have_attribute("data-plan", re.compile("OS$"))
    settled(day)
    day.keyboard.press("n")
    expect(day.get_by_role("radio", name="OD (right)")).to_be_checked()
    expect(field(day, "code")).to_have_value("")
    choose(day, "OS (left)")
    expect(day.locator("form.tissue-fields")).to_have_attribute("data-plan", re.compile("OS$"))
    field(day, "sphere_D").fill("-2.50")
    field(day, "central_thickness_um").fill("555")


def test_records_plans_and_figures_of_the_day(day):
    """Source: the plans given; a page an eye pair after the list, each with its file inside; figures of a series."""
    pdf = pypdf.PdfReader(io.BytesIO(saved_by(day, button(day, "all records as one PDF").click)))
    assert [code for code in PLANS if any(code in page.extract_text() for page in pdf.pages[1:])] == list(PLANS)
    assert sorted(pdf.attachments) == [f"{code}.toml" for code in PLANS]
    packed = zipfile.ZipFile(io.BytesIO(saved_by(day, button(day, "all plans as one zip").click)))
    for code, (sphere, thickness, procedure) in PLANS.items():
        values = plan_file.read_plan(packed.read(f"{code}.toml")).eyes["OD"]
        assert (values["sphere_D"], values["central_thickness_um"]) == (float(sphere), thickness)
        assert values["procedure"] == procedure
    made = saved_by(day, button(day, "the day as CSV").click)
    rows = list(csv.DictReader(io.StringIO(made.decode())))
    assert [(row["patient"], row["status"]) for row in rows] == [(code, "ok") for code in PLANS]
    assert all(float(row["flap_bed_central_um"]) > 0 for row in rows)
    wrong = "patient,side,sphere_D,central_thickness_um\nday-4,OD,-1.00,555\nday-4,OS,-1.25,5510\n"
    tables = {"day-again.csv": made, "wrong.csv": wrong.encode()}
    files = [{"name": name, "mimeType": "text/csv", "buffer": data} for name, data in tables.items()]
    day.locator("input[type=file]").first.set_input_files(files)
    expect(day.locator(".tissue-day tbody tr")).to_have_count(2 * len(PLANS), timeout=20000)
    expect(day.locator(".stale")).to_contain_text("wrong.csv: line 3: central_thickness_um: read 5510")


def test_a_new_patient_is_added_to_the_list(day):
    button(day, "new patient, added to this list").click()
    expect(day.locator("[data-testid=stFileUploaderFile]")).to_have_count(0)  # names of files are codes of patients
    go(day, "Plan")
    expect(field(day, "code")).to_have_value("")
    for name, text in (("code", "day-4"), ("sphere_D", "-1.00"), ("central_thickness_um", "555")):
        field(day, name).fill(text)
    go(day, "List")
    expect(day.locator(".tissue-day tbody tr")).to_have_count(4)
    assert codes(day)[-1] == "day-4"
