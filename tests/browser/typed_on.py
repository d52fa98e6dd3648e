"""Acts that ask for another eye or patient and type for them at once, on the pattern of those in `hurried`."""

import tomllib

from acts import choose, field
from hurried import type_again
from hurry import (
    button,
    figures_right,
    of_fields,
    plan_inside,
    same_as_command,
    saved_by,
    settled,
    stands,
    type_refraction,
)

from tissue.entry import plan_file


def new_patient_typed(page, typed, folder):
    """Saved, a new patient, and typed on at once: the record is of what was typed for them, and of nothing before."""
    _, code, texts = stands(page)
    before = saved_by(page, button(page, "save").click)
    page.get_by_text("no changes", exact=True).wait_for()
    button(page, "new patient").click()
    theirs = type_refraction(page, typed.number + 331, typed.calm)
    field(page, "central_thickness_um").focus()
    page.keyboard.type("541")
    pdf = saved_by(page, button(page, "Record for print").click)
    typed.calm()
    plan = plan_inside(pdf)
    made = plan_file.read_plan(bytes(plan)).typed
    wanted = {"OD": {"refraction": theirs.text, "central_thickness_um": "541"}}
    kept = plan_file.read_plan(before).typed["OD"]["refraction"] == typed.text
    right = of_fields(page, plan, theirs.text) and same_as_command(pdf, folder) and figures_right(page, folder)
    type_again(page, code, texts)
    assert made == wanted, f"made of {made}, where {wanted} was typed"
    return right and kept


def other_eye_typed(page, typed, folder):
    """The other eye, and typed on at once: the text is there whole or not at all, and the eye before keeps its own."""
    known = tomllib.loads(page.evaluate("window.tissueDesk.plan?.text ?? ''")).get("OS", {})
    choose(page, "OS (left)")
    plan = _typed_on(page, typed, {known.get("refraction")})["OS"]
    right = figures_right(page, folder) and stands(page)[0] == "OS" and stands(page)[2]["sphere_D"] != typed.sphere
    choose(page, "OD (right)")
    page.wait_for_function("document.querySelector('.tissue-fields').dataset.plan.endsWith('OD')")
    back = [field(page, name).input_value() for name in ("refraction", "sphere_D")]
    return plan and right and back == [typed.text, typed.sphere] and figures_right(page, folder)


def step_typed(page, typed, folder):
    """The next patient by key, of a list that holds this one alone, and typed on at once."""
    page.locator(".eye h1").first.click()
    page.keyboard.press("]")
    texts = _typed_on(page, typed, {typed.text})["OD"]
    return field(page, "refraction").input_value() == texts["refraction"] and figures_right(page, folder)


def _typed_on(page, typed, before):
    """A refraction typed at once after another eye was asked for; the texts of the plan that is saved then, by side."""
    on = type_refraction(page, typed.number + 331, typed.calm)
    page.keyboard.press("Tab")
    plan = plan_file.read_plan(saved_by(page, button(page, "save").click)).typed
    typed.calm()
    settled(page)
    side = stands(page)[0]
    assert plan[side].get("refraction") in {on.text, *before}, f"{plan[side]}, where {on.text} was typed"
    assert side == "OD" or plan["OD"]["refraction"] == typed.text, f"{on.text} went to the other eye: {plan}"
    return plan


TYPED_ON = {
    "new patient, typed on": new_patient_typed,
    "other eye, typed on": other_eye_typed,
    "next patient, typed on": step_typed,
}
