"""The table of acts right after typing: each does the next thing at once and says whether what came of it is right.

An act is called with the page, what was Typed on Plan just before, and a folder; it ends on Plan with the same eye in
the fields, so that any other can follow.
"""

import csv
import io
import zipfile
from datetime import date
from urllib.parse import urlparse

import pypdf
from acts import choose, field
from hurry import (
    beds_of_command,
    beds_um,
    button,
    figures_right,
    of_fields,
    plan_bytes,
    plan_inside,
    same_as_command,
    saved_by,
    settled,
    shown,
    stands,
)

from tissue.drawing.patient.words import WAYS
from tissue.entry import plan_file

ROW = "[...document.querySelectorAll('table.figures tr')].find((r) => r.innerText.startsWith('Residual bed (RSB)'))"
BESIDE = f"() => [...({ROW}).querySelectorAll('.beside')].map((one) => one.innerText)"
MAP_POINT = """
() => {
  const node = document.querySelector('.st-key-chart-to_map .plot');
  const { xaxis, yaxis } = node._fullLayout, box = node.getBoundingClientRect();
  return [box.x + xaxis._offset + xaxis.d2p(6.0), box.y + yaxis._offset + yaxis.d2p(110)];
}
"""
NOTE_CLICK = """
() => document.addEventListener("mousedown", ({ clientX, clientY }) => {
  const node = document.querySelector('.st-key-chart-to_map .plot'), box = node.getBoundingClientRect();
  const { xaxis, yaxis } = node._fullLayout;
  window.clicked = [xaxis.p2d(clientX - box.x - xaxis._offset), yaxis.p2d(clientY - box.y - yaxis._offset)];
}, { capture: true, once: true })
"""
STEPS_OF_MAP = (0.05, 1.0)  # what a click is rounded to: zone [mm], cap [µm]
ON_PLAN, ON_MAP = ("", "plan"), "map"
HALF_A_DIGIT = 0.05 + 1e-9  # the table of a day is written to 0.1 µm
COPY = "-copy"  # ends the code of an invented plan that was changed, and of no other here


def at_once(page, name):
    """Ask for another screen and go on as soon as its address is there."""
    page.get_by_role("link", name=name, exact=True).click()
    paths = ON_PLAN if name == "Plan" else (name.lower().replace(" ", "-"),)
    page.wait_for_url(lambda url: urlparse(url).path.strip("/") in paths)


def back_to_plan(page):
    """Plan, drawn, with the figures of what stands in the fields."""
    at_once(page, "Plan")
    page.wait_for_selector(".plot[data-drawn]")
    settled(page)


def plan_of_session(made):
    """The Desk of the bytes of a plan file, to make again what the screen made."""
    from tissue.screens.desk.plan import Desk

    desk = Desk()
    desk.open(plan_file.read_plan(bytes(made)), "")
    return desk


def next_field(page, typed, folder):
    """Another field is clicked and typed into: both entries stand, and the figures are of both."""
    zone = f"{6.0 + 0.01 * (typed.number % 90):.2f}"
    field(page, "zone_mm").click()
    page.keyboard.press("Control+a")
    page.keyboard.type(zone)
    right = figures_right(page, folder)
    return right and [field(page, name).input_value() for name in ("refraction", "sphere_D", "zone_mm")] == [
        typed.text, typed.sphere, zone
    ]  # fmt: skip


def arrow(page, typed, folder):
    """Tab to the axis and an arrow key: the axis of this refraction has moved, of no older one."""
    for _ in range(3):
        page.keyboard.press("Tab")
    page.keyboard.press("ArrowUp")
    right = figures_right(page, folder)
    found = [field(page, name).input_value() for name in ("sphere_D", "cylinder_D", "axis_deg", "refraction")]
    return right and found == [typed.sphere, "−0.75", "13", f"{typed.sphere} −0.75 × 13"]


