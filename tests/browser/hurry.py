"""What a hurried person does: types and does the next thing at once, on a slow machine; and what came of it.

Every act types a refraction that was not there before, waits so many milliseconds and acts. What is read is what was
made: the file, the page of print, the fields of the other screen. Nothing in between is waited for.
"""

import re
from contextlib import contextmanager

from acts import choose, field, go, idle

from tissue.command import main

MAP = "map"
SLOWER = 6
DELAYS_MS = (0, 20, 50, 110, 300, 600)
PLAN_INSIDE = re.compile(rb"stream\r?\n(schema = 1.*?)endstream.*?/F \(([^)]*)\)", re.DOTALL)
MAP_POINT = """
() => {
  const node = document.querySelector('.st-key-chart-to_map .plot');
  const { xaxis, yaxis } = node._fullLayout, box = node.getBoundingClientRect();
  return [box.x + xaxis._offset + xaxis.d2p(6.0), box.y + yaxis._offset + yaxis.d2p(110)];
}
"""


@contextmanager
def slowed(page, rate=SLOWER):
    """The browser of this page works so many times slower."""
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": rate})
    try:
        yield
    finally:
        session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        session.detach()


def refraction(number):
    """A refraction that was not typed before, and its sphere as the fields show it."""
    sphere = -(2.0 + 0.01 * (number % 700))
    return f"{sphere:.2f} -0.75 x 12", f"{sphere:.2f}".replace("-", "−")


def type_refraction(page, number):
    """Type it, a key at a time; gives the text and the sphere."""
    text, sphere = refraction(number)
    box = field(page, "refraction")
    box.focus()
    page.keyboard.press("Control+a")
    page.keyboard.type(text)
    return text, sphere


def saved_by(page, click):
    """The bytes of the file that a click brings."""
    with page.expect_download(timeout=30000) as saving:
        click()
    return saving.value.path().read_bytes()


def plan_inside(pdf):
    """The plan file inside a record."""
    return PLAN_INSIDE.search(pdf)[1]


def same_as_command(pdf, folder, day):
    """Whether a record is byte for byte the page that the command makes of the plan inside it."""
    plan, out = folder / PLAN_INSIDE.search(pdf)[2].decode(), folder / "again.pdf"
    plan.write_bytes(plan_inside(pdf))
    return main(["record", str(plan), str(out), "--date", day]) == 0 and out.read_bytes() == pdf


def settled(page):
    """Wait until the page shows the figures of what stands in its fields."""
    page.wait_for_function("!document.body.classList.contains('tissue-old')", timeout=30000)
    idle(page)


def button(page, name):
    """A button that hands something over."""
    return page.get_by_role("button", name=name, exact=True).first


def record(page, text, sphere, folder, day):
    """The record holds what was typed, and its figures are of it."""
    pdf = saved_by(page, button(page, "Record for print").click)
    return text.encode() in plan_inside(pdf) and same_as_command(pdf, folder, day)


def save(page, text, sphere, folder, day):
    """The saved plan holds what was typed, and the page calls it saved only then."""
    return text.encode() in saved_by(page, button(page, "save").click)


def section(page, text, sphere, folder, day):
    """The section is that of what was typed."""
    from tissue.entry import typed
    from tissue.entry.eye import build
    from tissue.screens.pages.plan import section_csv

    made = saved_by(page, button(page, "section as CSV").click)
    texts = read_fields(page) | {"refraction": text}
    return made == section_csv(build(typed.read_fields(texts)[0], "OD").compare(), 0.0).encode()


def read_fields(page):
    """What stands in the fields that are given, but for the numbers of the refraction."""
    script = "() => [...document.querySelectorAll('.tissue-fields input')].map((one) => [one.name, one.value])"
    skipped = ("code", "sphere_D", "cylinder_D", "axis_deg")
    return {name: text for name, text in page.evaluate(script) if text and name not in skipped}


def other_eye(page, text, sphere, folder, day):
    """The other eye and back: what was typed stands in its own eye alone."""
    choose(page, "OS (left)")
    page.wait_for_function("document.querySelector('.tissue-fields').dataset.plan.endsWith('OS')", timeout=30000)
    there = field(page, "refraction").input_value()
    choose(page, "OD (right)")
    page.wait_for_function("document.querySelector('.tissue-fields').dataset.plan.endsWith('OD')", timeout=30000)
    back = [field(page, name).input_value() for name in ("refraction", "sphere_D")]
    return there != text and back == [text, sphere]


def screen(page, text, sphere, folder, day):
    """Another screen and back."""
    go(page, "Alignment")
    said = page.locator(".eye").inner_text()
    go(page, "Plan")
    page.wait_for_selector(".plot[data-drawn]")
    return sphere in said and field(page, "refraction").input_value() == text


def keep(page, text, sphere, folder, day):
    """What is kept for comparison is what was typed."""
    button(page, "Keep this plan").click()
    button(page, "Drop the kept plan").wait_for()
    settled(page)
    beds = [f"kept {bed}" for bed in page.evaluate(BEDS)]
    kept = page.evaluate(BESIDE)
    button(page, "Drop the kept plan").click()
    button(page, "Keep this plan").wait_for()
    return bool(beds) and kept == beds


ROW = "[...document.querySelectorAll('table.figures tr')].find((r) => r.innerText.startsWith('Residual bed (RSB)'))"
BEDS = f"() => [...({ROW}).querySelectorAll('.value')].map((one) => one.innerText)"
BESIDE = f"() => [...({ROW}).querySelectorAll('.beside')].map((one) => one.innerText)"
ACTS = {"record": record, "save": save, "section": section, "eye": other_eye, "screen": screen, "keep": keep}


def on_map(page, number, delay):
    """A click on the map of Trade-offs: the plan has what was typed, moved to the place of the click."""
    place = page.evaluate(MAP_POINT)
    text, sphere = type_refraction(page, number)
    page.wait_for_timeout(delay)
    page.mouse.click(*place)
    page.get_by_role("button", name="Take it back").wait_for(timeout=30000)
    settled(page)
    standing = [field(page, name).input_value() for name in ("refraction", "sphere_D", "zone_mm", "cap_um")]
    page.get_by_role("button", name="Take it back").click()
    page.get_by_role("button", name="Take it back").wait_for(state="detached", timeout=30000)
    return standing == [text, sphere, "6", "110"]
