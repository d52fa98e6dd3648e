"""Six patients by keyboard alone, timed: letter → both eyes' plan → read-back → record → saved → next.

Run with `python tests/hard/keyboard_clinic.py [folder for screenshots]`. No pointer is used and nothing is waited for
that a person could not see. Each record is read back: what the letter says and what was typed stands in it, it says
that it was read back and agrees, and it is byte for byte the command's.
"""

import io
import statistics
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

import pypdf
from hurry import plan_inside, same_as_command
from outside_letters import outside_letters
from playwright.sync_api import expect
from serving import browser, server

from tissue.entry import plan_file
from tissue.entry.notation import write

LETTERS = ("harbour_short", "quay_blocks", "hafen_kurz", "port_lettre", "muelle_carta", "molo_lettera")
MOST_TABS = 140  # a way longer than this is no way
ACTIVE = "document.activeElement"
FOLDED = "(name) => !!document.querySelector(`.tissue-fields [name=${name}]`).closest('details:not([open])')"
DECIDED = {  # by side, what the surgeon decides after the letter
    "OD": {"procedure": "flap", "zone_mm": "6.4", "flap_um": "105"},
    "OS": {"procedure": "lenticule", "zone_mm": "6.6", "cap_um": "125"},
}


class Keys:
    """A keyboard, with the presses counted; a paste counts as one."""

    def __init__(self, page):
        self.page, self.presses, self.tabs, self.longest = page, 0, 0, (0, "")

    def press(self, key):
        """One key."""
        self.page.keyboard.press(key)
        self.presses += 1

    def type(self, text):
        """A text in the place of what stands there."""
        self.press("Control+a")
        self.page.keyboard.type(text)
        self.presses += len(text)

    def paste(self, text):
        """A text from elsewhere."""
        self.page.keyboard.insert_text(text)
        self.presses += 1

    def to(self, wanted, words):
        """Tab until what has the focus is wanted: backwards where that is the shorter way, as a person sees."""
        back = self.page.evaluate(BEFORE, wanted)
        for tabs in range(MOST_TABS):
            if self.page.evaluate(f"({wanted})({ACTIVE})"):
                self.longest = max(self.longest, (tabs, words))
                return
            self.press("Shift+Tab" if back else "Tab")
            self.tabs += 1
        raise AssertionError(f"{words} is not reached by {MOST_TABS} tabs")

    def to_button(self, words):
        """A button by what stands on it, pressed."""
        self.to(f"(one) => one.tagName === 'BUTTON' && one.innerText.trim() === {words!r}", words)

    def to_field(self, name):
        """A field of the plan; a fold that hides it is opened first."""
        if self.page.evaluate(FOLDED, name):
            self.to(f"(one) => one.tagName === 'SUMMARY' && !!one.parentNode.querySelector('[name={name}]')", name)
            self.press("Enter")
        self.to(f"(one) => one.name === {name!r}", name)


BEFORE = """
(wanted) => {
  const root = document.querySelector("[role=dialog]") ?? document;
  const all = [...root.querySelectorAll("button, input, select, textarea, summary, a[href]")];
  const one = all.find(eval(wanted)), now = document.activeElement;
  if (!one || !root.contains(now) || now === document.body) return false;
  return !!(now.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING);
}
"""


def read_letter(keys, text):
    """The letter is pasted, read and taken."""
    page = keys.page
    keys.to_button("read a letter")
    keys.press("Enter")
    expect(page.locator("[role=dialog] textarea")).to_be_visible(timeout=30000)
    keys.to("(one) => one.tagName === 'TEXTAREA'", "the letter")
    keys.paste(text)
    keys.to_button("Read it")
    keys.press("Enter")
    expect(page.locator("pre.letter")).to_be_visible(timeout=30000)
    keys.to_button("Take all that was read")
    keys.press("Enter")
    expect(page.locator("[role=dialog]")).to_have_count(0, timeout=30000)


def look_at(keys, side):
    """The other eye, by the arrows of the switch."""
    keys.to("(one) => one.name === 'eye-in-fields'", "switch of the eye")
    keys.press("ArrowRight" if side == "OS" else "ArrowLeft")
    wanted = "(side) => document.querySelector('.tissue-fields').dataset.plan.endsWith(side)"
    keys.page.wait_for_function(wanted, arg=side, timeout=30000)


def decide(keys, decided):
    """Procedure, zone and cut of the eye that is looked at."""
    for name, text in decided.items():
        keys.to_field(name)
        if name == "procedure":
            keys.page.keyboard.type(text)
            keys.presses += len(text)
        else:
            keys.type(text)


