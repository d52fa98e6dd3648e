"""Sentences of the Plan screen: the line of the eye, what is stale, footnotes."""

from html import escape

import numpy as np

from tissue.drawing.profiles import credited
from tissue.drawing.words import SIDES, place_words
from tissue.entry.fields import fields
from tissue.entry.notation import write
from tissue.measures import number
from tissue.relationship import relationships
from tissue.screens import reading
from tissue.sources import data, source


def eye_line(shown, side):
    """Side, refraction in both forms, at the cornea, thickness."""
    comparison = shown.comparison
    cornea, measured, treated = comparison.cornea, comparison.measured, comparison.treatment.refraction
    forms = write(measured.sphere_D, measured.cylinder_D, measured.axis_deg)
    at_cornea = treated.at_cornea()
    parts = [f"<b>{forms[0]}</b>"]
    if forms[1] != forms[0]:
        parts.append(f"<span>= {forms[1]}</span>")
    wanted = write(treated.sphere_D, treated.cylinder_D, treated.axis_deg)[0]
    if wanted != forms[0]:
        parts.append(f"<span>treated {wanted}</span>")
    plane = write(at_cornea.sphere_D, at_cornea.cylinder_D, at_cornea.axis_deg)[0]
    parts.append(f"<span>at the cornea {plane}</span>")
    thickness = f"centre {number(cornea.central_thickness_um)} µm"
    if cornea.thinnest_um < cornea.central_thickness_um:
        thickness += f", thinnest {number(cornea.thinnest_um)} µm"
        where = place_words(cornea.thinnest_x_mm, cornea.thinnest_y_mm, side)
        thickness += f' <span class="place">({where})</span>' if where else ""
    parts.append(f"<span>{thickness}</span>")
    return f'<div class="eye"><h1>{side} ({SIDES[side]})</h1>{"".join(parts)}</div>'


def nothing_yet(side, wrong):
    """Instead of figures, where nothing valid was ever there."""
    lines = "".join(f"<p>{_wanted(name, fault)}</p>" for name, fault in wrong.items())
    return (
        f'<div class="eye"><h1>{side} ({SIDES[side]})</h1></div><div class="stale"><p>No figures yet: a refraction and the '
        f"thickness at the centre are needed.</p>{lines}</div>"
    )


def _wanted(name, fault):
    return f"{escape(_label(name))}: read {escape(fault.read)}, accepted {escape(fault.accepted)}."


def _label(name):
    return fields()[name].label if name in fields() else name


def stale(shown, texts, wrong):
    """Which input the figures stand for, and what the fields hold instead."""
    lines = []
    for name, fault in wrong.items():
        field = fields().get(name)
        label = (field.label[0].lower() + field.label[1:]) if field else name
        held = texts.get(name, "").strip()
        holds = f"The field holds {escape(held)}" if held else "The field holds nothing"
        lines.append(
            f"<p>Shown for {escape(label)} {_shown_value(name, shown)}. {holds}; accepted: {escape(fault.accepted)}.</p>"
        )
    return f'<div class="stale" role="alert">{"".join(lines)}</div>'


def _shown_value(name, shown):
    """The value that the figures stand for, with its unit."""
    field = fields().get(name)
    if name == "refraction":
        measured = shown.comparison.measured
        return write(measured.sphere_D, measured.cylinder_D, measured.axis_deg)[0]
    value = shown.inputs.values.get(name, field.default if field else None)
    if value is None or (field.is_number and np.isnan(value)):
        return "not given"
    text = reading.number_text(name, value) if field.is_number else str(value)
    return f"{text} {field.unit}".strip().replace(" °", "°")


def footnotes(shown):
    """What the table does not say by itself."""
    comparison = shown.comparison
    notes = [
        "Beside a value: 95 % under the errors of measurement and cutting, biases included; for strength, least and greatest "
        "over all published relationships. † Arithmetic only: this share was published and tested for flaps; it has not been "
        "validated for this procedure.",
        _assumption(comparison),
        "Not in these figures: corneal shape (tomography), age, stability, family history, eye rubbing. The curves come from "
        "normal corneas.",
    ]
    return '<div class="notes">' + "".join(f"<p>{note}</p>" for note in notes) + "</div>"


def _assumption(comparison):
    """What strength counts, and the figures with every layer counted and with none."""
    both, neither = (
        " / ".join(number(credited(comparison, result, credit), 1) for result in comparison.results.values())
        for credit in (1.0, 0.0)
    )
    judgement = comparison.judgement
    return (
        f"Strength counts the cap by {100 * float(judgement.cap_credit):.0f} % and the flap by "
        f"{100 * float(judgement.flap_credit):.0f} %, an assumption that can be changed. Surface / flap / lenticule with both "
        f"counted: {both} %; with neither: {neither} %."
    )


def line_note(comparison):
    """Where the line drawn in the sections comes from."""
    wanted, line = float(comparison.judgement.bed_line_um), data("lines")["bed"]
    if wanted == line["value"]:
        cited = source(line["source"]).citation
        return f"The line drawn at a bed of {wanted:.0f} µm: {cited}. It was set for {line['meant_for']}. {line['against']}"
    return f"The line drawn at a bed of {wanted:.0f} µm is your own."


def relationship_head(comparison):
    """Heading of the strength pictures: what is counted, and by which relationship."""
    label = relationships()[comparison.judgement.relationship].label
    return f"Counted as still loaded: {label[0].lower()}{label[1:]}"


def relationship_note(comparison):
    """What must stand beside the chosen relationship: where it comes from, what was measured, what was assumed."""
    chosen = relationships()[comparison.judgement.relationship]
    note = f" {chosen.note[0].upper()}{chosen.note[1:]}." if chosen.note else ""
    return f"{source(chosen.source).citation}. Measured: {chosen.property}; {chosen.tissue}.{note} Assumed: {chosen.assumed}."
