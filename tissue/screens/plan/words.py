"""Sentences of the Plan screen: the line of the eye, what is stale, footnotes."""

from collections.abc import Iterable
from typing import Any

import numpy as np
from markupsafe import Markup

from tissue.budget.comparison import Comparison
from tissue.budget.strength.relationship import relationships
from tissue.drawing.base.palette import SHORT
from tissue.drawing.base.words import SIDES, place_words
from tissue.drawing.charts.strength import credited
from tissue.entry.checks import NOTHING as NOTHING_READ
from tissue.entry.checks import Fault
from tissue.entry.fields import fields
from tissue.entry.notation import write
from tissue.ground.sources import data, source
from tissue.report.map_json import map_words
from tissue.report.measures import NOT_STUDIED, rounded
from tissue.screens.desk import reading
from tissue.screens.desk.drawn import HOW_MANY
from tissue.screens.desk.reading import Shown
from tissue.screens.html import NOTHING, joined, notes, strip, tag


def eye_line(shown: Shown, side: str, code: str) -> Markup:
    """Side, code of the patient, refraction in both forms, at the cornea, thickness."""
    comparison = shown.comparison
    cornea, measured, treated = comparison.cornea, comparison.measured, comparison.treatment.refraction
    forms = write(measured.sphere_D, measured.cylinder_D, measured.axis_deg)
    at_cornea = treated.at_cornea()
    parts = [tag("b", forms[0])]
    if forms[1] != forms[0]:
        parts.append(tag("span", f"= {forms[1]}"))
    wanted = write(treated.sphere_D, treated.cylinder_D, treated.axis_deg)[0]
    if wanted != forms[0]:
        parts.append(tag("span", f"treated {wanted}"))
    plane = write(at_cornea.sphere_D, at_cornea.cylinder_D, at_cornea.axis_deg)[0]
    parts.append(tag("span", f"at the cornea {plane}"))
    thickness = f"centre {rounded(cornea.central_thickness_um)} µm"
    if cornea.thinnest_um < cornea.central_thickness_um:
        thickness += f", thinnest {rounded(cornea.thinnest_um)} µm"
        x_mm, y_mm = cornea.thinnest_x_mm, cornea.thinnest_y_mm
        where = place_words(x_mm, y_mm, side)
        typed = f"at {rounded(x_mm, 2)}, {rounded(y_mm, 2)}"
        thickness += joined(" ", tag("span", f"({typed}: {where})", class_="place")) if where else ""
    parts.append(tag("span", thickness))
    if said := map_words(shown.inputs.values):
        parts.append(tag("span", said))
    target, procedure = shown.inputs.values.get("target_D", 0.0), shown.inputs.values.get("procedure")
    if target:
        parts.append(tag("span", f"target {reading.number_text('target_D', target)} D"))
    if procedure:
        parts.append(tag("span", f"procedure: {procedure}"))
    return _eye(side, code, *parts)


def notice_line(shown: Shown) -> Markup:
    """How many notices there are, as a link to them, and the words of the first one."""
    count = len(shown.notices)
    if not count:
        return NOTHING
    there = tag("a", f"{count} notice{'s' if count > 1 else ''}", href="#notices-below", target="_self")
    return tag("div", there, tag("span", shown.notices[0].text), class_="notice-line")


def _eye(side: str, code: str, *words: Markup) -> Markup:
    """Which eye it is and whose, followed by words in the same line."""
    whose = tag("span", code or "no code yet", class_="whose")
    return tag("div", tag("h1", f"{side} ({SIDES[side]})"), whose, *words, class_="eye")


def nothing_yet(side: str, code: str, wrong: dict[str, Fault]) -> Markup:
    """The words in place of figures where no valid values were ever given."""
    told = [(name, fault) for name, fault in wrong.items() if fault.read != NOTHING_READ]
    lines = [f"{_label(name)}: read {fault.read}, accepted {fault.accepted}." for name, fault in told]
    needed = "No figures yet: a refraction and the thickness at the centre are needed."
    return _eye(side, code) + strip(needed, *lines)


def _label(name: str) -> str:
    return fields()[name].label if name in fields() else name


def stale(shown: Shown, texts: dict[str, Any], wrong: dict[str, Fault]) -> Markup:
    """Which last good value is used for a field that cannot be read, and what the field holds instead."""
    lines = []
    for name, fault in wrong.items():
        label, held = _label(name), (texts.get(name) or "").strip() or "nothing"
        used = f"{label[0].lower()}{label[1:]} {_shown_value(name, shown)} is used"
        lines.append(f"{used[0].upper()}{used[1:]}: the field holds {held}; {fault.accepted} is accepted.")
    return strip(*lines)


