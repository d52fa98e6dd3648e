"""More acts right after typing, as those of `hurried`: a dialog is opened at once and answered without a pause.

They are tried by tests/hard/hurry.py.
"""

from acts import field
from hurry import button, figures_right, saved_by, settled, type_refraction

from tissue.entry import plan_file


def letter(page, typed, folder):
    """A letter is taken into the plan of what was typed, and undone: what was typed stands again."""
    button(page, "read a letter").click()
    page.get_by_role("dialog").locator("textarea").fill("OD -4.25 -0.75 x 15")
    button(page, "Read it").click()
    button(page, "Take all that was read").click()
    page.get_by_role("dialog").wait_for(state="detached")
    typed.calm()
    settled(page)
    taken = field(page, "refraction").input_value()
    button(page, "undo the letter").click()
    button(page, "undo the letter").wait_for(state="detached")
    undone = figures_right(page, folder) and field(page, "refraction").input_value() == typed.text
    return undone and taken == "−4.25 −0.75 × 15"


def read_back(page, typed, folder):
    """What was typed is what is read back against."""
    button(page, "Read back").click()
    page.locator(".st-key-readback_OD_refraction input").fill(typed.text)
    button(page, "Compare").click()
    left_out = page.get_by_text("OD (right), not typed:")
    left_out.wait_for()
    typed.calm()
    agrees = "Refraction" not in left_out.inner_text() and page.get_by_role("dialog").locator("table").count() == 0
    button(page, "Close").click()
    page.get_by_role("dialog").wait_for(state="detached")
    return agrees and figures_right(page, folder) and field(page, "refraction").input_value() == typed.text


def reset(page, typed, folder):
    """What was typed is dropped, and typed anew for the acts that follow."""
    before = plan_file.read_plan(saved_by(page, button(page, "save").click)).typed["OD"]["refraction"]
    type_refraction(page, typed.number + 1)
    button(page, "reset").click()
    button(page, "Drop the changes").click()
    page.get_by_role("dialog").wait_for(state="detached")
    typed.calm()
    return figures_right(page, folder) and field(page, "refraction").input_value() == before == typed.text


SELDOM = {"read a letter": letter, "read back": read_back, "reset": reset}