def arrow_record(page, typed, folder):
    """The same and a record, without a pause between: its figures are of the moved axis."""
    for _ in range(3):
        page.keyboard.press("Tab")
    page.keyboard.press("ArrowUp")
    pdf = saved_by(page, button(page, "Record for print").click)
    typed.calm()
    said = plan_file.read_plan(plan_inside(pdf)).eyes[stands(page)[0]]
    there = (said["sphere_D"], said["axis_deg"]) == (float(typed.sphere.replace("−", "-")), 13.0)
    return there and same_as_command(pdf, folder)


def record(page, typed, folder):
    """The record holds what was typed, and is byte for byte the command's."""
    pdf = saved_by(page, button(page, "Record for print").click)
    typed.calm()
    return of_fields(page, plan_inside(pdf), typed.text) and same_as_command(pdf, folder)


def save(page, typed, folder):
    """The saved plan holds what was typed, and the page calls it saved."""
    made = saved_by(page, button(page, "save").click)
    typed.calm()
    page.get_by_text("no changes", exact=True).wait_for()
    return of_fields(page, made, typed.text)


def save_by_key(page, typed, folder):
    """The same by keyboard, from within the field that is typed into."""
    made = saved_by(page, lambda: page.keyboard.press("Control+s"))
    typed.calm()
    page.get_by_text("no changes", exact=True).wait_for()
    return of_fields(page, made, typed.text)


def section(page, typed, folder):
    """The section as CSV is that of what was typed."""
    from tissue.entry.eye import build
    from tissue.screens.pages.plan import section_csv

    made = saved_by(page, button(page, "section as CSV").click)
    typed.calm()
    shown(page)
    side = stands(page)[0]
    values = plan_file.read_plan(plan_bytes(page)).eyes[side]
    shown_text = field(page, "refraction").input_value() == typed.text
    return shown_text and made == section_csv(build(values, side).compare(), 0.0).encode()


def other_eye(page, typed, folder):
    """The other eye and back: what was typed stands in its own eye alone."""
    choose(page, "OS (left)")
    page.wait_for_function("document.querySelector('.tissue-fields').dataset.plan.endsWith('OS')")
    there = field(page, "refraction").input_value()
    typed.calm()
    choose(page, "OD (right)")
    page.wait_for_function("document.querySelector('.tissue-fields').dataset.plan.endsWith('OD')")
    back = [field(page, name).input_value() for name in ("refraction", "sphere_D")]
    return there != typed.text and back == [typed.text, typed.sphere] and figures_right(page, folder)


def other_screen(page, typed, folder):
    """Another screen says what was typed; so does Plan when one comes back."""
    at_once(page, "Alignment")
    said = page.get_by_text(f"{typed.sphere} −0.75 × 12", exact=True).first
    said.wait_for()
    typed.calm()
    back_to_plan(page)
    return field(page, "refraction").input_value() == typed.text and figures_right(page, folder)


def go_back(page, typed, folder):
    """The browser's own way back and forth."""
    at_once(page, "Alignment")
    page.go_back()
    page.wait_for_url(lambda url: urlparse(url).path.strip("/") in ON_PLAN)
    typed.calm()
    page.wait_for_selector(".plot[data-drawn]")
    return figures_right(page, folder) and field(page, "refraction").input_value() == typed.text


def reload(page, typed, folder):
    """A reload: the page asks before it is left, and whoever leaves finds what was typed, with its figures."""
    asked = []

    def hear(dialog):
        asked.append(dialog.type)

    page.on("dialog", hear)
    page.reload()
    page.remove_listener("dialog", hear)
    typed.calm()
    page.wait_for_selector(".plot[data-drawn]")
    right = figures_right(page, folder)
    return right and asked == ["beforeunload"] and field(page, "refraction").input_value() == typed.text


def keep(page, typed, folder):
    """What is kept for comparison is what was typed."""
    button(page, "Keep this plan").click()
    button(page, "Drop the kept plan").wait_for()
    typed.calm()
    shown(page)
    expected = beds_of_command(plan_bytes(page), folder, stands(page)[0])
    kept = page.evaluate(BESIDE)
    button(page, "Drop the kept plan").click()
    button(page, "Keep this plan").wait_for()
    return field(page, "refraction").input_value() == typed.text and kept == [f"kept {bed}" for bed in expected]


