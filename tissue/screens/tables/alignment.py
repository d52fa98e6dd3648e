"""What stands under the front view of Alignment: the guard, the cost of an offset, rotation in numbers, series."""

import numpy as np

from tissue.drawing.base.palette import HEADS
from tissue.drawing.base.words import place_words
from tissue.entry.notation import write
from tissue.optics.centration import centred_at
from tissue.optics.rotation import residual_of, rotation_residual
from tissue.report.measures import NO_FIGURE, number
from tissue.screens.html import notes, part, plain_table, prose
from tissue.sources import data, source

AT_VERTEX_MM = 0.005  # nearer than this the centre is the vertex as it is typed
TURNS_DEG = range(16)
OFFSET_ROWS = (
    ("bed_min_um", "Residual bed (RSB), least, µm", 0),
    ("bed_central_um", "Residual bed (RSB), centre, µm", 0),
    ("offset_mm", "From the pupil's centre, mm", 2),
    ("coma_um", "Coma by that offset, ± 10 %, µm", 2),
    ("largest_pupil_mm", "Largest pupil wholly inside the zone, mm", 1),
    ("outside_percent", "Pupil outside the zone, %", 1),
)


def spellings(refraction):
    """Minus and plus form of a refraction; the one is the other of the same rounded powers."""
    sphere, cylinder = (round(float(v), 2) + 0.0 for v in (refraction.sphere_D, refraction.cylinder_D))
    return write(sphere, cylinder, round(float(refraction.axis_deg), 1))


def both_forms(refraction):
    """A refraction in minus form and, where it differs, in plus form."""
    minus, plus = spellings(refraction)
    return minus if minus == plus else f"{minus} (= {plus})"


def guard_part(comparison):
    """What treating the measured eye with the plan as programmed would leave, beside the target."""
    plan, measured = comparison.treatment, comparison.measured
    left = residual_of(measured, plan.target_D, plan.refraction)
    title = part("The treated refraction against the measured one")
    target = "" if float(plan.target_D) == 0.0 else f" of {write(float(plan.target_D), 0.0, 180.0)[0]} D"
    if left.slip == "none":
        rest = f"the target{target}, and nothing else" if target else "nothing"
        return title + prose(f"{left.text} Treating this eye with this plan leaves {rest}, by arithmetic.")
    return title + prose(
        f"Measured {both_forms(measured)}; treated {both_forms(plan.refraction)}; target{target or ' 0.00 D'}.",
        f"Treating this eye with the plan as programmed would leave {both_forms(left.refraction)} beside the target: "
        "the difference of the two as they are written.",
        f"At the cornea, where the tissue is taken, that is {both_forms(left.at_cornea)}, which a lens of "
        f"{both_forms(left.lens)} at the spectacle plane corrects.",
        left.text,
    )


def offset_part(comparison, side):
    """What the offset of the treatment costs each option: as planned, and as it were centred on the vertex."""
    plan, pupil = comparison.treatment, comparison.pupil
    x, y = float(plan.centre_x_mm), float(plan.centre_y_mm)
    there = {name: result.option for name, result in comparison.results.items() if result.available}
    now = {name: centred_at(comparison.cornea, option, pupil, x, y) for name, option in there.items()}
    centred = {name: centred_at(comparison.cornea, option, pupil, 0.0, 0.0) for name, option in there.items()}
    moved = float(np.hypot(x, y)) >= AT_VERTEX_MM
    lines = [
        [label, *(_cell(now.get(name), centred.get(name), figure, places, moved) for name in HEADS)]
        for figure, label, places in OFFSET_ROWS
    ]
    why = [f"{HEADS[name]}: {r.why_not}." for name, r in comparison.results.items() if not r.available]
    where = f"Treatment centre {place_words(x, y, side)}"
    said = f"{where}; in brackets as it were centred on the vertex." if moved else f"{where}: nothing to compare."
    title = "What the offset costs"
    table = plain_table(("", *HEADS.values()), lines, title, numbers=(1, 2, 3))
    return part(title) + table + notes(said, *why, _offset_note(pupil, float(plan.zone_mm)))


def _offset_note(pupil, zone_mm):
    """How the figures of the offset are made."""
    past = " This pupil is wider than the zone: its coma says little." if float(pupil.pupil_mm) > zone_mm else ""
    return (
        f"Coma 2√10 · C40 · δ / a: C40 the change by the removal over a pupil of {float(pupil.pupil_mm):.1f} mm, "
        f"δ the distance of the treatment from the pupil's centre, a the pupil's radius; within about ± 10 % of a full "
        f"trace ({source('arba_mosquera2020').citation}). Largest pupil: zone less twice δ; the blend is not zone. The "
        f"bed at the centre takes the thickness measured at the centre, wherever the treatment lies.{past}"
    )


def _cell(now, centred, figure, places, moved):
    """A figure as planned and, where the centre was moved, as centred."""
    if now is None:
        return NO_FIGURE
    value = number(getattr(now, figure), places)
    return f"{value} ({number(getattr(centred, figure), places)})" if moved else value


def rotation_table(treated, turn_deg):
    """What is left after every whole degree to 15, the way of the rotation in question, and at that one in full."""
    way = -1.0 if turn_deg < 0 else 1.0
    lines = [_rotation_line(treated, way * degrees) for degrees in TURNS_DEG]
    heads = ("Rotation", "What is left", "The same", "Cylinder left")
    vector = rotation_residual(treated, turn_deg).power_vector()
    at = " ".join(
        f"{name} {number(v, 2)}" for name, v in zip(("SE", "J0", "J45"), (float(v) for v in vector), strict=True)
    )
    here = f"At {_degrees(turn_deg)}: {both_forms(rotation_residual(treated, turn_deg))}; {at} D."
    return plain_table(heads, lines, "Rotation", numbers=(3,)) + notes(here, SE_NOTE)


SE_NOTE = (
    "The spherical equivalent does not change. At the spectacle plane, by power vectors: cylinder 2 · |C| · sin τ. "
    "Marks at 0° and 180°, made while the patient sits, guard against it (common practice)."
)


def _rotation_line(treated, turn_deg):
    """A row: rotation, residual in both forms, share of the cylinder."""
    rest = rotation_residual(treated, turn_deg)
    minus, plus = spellings(rest)
    share = 100.0 * abs(float(rest.cylinder_D) / float(treated.cylinder_D))
    minus, plus = (form.replace(" ", "\u00a0") for form in (minus, plus if turn_deg else ""))
    return _degrees(turn_deg), minus, plus, f"{share:.0f} %"


def _degrees(turn_deg):
    return f"{turn_deg + 0.0:g}°".replace("-", "−")


def found_part():
    """What published series found on centration, rotation and the visual axis."""
    lines = [
        (row["what"], f"{row['percent']} %", _cited(row, row.get("note", ""))) for row in data("counts")["centration"]
    ]
    turn = next(row for row in data("errors")["error"] if "mean_deg" in row)
    lines.append((turn["what"], f"{turn['mean_deg']} ± {turn['sd_deg']}°", _cited(turn, source(turn["source"]).note)))
    lines += [(row["what"], row["figure"], _cited(row)) for row in data("visual_axis")["finding"]]
    title = "What published series found"
    return part(title) + plain_table(("Finding", "Figure", "Source"), lines, title)


def _cited(row, note=""):
    """Citation of a row with what must be known of it; common practice has none."""
    if "source" not in row:
        return "common practice, no source"
    known = source(row["source"]).citation
    return f"{known}. {note[0].upper()}{note[1:]}" if note else known
