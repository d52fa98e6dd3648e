"""What a hurried person does, the parts: types on a slow machine and acts at once; and how what was made is read.

What is read is what was made: the file, the page of print, the fields and the figures of the screen. The figures are
laid beside those of the command for the plan that stands in the fields, the prints beside its bytes.
"""

import json
import re
from collections.abc import Callable
from contextlib import contextmanager
from datetime import date
from typing import NamedTuple

from acts import field, idle, values
from fuzz_commands import called

from tissue.command.command import main
from tissue.entry import plan_file
from tissue.entry.typed import REFRACTION, read_fields
from tissue.report.measures import rounded

SLOWER = 6
DELAYS_MS = (0, 20, 60, 110, 250, 600)
PLAN_INSIDE = re.compile(rb"stream\r?\n((?:# [^\n]*\n)?schema = 1.*?)endstream.*?/F \(([^)]*)\)", re.DOTALL)
FIELDS = "() => [...document.querySelectorAll('.tissue-fields:not(.own) [name]')].map((one) => [one.name, one.value])"
WHOSE = "() => document.querySelector('.tissue-fields').dataset.plan.split(' ')[1]"


def as_it_is():
    """The browser stays as fast as it is."""


class Typed(NamedTuple):
    """What was typed: the refraction as people write it, its sphere as the fields show it, and its number.

    calm: what an act calls once the hurry is over and only what was made is left to be read.
    """

    text: str
    sphere: str
    number: int
    calm: Callable[[], None] = as_it_is


@contextmanager
def slowed(page, rate=SLOWER):
    """The browser of this page works so many times slower, until what is given is called, or to the end."""
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": rate})
    try:
        yield lambda: session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    finally:
        session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
        session.detach()


def type_refraction(page, number, calm=as_it_is):
    """Type one that was not typed before, a key at a time; every other one is pasted but for its last keys.

    Gives the Typed.
    """
    size = f"{2.0 + 0.01 * (number % 700):.2f}"
    text = f"-{size} -0.75 x 12"
    pasted = len(text) - 4 if number % 2 else 0
    field(page, "refraction").focus()
    page.keyboard.press("Control+a")
    page.keyboard.insert_text(text[:pasted])
    page.keyboard.type(text[pasted:])
    return Typed(text, f"−{size}", number, calm)


def saved_by(page, click):
    """The bytes of the file that a click brings."""
    with page.expect_download() as saving:
        click()
    return saving.value.path().read_bytes()


def button(page, name):
    """A button that hands something over."""
    return page.get_by_role("button", name=name, exact=True).first


def shown(page):
    """Wait until the page shows the figures of what stands in its fields."""
    page.wait_for_selector(".tissue-fields")  # on a screen that has just come they stand last
    page.wait_for_function("!document.body.classList.contains('tissue-old')")


def settled(page):
    """The same, and the server has nothing left to work out for this page."""
    shown(page)
    idle(page)


def stands(page):
    """What stands in the fields of the eye that is looked at: its side, the code, and the texts by name."""
    side, found = page.evaluate(WHOSE), dict(page.evaluate(FIELDS))
    code = found.pop("code")
    return side, code, {name: text for name, text in found.items() if text}


def plan_bytes(page):
    """The plan file of what stands in the fields, the refraction as it was written."""
    side, code, texts = stands(page)
    texts = {name: text for name, text in texts.items() if name not in REFRACTION}
    return plan_file.dumps(plan_file.Plan(code, {side: read_fields(texts, side)[0]}, {side: texts})).encode()


def command_figures(data, folder):
    """The JSON of the command for the bytes of a plan file."""
    plan = folder / "standing.toml"
    plan.write_bytes(data)
    code, out, told = called(["plan", str(plan), "--json"])
    assert code == 0, told
    return json.loads(out)


def beds_um(data, folder, side):
    """The central beds of an eye by the command [µm]."""
    options = command_figures(data, folder)["eyes"][side]["options"]
    return [one["bed_central_um"] for one in options.values()]


def beds_of_command(data, folder, side):
    """The same as the screen writes them."""
    return [rounded(bed) for bed in beds_um(data, folder, side)]


def figures_right(page, folder):
    """Whether the settled Plan shows the beds that the command gives for what stands in its fields."""
    settled(page)
    expected = beds_of_command(plan_bytes(page), folder, stands(page)[0])
    return values(page, "Residual bed (RSB), centre") == expected


def plan_inside(pdf):
    """The plan file inside a record."""
    return PLAN_INSIDE.search(pdf)[1]


def same_as_command(pdf, folder):
    """Whether a record is byte for byte the page that the command makes today of the plan inside it."""
    plan, out = folder / PLAN_INSIDE.search(pdf)[2].decode(), folder / "again.pdf"
    plan.write_bytes(plan_inside(pdf))
    return main(["record", str(plan), str(out), "--date", str(date.today())]) == 0 and out.read_bytes() == pdf


def of_fields(page, plan, text):
    """Whether a plan file holds what was typed, and for this eye and patient just what stands in the fields."""
    shown(page)
    side, code, _ = stands(page)
    found, standing = (plan_file.read_plan(data) for data in (bytes(plan), plan_bytes(page)))
    made, wanted = (found.code, found.typed[side]), (code, standing.typed[side])
    assert made == wanted, f"made of {made}, where {wanted} stands"
    return found.typed[side]["refraction"] == text
