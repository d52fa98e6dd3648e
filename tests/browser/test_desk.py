"""The desk as a hurried person uses it: nothing is waited for between typing and the next act, on a slowed browser."""

import io
import random
import re
import subprocess
import sys

import pypdf
import pytest
from acts import choose, drawn_after, field, go, idle, leave
from hurried import ACTS, on_map
from hurry import Typed, button, settled, slowed, type_refraction
from playwright.sync_api import expect
from screen_names import SCREENS
from serving import ROOT, free_port, waited_for

VALUES = (
    "-9.25", "−9.25", "6.85", "room-7", "0.3725", "433.7", "57.3", "38.77", "-0.87", "−0.87", "511.43", "537.43",
    "5.3719", "528.9", "417.73",
)  # fmt: skip
LETTER = "room-7, letter of the harbour clinic\nOD -9.25 sph, CCT 528.9 um"
BEFORE = """schema = 1
code = "room-7"
[OD]
sphere_D = "-9.25"
done = "lenticule"
residual = "-0.3725"
pupil_mm = 5.3719
suction_stage = "lenticule-side"
[OD.thickness_map]
form = "polar"
positive_x = "nasal"
positive_y = "up"
method = "OCT"
confirmed_on_picture = true
values = '''
0 0 511.43
{rings}
'''
[[OD.reading]]
days = 30
method = "oct"
thickness_um = 433.7
epithelium_um = 57.3
K_D = 38.77
refraction = "-0.87 sphere"
"""
READING = "[name=reading_thickness_um]"
RINGS = "\n".join(
    f"{r / 2:g} {a} {511.43 + 2 * r * r if (r, a) != (4, 90) else 537.43}"
    for r in range(1, 10)
    for a in range(0, 360, 30)
)
REMEMBERED = """() => {
  const fields = [...document.querySelectorAll("input, textarea")].map((one) => [one.value, one.placeholder]);
  const { plan, log, lost } = window.tissueDesk;
  return JSON.stringify([fields, plan, log, lost, document.title, { ...sessionStorage }, { ...localStorage }]);
}"""
PLACES = "d|transform|style|points|x|y|x1|x2|y1|y2|width|height|offset"  # [px]: a mark at 57.3 px is no thickness
DRAWN_IN = re.compile(rf'<style.*?</style>|<script.*?</script>| (?:{PLACES})="[^"]*"', re.DOTALL)
PRINTS = {  # screen: what is handed over there
    "Plan": ("Record for print", "section as CSV", "save"),
    "Explain": ("Handout for print",),
    "Suction loss": ("Page for print",),
    "List": ("all records as one PDF", "the day as CSV"),
}


@pytest.mark.parametrize("act", ACTS)
def test_an_act_right_after_typing_works_on_what_was_typed(page, tmp_path, act):
    """Source: rule of the desk: what the fields show is what every figure, print and file is made from."""
    for number in range(2):
        with slowed(page) as calm:
            typed = type_refraction(page, 3 * number + len(act), calm)
            page.wait_for_timeout(random.uniform(0.0, (110.0, 600.0)[number]))
            assert ACTS[act](page, typed, tmp_path), (act, typed)


SPEAKS_BESIDE = """() => {
  const desk = window.tissueDesk, node = document.querySelector(".plot[data-drawn]");
  window.order = [];
  desk.inTurn("another", () => {});  // so that the picture has to wait for its turn, until after the press
  desk.inTurn(node, () => window.order.push("the picture speaks"));
  [...document.querySelectorAll("a[href]")].find((link) => link.innerText.trim() === "Trade-offs").click();
  window.order.push(desk.leaving() ? "the screen is left" : "the press waits");
}"""


def test_a_click_on_the_map_right_after_typing(page, tmp_path):
    """And the way there: what the old screen still has to say as another one is asked for brought it back."""
    idle(page)
    page.evaluate(SPEAKS_BESIDE)
    page.wait_for_function("window.tissueDesk.screen === 'trade-offs'")
    assert page.evaluate("window.order") == ["the press waits", "the picture speaks"]
    page.wait_for_selector(".st-key-chart-to_map .plot[data-drawn]", timeout=60000)
    with slowed(page):
        assert on_map(page, lambda: type_refraction(page, 31), random.uniform(0.0, 600.0), tmp_path)
    lose_one = "desk.send = () => (desk.send = send)"  # a message that does not arrive: the click is said again
    page.evaluate(f"() => {{ const desk = window.tissueDesk, send = desk.send; {lose_one}; }}")
    assert on_map(page, lambda: Typed(*read_now(page), 0), 0.0, tmp_path)