def new_patient(page, typed, folder):
    """A new patient, the changes saved first: the file holds what was typed, the desk nothing of it."""
    _, code, texts = stands(page)
    button(page, "new patient").click()
    made = saved_by(page, button(page, "save, then a new patient").click)
    typed.calm()
    page.get_by_role("dialog").wait_for(state="detached")
    page.wait_for_function("!document.querySelector('[name=code]').value")
    settled(page)
    empty = stands(page)[2] == {}
    said = plan_file.read_plan(made)
    type_again(page, code, texts)
    same = said.code.removesuffix(COPY) == code.removesuffix(COPY)
    return empty and same and said.typed["OD"]["refraction"] == typed.text


def type_again(page, code, texts):
    """A patient typed into the empty desk, for the acts that follow."""
    for side, word in (("OS", "OS (left)"), ("OD", "OD (right)")):
        choose(page, word)
        page.wait_for_function(f"document.querySelector('.tissue-fields').dataset.plan.endsWith('{side}')")
        for name in ("refraction", "central_thickness_um", "mean_K_D"):
            field(page, name).fill(texts.get(name, ""))
    field(page, "code").fill(code.removesuffix(COPY))
    settled(page)


def handout(page, typed, folder):
    """The patient's page of another screen, asked for as soon as it is there."""
    from tissue.paper.handout import handout as made_again
    from tissue.screens.desk.link import sound

    at_once(page, "Explain")
    pdf = saved_by(page, button(page, "Handout for print").click)
    typed.calm()
    back_to_plan(page)
    plan = saved_by(page, button(page, "save").click)
    desk = plan_of_session(plan)
    eyes = {side: one.comparison for side, one in sound(desk).items()}
    again = made_again(desk.code, eyes, next(iter(WAYS)), str(date.today()), desk.code.endswith(COPY))
    return of_fields(page, plan, typed.text) and pdf == again


def suction_page(page, typed, folder):
    """The page for lost suction of another screen."""
    from tissue.screens.pages.suction import page as made_again

    at_once(page, "Suction loss")
    pdf = saved_by(page, button(page, "Page for print").click)
    typed.calm()
    back_to_plan(page)
    plan = saved_by(page, button(page, "save").click)
    return of_fields(page, plan, typed.text) and pdf == made_again(plan_of_session(plan))[2]


def on_list(page, typed, folder):
    """The row of the list is of what was typed, and opens it again."""
    at_once(page, "List")
    row = page.locator(".tissue-day tbody tr", has_text=f"{typed.sphere} −0.75 × 12").first
    row.wait_for()
    typed.calm()
    cells = row.locator("td").all_inner_texts()
    row.click()
    page.wait_for_url(lambda url: urlparse(url).path.strip("/") in ON_PLAN)
    page.wait_for_selector(".plot[data-drawn]")
    right = figures_right(page, folder)
    beds = beds_of_command(plan_bytes(page), folder, "OD")
    return right and cells[1] == "OD" and cells[7] == " / ".join(beds)


def plans_zip(page, typed, folder):
    """All plans as one zip, asked for as soon as the list is there."""
    at_once(page, "List")
    packed = zipfile.ZipFile(io.BytesIO(saved_by(page, button(page, "all plans as one zip").click)))
    typed.calm()
    back_to_plan(page)
    [name] = packed.namelist()
    return of_fields(page, packed.read(name), typed.text)


def records_pdf(page, typed, folder):
    """All records as one document: byte for byte what is made again of the plan inside it."""
    from tissue.paper.day import day_record
    from tissue.screens.desk.link import sound
    from tissue.screens.desk.state import Day
    from tissue.screens.pages.plan import record_parts
    from tissue.screens.tables.rows import HEADS, day_rows

    at_once(page, "List")
    pdf = saved_by(page, button(page, "all records as one PDF").click)
    typed.calm()
    back_to_plan(page)
    [plan] = [one for found in pypdf.PdfReader(io.BytesIO(pdf)).attachments.values() for one in found]
    desk = plan_of_session(plan)
    found, left = Day.of(desk), 1
    while left:
        rows, left = day_rows(found)
    rows = [row["cells"] for row in rows]
    again = day_record(HEADS, rows, [record_parts(desk, sound(desk))], str(date.today()))
    return of_fields(page, plan, typed.text) and pdf == again