def read_back(keys, said):
    """A second person types what is treated; it agrees."""
    page = keys.page
    keys.to_button("Read back")
    keys.press("Enter")
    expect(page.locator(".st-key-readback_OD_refraction input")).to_be_visible(timeout=30000)
    for side, texts in said.items():
        for name, text in texts.items():
            keys.to(f"(one) => !!one.closest('.st-key-readback_{side}_{name}')", f"{side} {name}")
            keys.page.keyboard.type(text)
            keys.presses += len(text)
            if name == "procedure":
                keys.press("Enter")
    keys.to_button("Compare")
    keys.press("Enter")
    expect(page.locator("[role=dialog]")).to_contain_text("It agrees", timeout=30000)
    keys.to_button("Close")
    keys.press("Enter")
    expect(page.locator("[role=dialog]")).to_have_count(0, timeout=30000)


def handed(page, press):
    """What a press brings: the name of a file and its bytes."""
    with page.expect_download(timeout=30000) as saving:
        press()
    return saving.value.suggested_filename, saving.value.path().read_bytes()


def patient(keys, code, text, truth, folder):
    """One patient from an empty desk to a saved plan: what was made is that of the letter and of what was decided."""
    page = keys.page
    keys.press("n")
    page.wait_for_function("document.querySelector('[name=code]').value === ''", timeout=30000)
    keys.to_field("code")
    keys.type(code)
    read_letter(keys, text)
    for number, (side, decided) in enumerate(DECIDED.items()):
        if number:
            look_at(keys, side)
        decide(keys, decided)
    read_back(keys, {side: said_of(truth, side) for side in DECIDED})
    keys.to_button("Record for print")
    name, pdf = handed(page, lambda: keys.press("Enter"))
    saved_as, saved = handed(page, lambda: keys.press("Control+s"))
    assert name.startswith(code) and saved_as == f"{code}.toml", (name, saved_as)
    assert plan_inside(pdf).decode() == saved.decode(), "the record holds another plan than the file"
    holds(saved, code, truth)
    words = " ".join(pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text().split())
    assert f"Read back {date.today()}: agrees" in words, words
    assert same_as_command(pdf, folder), "not the command's page"


def holds(saved, code, truth):
    """Whether a plan file holds what a letter says and what was decided."""
    plan = plan_file.read_plan(saved)
    assert plan.code == code
    for (side, name), value in truth.items():
        assert abs(plan.eyes[side][name] - value) < 1e-9, (side, name, plan.eyes[side][name], value)
    for side, decided in DECIDED.items():
        assert {name: str(plan.eyes[side][name]).removesuffix(".0") for name in decided} == decided, side


def said_of(truth, side):
    """What a second person types of an eye."""
    three = [truth[side, name] for name in ("sphere_D", "cylinder_D", "axis_deg")]
    refraction = write(*three)[0].replace("−", "-").replace("×", "x")
    said = {"refraction": refraction, "central_thickness_um": f"{truth[side, 'central_thickness_um']:g}"}
    order = ("refraction", "central_thickness_um", "zone_mm", "procedure")
    texts = said | DECIDED[side]
    return {name: texts[name] for name in (*order, *(set(texts) - set(order)))}


def main(pictures=""):
    """The six, and a row of figures for each."""
    letters = {name.rpartition("-")[0]: (text, truth) for name, _, text, truth in outside_letters()}
    print("| patient | letter | seconds | keys | tabs among them | longest way |\n|---|---|---|---|---|---|")
    took = []
    with server() as address, browser() as chrome, tempfile.TemporaryDirectory() as folder:
        page = chrome.new_context(accept_downloads=True, viewport={"width": 1440, "height": 900}).new_page()
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        for number, hand in enumerate(LETTERS, 1):
            keys, start = Keys(page), time.monotonic()
            try:
                patient(keys, f"quay-{number}", *letters[hand], Path(folder))
            finally:
                if pictures:
                    page.screenshot(path=Path(pictures) / f"{number}.png")
            took.append(time.monotonic() - start)
            tabs, words = keys.longest
            print(
                f"| quay-{number} | {hand} | {took[-1]:.1f} | {keys.presses} | {keys.tabs} | {tabs} tabs to {words} |",
                flush=True,
            )
    print(f"{len(took)} patients, median {statistics.median(took):.1f} s; every record that of its letter")


if __name__ == "__main__":
    main(*sys.argv[1:])