def read_now(page):
    """The written refraction and the sphere as they stand."""
    return [field(page, name).input_value() for name in ("refraction", "sphere_D")]


def test_what_two_parts_of_the_page_say_at_once_goes_out_as_two_messages(page):
    """What is said in one turn goes out as one message, as that of the part that is drawn alone: an entry that met the
    asking for draws was answered by nothing until it was said again. Who fails in a turn leaves it to the others."""
    idle(page)
    page.evaluate("""() => {
      try { window.tissueDesk.inTurn("faulty", () => { throw new Error("not said"); }); } catch { /* its own affair */ }
    }""")
    page.evaluate("""() => {
      const desk = window.tissueDesk, send = desk.send;
      window.order = [];
      desk.send = (said) => (window.order.push("link"), send(said));
      desk.inTurn("part", () => window.order.push("part"));
      desk.say();
      window.order.push("end of the turn");
    }""")
    page.wait_for_function("window.order.length === 3")
    assert page.evaluate("window.order") == ["part", "end of the turn", "link"]


def test_a_run_that_did_not_reach_its_end_is_asked_for_again(page):
    """Figures that stay pale where nothing is on its way: the page says it once more by itself."""
    idle(page)
    page.evaluate("""() => {
      const desk = window.tissueDesk, send = desk.send;
      desk.send = () => (desk.send = send);  // one message is lost on its way
    }""")
    field(page, "zone_mm").fill("6.2")
    page.wait_for_function("document.body.classList.contains('tissue-old')")
    settled(page)
    assert page.evaluate("window.tissueDesk.log.length") == 0


def test_a_pasted_refraction_then_tab_then_an_arrow(page):
    """Source: rule of the desk: touching the axis after a pasted text changes the axis of that refraction."""
    with slowed(page):
        field(page, "refraction").fill("-5.00 -0.75 x 12")
        for _ in range(3):
            page.keyboard.press("Tab")
        page.keyboard.press("ArrowUp")
        settled(page)
    found = [field(page, name).input_value() for name in ("sphere_D", "cylinder_D", "axis_deg", "refraction")]
    assert found == ["−5.00", "−0.75", "13", "−5.00 −0.75 × 13"]


def test_figures_of_an_older_entry_pale_at_once_and_say_what_they_stand_for(page):
    """Source: rule of the desk: in the browser, without the server."""
    idle(page)
    script = "() => [document.body.classList.contains('tissue-old'), document.querySelector('.tissue-for').innerText]"
    assert page.evaluate(script)[0] is False
    field(page, "refraction").press("Control+a")
    page.keyboard.type("-4")
    assert page.evaluate(script) == [True, "figures for OD −6.00 −1.25 × 170"]
    page.keyboard.type(".00 -0.50 x 20")
    settled(page)
    assert page.evaluate(script)[0] is False


def test_one_field_that_cannot_be_read_does_not_stop_the_others(page):
    field(page, "zone_mm").fill("65")
    field(page, "cap_um").fill("130")
    page.wait_for_selector(".stale")
    page.wait_for_function("document.querySelector('.plot').ariaLabel.includes('cap 130')", timeout=20000)
    assert "Optical zone 6.5 mm is used: the field holds 65" in page.locator(".stale").inner_text()
    field(page, "zone_mm").fill("")
    page.wait_for_selector(".stale", state="detached")