def day_csv(page, typed, folder):
    """The day as a table: the figures of what was typed."""
    at_once(page, "List")
    made = saved_by(page, button(page, "the day as CSV").click)
    typed.calm()
    back_to_plan(page)
    [row] = [one for one in csv.DictReader(io.StringIO(made.decode())) if one["side"] == "OD"]
    beds = [row[f"{option}_bed_central_um"] for option in ("surface", "flap", "lenticule")]
    figures = beds_um(plan_bytes(page), folder, "OD")
    same = all(abs(float(bed) - figure) <= HALF_A_DIGIT for bed, figure in zip(beds, figures, strict=True))
    return same and field(page, "refraction").input_value() == typed.text


def copy_eye(page, typed, folder):
    """The copy to the other eye is a copy of what was typed."""
    button(page, "copy to the other eye").click()
    button(page, "Overwrite OS (left)").click()
    page.get_by_role("dialog").wait_for(state="detached")
    typed.calm()
    choose(page, "OS (left)")
    page.wait_for_function("document.querySelector('.tissue-fields').dataset.plan.endsWith('OS')")
    there = figures_right(page, folder) and field(page, "refraction").input_value() == typed.text
    choose(page, "OD (right)")
    page.wait_for_function("document.querySelector('.tissue-fields').dataset.plan.endsWith('OD')")
    return there and field(page, "refraction").input_value() == typed.text


def next_plan(page, typed, folder):
    """A second patient of the list and back, by key: what was typed stays with its own patient."""
    page.locator(".eye h1").first.click()
    settled(page)
    code = stands(page)[1]
    page.keyboard.press("n")
    button(page, "drop the changes, then a new patient").wait_for()
    typed.calm()
    button(page, "stay with this patient").click()
    page.get_by_role("dialog").wait_for(state="detached")
    found = stands(page)
    return figures_right(page, folder) and (found[1], found[2].get("refraction")) == (code, typed.text)


def on_map(page, typed_later, wait, folder):
    """A click on the map of Trade-offs: the plan has what was typed, moved to the place that lay under the click."""
    place = page.evaluate(MAP_POINT)
    page.evaluate(NOTE_CLICK)
    typed = typed_later()
    page.wait_for_timeout(wait)
    page.mouse.click(*place)
    page.get_by_role("button", name="Take it back").wait_for()
    typed.calm()
    settled(page)  # a click on a picture is no entry: nothing pales for it
    standing = [field(page, name).input_value() for name in ("refraction", "sphere_D", "zone_mm", "cap_um")]
    clicked = page.evaluate("window.clicked")
    page.get_by_role("button", name="Take it back").click()
    page.get_by_role("button", name="Take it back").wait_for(state="detached")
    near = all(abs(float(a) - b) < step for a, b, step in zip(standing[2:], clicked, STEPS_OF_MAP, strict=True))
    assert near and standing[:2] == [typed.text, typed.sphere], f"{standing}, where {typed.text}, {clicked} was meant"
    return True


ACTS = {
    "next field": next_field,
    "arrow key": arrow,
    "arrow, record": arrow_record,
    "record for print": record,
    "save": save,
    "save by key": save_by_key,
    "section as CSV": section,
    "other eye": other_eye,
    "other screen": other_screen,
    "back": go_back,
    "reload": reload,
    "keep this plan": keep,
    "new patient": new_patient,
    "key N, stay": next_plan,
    "handout": handout,
    "page for lost suction": suction_page,
    "list": on_list,
    "plans as zip": plans_zip,
    "records as PDF": records_pdf,
    "day as CSV": day_csv,
    "copy to the other eye": copy_eye,
}