def _shown_value(name: str, shown: Shown) -> str:
    """The value that the figures stand for, with its unit."""
    field = fields().get(name)
    if name == "refraction":
        measured = shown.comparison.measured
        return write(measured.sphere_D, measured.cylinder_D, measured.axis_deg)[0]
    value = shown.inputs.values.get(name, field.default if field else None)
    if value is None or field is None or (field.is_number and np.isnan(value)):
        return "not given"
    text = reading.number_text(name, value) if field.is_number else str(value)
    return f"{text} {field.unit}".strip().replace(" °", "°")


BESIDE = (
    "Beside a value: 95 % under the errors of measurement and cutting, biases included, exact for beds, PTA and "
    f"volume, else from {HOW_MANY}; for strength, least and greatest over all published strength curves; nothing where "
    f"no error moves it. {NOT_STUDIED}"
)
KEPT = "Where a plan was kept: the same figure of that plan instead."
BAND = "Grey band at the floor of the removal: the 95 % of the bed."
NOT_IN_THEM = (
    "Not in these figures: corneal shape (tomography), age, stability, family history, eye rubbing. "
    "The curves come from normal corneas."
)


def footnotes(shown: Shown, kept: bool = False) -> Markup:
    """The footnotes of the table.

    Args:
        shown: Shown.
        kept: whether a kept plan stands beside the values.
    """
    beside = f"Beside a value: the same figure of the plan that was kept. {NOT_STUDIED}" if kept else BESIDE
    return notes(f"{beside} {BAND}", assumption(shown.comparison), NOT_IN_THEM)


def pair_footnotes(eyes: Iterable[Any], kept: dict[str, Any] | tuple[()] = ()) -> Markup:
    """The same under the table of both eyes.

    Args:
        eyes: Shown of each eye; what its strength counts is said of each.
        kept: sides with a kept plan.
    """
    beside = f"{BESIDE} {KEPT}" if kept else BESIDE
    assumed = (f"{one.inputs.side} ({SIDES[one.inputs.side]}): {assumption(one.comparison)}" for one in eyes)
    return notes(f"{beside} {BAND}", *assumed, NOT_IN_THEM)


def assumption(comparison: Comparison) -> str:
    """Which layers the strength counts, and its figures with every layer counted and with none.

    Args:
        comparison: Comparison of one eye.
    """
    both, neither = (
        " / ".join(rounded(credited(comparison, result, credit), 1) for result in comparison.results.values())
        for credit in (1.0, 0.0)
    )
    judgement, named = comparison.judgement, " / ".join(SHORT.values()).capitalize()
    return (
        f"Strength counts the cap by {100 * float(judgement.cap_credit):.0f} % and the flap by "
        f"{100 * float(judgement.flap_credit):.0f} %, an assumption that can be changed. {named} "
        f"with both counted: {both} %; with neither: {neither} %."
    )


def line_note(comparison: Comparison) -> str:
    """Where the line drawn in the sections comes from."""
    wanted = float(comparison.judgement.bed_line_um)
    for line in data("lines").values():
        if line["measure"] == "bed" and line["value"] == wanted:
            meant = f"It was set for {line['meant_for']}. {line['against']}"
            return f"The line drawn at a bed of {wanted:.0f} µm: {source(line['source']).citation}. {meant}"
    return f"The line drawn at a bed of {wanted:.0f} µm is your own."


def relationship_head(comparison: Comparison) -> str:
    """Heading of the strength pictures: what is counted, and by which relationship."""
    label = relationships()[comparison.judgement.relationship].label
    return f"Counted as still loaded: {label[0].lower()}{label[1:]}"


def relationship_note(comparison: Comparison) -> str:
    """The note beside the chosen relationship: its source, what was measured, what was assumed."""
    chosen = relationships()[comparison.judgement.relationship]
    note = f" {chosen.note[0].upper()}{chosen.note[1:]}." if chosen.note else ""
    measured = f"Measured: {chosen.property}; {chosen.tissue}."
    return f"{source(chosen.source).citation}. {measured}{note} Assumed: {chosen.assumed}."


def plan_name(code: str, said: str, state: str) -> Markup:
    """The name and the kind of the plan, always of the same height, so that nothing below it moves."""
    return tag("div", tag("h2", code), tag("span", said), tag("span", state), class_="plan-name")