def test_a_new_patient_leaves_nothing_of_the_one_before(page, tmp_path):
    """Source: rule of the desk: searched for every value, on every screen, in the page's source, names and prints.

    The patient before has a map of its own and was followed; what every screen makes of it was looked at first, and
    letter, map and reading were begun and not taken.
    """
    (tmp_path / "room-7.toml").write_text(BEFORE.format(rings=RINGS), "utf-8")
    button(page, "open").click()
    page.locator("input[type=file]").set_input_files(tmp_path / "room-7.toml")
    expect(field(page, "code")).to_have_value("room-7", timeout=20000)
    drawn_after(page, lambda: field(page, "zone_mm").fill("6.85"))
    button(page, "Keep this plan").click()
    assert _left(_source(page))
    for screen in ("Explain", *SCREENS):
        go(page, screen)
        if screen == "Rounds":
            button(page, "Begin the round").wait_for()
            page.get_by_role("button", name="The plan on the desk").click()
            page.get_by_role("button", name="Invented eyes").click()
            settled(page)
            button(page, "Begin the round").click()
            page.get_by_text("room-7, the plan on the desk").first.wait_for()
        if screen == "Explain":
            page.locator(".st-key-explain_night_row label").first.click()
            page.wait_for_selector(".explain-lights img")
    _begun(page)
    button(page, "new patient").click()
    button(page, "drop the changes, then a new patient").click()
    page.get_by_role("dialog").wait_for(state="detached")
    expect(field(page, "code")).to_have_value("")
    for screen in ("Plan", "List", "Explain", *SCREENS):
        go(page, screen)
        assert _left(_source(page)) == [], screen
    go(page, "Follow-up")
    for name, text in (("code", "room-8"), ("sphere_D", "-3.00"), ("central_thickness_um", "555")):
        field(page, name).fill(text)
    page.locator(READING).wait_for()
    assert _left(_source(page)) == []
    go(page, "Plan")
    for opens in (
        ".st-key-press-read_letter button",
        ".own-map button",
        ".st-key-press-readback button",
        ".st-key-press-open button",
    ):
        page.locator(opens).first.click()
        page.get_by_role("dialog").wait_for()
        idle(page)
        assert _left(_source(page)) == [], opens
        page.keyboard.press("Escape")
        page.get_by_role("dialog").wait_for(state="detached")
    for screen, names in PRINTS.items():
        go(page, screen)
        for name in names:
            with page.expect_download(timeout=30000) as saving:
                button(page, name).click()
            made = saving.value.path().read_bytes()
            assert _left(saving.value.suggested_filename + _words(made)) == [], (screen, name)
            assert b"room-8" in made or "room-8" in saving.value.suggested_filename + _words(made), (screen, name)
    for screen in ("Trade-offs", "Follow-up", "Rounds"):
        go(page, screen)
        assert _left(_source(page)) == [], screen


def _begun(page):
    """A letter that was read and left by the browser's own way back, a map and a reading that were begun."""
    go(page, "Plan")
    page.locator(".st-key-press-read_letter button").click()
    page.get_by_role("dialog").locator("textarea").fill(LETTER)
    page.locator(".st-key-letter_go button").click()
    page.locator(".st-key-letter_all").wait_for()
    assert "528.9" in _left(_source(page))
    page.go_back()
    page.get_by_role("dialog").wait_for(state="detached")
    go(page, "Plan")
    page.locator(".own-map button").first.click()
    page.get_by_role("dialog").locator("textarea").fill("x_mm,y_mm,thickness_um\n0,0,528.9")
    page.get_by_role("dialog").locator("input[type=file]").set_input_files(
        {"name": "room-7.csv", "mimeType": "text/csv", "buffer": b"x_mm,y_mm,thickness_um\n0,0,528.9"}
    )
    page.get_by_role("dialog").get_by_text("room-7.csv").wait_for()
    page.go_back()
    page.get_by_role("dialog").wait_for(state="detached")
    go(page, "Follow-up")
    page.get_by_text("Put in a reading").click()
    page.locator(READING).fill("417.73")


def _source(page):
    """The page with its alternative texts, what stands in its fields, and what it remembers."""
    return re.sub(DRAWN_IN, "", page.content()) + page.evaluate(REMEMBERED)


def _left(text):
    """Values of the patient before that stand in a text as a number or word of their own."""
    return [value for value in VALUES if re.search(rf"(?<![\d.]){value}(?!\d)", text)]


def _words(made):
    """What can be read in a file: the pages of a print with its title and what is attached, else the text."""
    if not made.startswith(b"%PDF"):
        return made.decode()
    reader = pypdf.PdfReader(io.BytesIO(made))
    attached = [one.decode() for found in reader.attachments.values() for one in found]
    return " ".join([*(page.extract_text() for page in reader.pages), *attached, str(reader.metadata)])


def test_two_tabs_are_two_desks(open_page):
    first, second = open_page(), open_page()
    drawn_after(first, lambda: field(first, "zone_mm").fill("6.0"))
    drawn_after(second, lambda: field(second, "zone_mm").fill("7.0"))
    expect(field(first, "zone_mm")).to_have_value("6.0")
    first.reload()
    expect(field(first, "zone_mm")).to_have_value("6.0", timeout=30000)
    expect(field(second, "zone_mm")).to_have_value("7.0")


def test_a_reload_loses_nothing(page):
    field(page, "zone_mm").fill("6.3")
    settled(page)
    choose(page, "OS (left)")
    field(page, "code").fill("mine")  # at once, while the fields are still those of the other eye
    settled(page)
    expect(field(page, "code")).to_have_value("mine")
    page.reload()
    expect(field(page, "code")).to_have_value("mine", timeout=30000)
    expect(page.locator(".eye h1")).to_have_text("OS (left eye)")
    choose(page, "OD (right)")
    expect(field(page, "zone_mm")).to_have_value("6.3", timeout=20000)


def test_an_address_typed_in_the_same_tab_shows_the_same_eye(page, address):
    """Source: rule of the desk: never the invented eye in the place of the patient's, without a word."""
    field(page, "code").fill("mine")
    field(page, "zone_mm").fill("6.3")
    settled(page)
    page.goto(f"{address}/explain")
    page.get_by_text("Handout for print").wait_for(timeout=30000)
    idle(page)
    go(page, "Alignment")
    found = [field(page, name).input_value() for name in ("code", "zone_mm")]
    assert found == ["mine", "6.3"]


AS_SOON_AS_IT_STANDS = """
new MutationObserver((_, seen) => {
  const input = document.querySelector(".tissue-fields:not(.own) [name=refraction]");
  if (!input) return;
  seen.disconnect();
  window.wiredThen = !!input.form.tissue;
  input.focus();
  document.execCommand("selectAll");
  for (const letter of sessionStorage.getItem("typed") ?? "-3.2") document.execCommand("insertText", false, letter);
}).observe(document, { childList: true, subtree: true });
"""


def test_what_is_typed_before_the_fields_are_wired_stands(chrome, address):
    """Keys pressed as soon as the fields are there, on a slow machine seconds before their script: on a new page, and
    on one that comes back, whose own patient is named to the server only then."""
    page = chrome.new_context().new_page()
    page.add_init_script(AS_SOON_AS_IT_STANDS)
    page.on("dialog", leave)
    page.goto(address)
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    assert page.evaluate("window.wiredThen") is False
    page.keyboard.type("5 -0.50 x 20")
    settled(page)
    expect(field(page, "refraction")).to_have_value("-3.25 -0.50 x 20")
    expect(field(page, "sphere_D")).to_have_value("−3.25")
    field(page, "code").fill("mine")
    settled(page)
    page.evaluate("sessionStorage.setItem('typed', '-4.00 sphere')")
    page.reload()
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    expect(field(page, "code")).to_have_value("mine", timeout=20000)
    settled(page)
    expect(field(page, "refraction")).to_have_value("-4.00 sphere")
    expect(field(page, "sphere_D")).to_have_value("−4.00")
    assert page.evaluate("window.wiredThen") is False
    page.context.close()


def test_a_server_started_anew_says_that_the_plan_is_gone_and_takes_it_back(chrome):
    """Source: rule of the desk: never without a word; what the page still shows can be put back.

    Between the two servers the library would ask whether there is a connection to the internet.
    """
    port = free_port()
    command = [sys.executable, "-m", "streamlit", "run", "app.py", "--server.port", str(port)]
    command += ["--server.headless", "true"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": ROOT}
    first = subprocess.Popen(command, **quiet)
    waited_for(f"http://127.0.0.1:{port}/_stcore/health", first)
    page = chrome.new_page(viewport={"width": 1440, "height": 900})
    page.goto(f"http://127.0.0.1:{port}")
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    field(page, "zone_mm").fill("6.3")
    settled(page)
    first.terminate()
    first.wait(timeout=20)
    said = page.get_by_role("dialog")
    expect(said).to_contain_text("The tool on this machine does not answer", timeout=30000)
    assert "internet" not in said.inner_text() and "treamlit" not in said.inner_text()
    second = subprocess.Popen(command, **quiet)
    try:
        waited_for(f"http://127.0.0.1:{port}/_stcore/health", second)
        page.get_by_text("The server no longer holds").wait_for(timeout=60000)
        button(page, "put it back on the desk").click()
        expect(field(page, "zone_mm")).to_have_value("6.3", timeout=30000)
        expect(field(page, "code")).to_have_value("harbour-03-copy")
    finally:
        page.close()
        second.terminate()
        second.wait(timeout=20)
