"""Alignment: centre, pupil and thinnest point against the vertex, rotation, and what a wrong entry would leave."""

import numpy as np
import streamlit as st

from tissue.cornea import Pupil
from tissue.drawing import alignment, describe, front_large
from tissue.drawing.palette import HEADS
from tissue.drawing.words import place_words
from tissue.entry.fields import fields
from tissue.entry.notation import write
from tissue.measures import number
from tissue.optics_centre import decentration
from tissue.optics_pupil import outside_percent
from tissue.rotation import residual_of, rotation_residual
from tissue.screens import frame, inputs, words
from tissue.screens.chart import chart, main_width
from tissue.screens.piece import piece
from tissue.screens.plain_table import notes, part, plain_table, prose
from tissue.screens.reading import number_text
from tissue.screens.state import desk
from tissue.sources import data, source

PLACES = ("centre_x_mm", "centre_y_mm", "pupil_x_mm", "pupil_y_mm", "thinnest_x_mm", "thinnest_y_mm")
SE_NOTE = "The spherical equivalent does not change. Marks at 0° and 180° before the eye lies down guard against it."


def show():
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        st.html(words.nothing_yet(on_desk.side, wrong))
    else:
        piece("align_eye", words.eye_line(shown, on_desk.side))
        if wrong:
            piece("align_stale", words.stale(shown, on_desk.texts[on_desk.side], wrong))
        _screen(on_desk, shown, wrong, colours)
    inputs.sidebar(on_desk)


def _screen(on_desk, shown, wrong, colours):
    """The front view with its places, then rotation, centration and the guard."""
    side, comparison = on_desk.side, shown.comparison
    width = main_width()
    chart(
        "align_front",
        (shown, colours.name, width),
        lambda: (front_large.front_view(comparison, side, colours, width), describe.describe_front(comparison, side)),
        "the eye from the front",
        file=f"{on_desk.code}-{side}-front.svg",
        tall=True,
    )
    _places(on_desk, shown)
    piece("align_offset", _offset(comparison, side) + _found() + _guard(comparison))
    _rotation(on_desk, comparison, colours)
    piece("align_optics", _optics(comparison))


def _places(on_desk, shown):
    """The places in fields of their own; a change changes the plan."""
    known = {
        "centre_x_mm": shown.comparison.treatment.centre_x_mm,
        "centre_y_mm": shown.comparison.treatment.centre_y_mm,
        "pupil_x_mm": shown.comparison.pupil.pupil_x_mm,
        "pupil_y_mm": shown.comparison.pupil.pupil_y_mm,
        "thinnest_x_mm": shown.comparison.cornea.thinnest_x_mm,
        "thinnest_y_mm": shown.comparison.cornea.thinnest_y_mm,
    }
    side = on_desk.side
    st.html(part("Places from the vertex") + notes(_in_words(known, side)))
    for column, name in zip(st.columns(len(PLACES), gap="small"), PLACES, strict=True):
        field, key = fields()[name], f"align_{name}_{side}"
        st.session_state[key] = round(float(known[name]), 2)
        column.number_input(
            field.heading,
            float(field.low),
            float(field.high),
            step=float(field.step or 0.1),
            key=key,
            on_change=_moved,
            args=(on_desk, name, key, known),
            disabled=name.startswith("thinnest") and "thinnest_um" not in shown.inputs.values,
            help=field.help,
        )


def _in_words(known, side):
    """Where the places lie, in nasal and temporal words."""
    pairs = (("Treatment centre", "centre"), ("pupil", "pupil"), ("thinnest point", "thinnest"))
    said = [f"{word} {place_words(known[f'{n}_x_mm'], known[f'{n}_y_mm'], side)}" for word, n in pairs]
    return f"{'; '.join(said)}. Right of the vertex is {'nasal' if side == 'OD' else 'temporal'} in this eye."


def _moved(on_desk, name, key, known):
    """A place was typed: it is taken into the plan, its pair with it."""
    pair = name.replace("_x_", "_y_") if "_x_" in name else name.replace("_y_", "_x_")
    changed = {name: float(st.session_state[key]), pair: round(float(known[pair]), 2)}
    texts = on_desk.texts[on_desk.side] | {n: number_text(n, value) for n, value in changed.items()}
    on_desk.replace(on_desk.side, texts)
    on_desk.revision += 1


def _offset(comparison, side):
    """What the offset of the centre from the pupil and the vertex costs."""
    plan, pupil = comparison.treatment, comparison.pupil
    x, y = float(plan.centre_x_mm), float(plan.centre_y_mm)
    lines = []
    for name, result in comparison.results.items():
        if not result.available:
            lines.append((HEADS[name], str(result.why_not), "", "", "", ""))
            continue
        option = result.option
        centred = decentration(comparison.cornea, option, pupil, -x, -y)
        outside = float(outside_percent(pupil, option.removal))
        off = float(np.hypot(pupil.pupil_x_mm - x, pupil.pupil_y_mm - y))
        about = Pupil(pupil.pupil_mm, x, y)
        coma = float(decentration(comparison.cornea, option, about, x, y).coma_um) if np.hypot(x, y) > 0 else 0.0
        largest = max(float(option.removal.zone_mm) - 2.0 * off, 0.0)
        lines.append(
            (
                HEADS[name],
                f"{number(result.budget.bed_min_um)} ({number(centred.bed_min_um)})",
                number(result.budget.bed_central_um),
                number(coma, 2),
                number(largest, 1),
                number(outside, 1),
            )
        )
    heads = (
        "Option",
        "Least bed, µm (centred on the vertex)",
        "Bed at the treatment centre, µm",
        "Coma by the offset, µm",
        "Largest pupil inside the zone, mm",
        "Pupil outside the zone, %",
    )
    said = (
        f"Treatment centre {place_words(x, y, side)}. Coma: 2√10·C40·δ/a from the thin-plate change at a pupil of "
        f"{float(pupil.pupil_mm):.1f} mm, good to about ±10 % of a full trace. The blend is not zone."
    )
    return part("What the offset costs") + plain_table(heads, lines, "Offset", numbers=range(1, 6)) + notes(said)


def _found():
    """What published series found on centration and rotation."""
    lines = [
        (row["what"], f"{row['percent']} %", source(row["source"]).citation) for row in data("counts")["centration"]
    ]
    turn = next(row for row in data("errors")["error"] if "mean_deg" in row)
    lines.append((turn["what"], f"{turn['mean_deg']} ± {turn['sd_deg']}°", source(turn["source"]).citation))
    lines.append(
        (
            "Visual axis in myopes: slightly nasal or inferonasal of the pupil centre",
            "0.18 mm nasal",
            "printed where the source was not kept; the direction is common practice",
        )
    )
    return part("What published series found") + plain_table(("Finding", "Figure", "Source"), lines, "Series")


def _guard(comparison):
    """What treating this eye with the plan as programmed would leave."""
    plan = comparison.treatment
    left = residual_of(comparison.measured, plan.target_D, plan.refraction)
    if left.slip == "none":
        said = (left.text, "Treating this eye with this plan leaves the target and nothing else, by arithmetic.")
    else:
        told = _words(left.refraction)
        said = (
            f"Treating this eye with the plan as programmed would leave {told} beside the target, as written; "
            f"{_words(left.at_cornea)} at the cornea, which a lens of {_words(left.lens)} corrects.",
            left.text,
        )
    return part("The treated refraction against the measured one") + prose(*said)


def _words(refraction):
    """A refraction in minus form."""
    return write(
        *(round(float(v), 2) + 0.0 for v in (refraction.sphere_D, refraction.cylinder_D)), float(refraction.axis_deg)
    )[0]


def _rotation(on_desk, comparison, colours):
    """Residual refraction after a rotation, as a picture and a table."""
    treated = comparison.treatment.refraction
    st.html(part("If the eye lies rotated"))
    if float(treated.cylinder_D) == 0.0:
        st.html(prose("No cylinder is treated: a rotation leaves nothing."))
        return
    left, right = st.columns(2, gap="small")
    with left:
        st.session_state.setdefault("align_turn", st.session_state.get("align_turn_last", 5))
        turn = st.number_input("Rotation, °, counter-clockwise", -15, 15, step=1, key="align_turn", width=260)
        st.session_state["align_turn_last"] = turn
        chart(
            "align_rotation",
            (treated.sphere_D, treated.cylinder_D, treated.axis_deg, turn, colours.name),
            lambda: (
                alignment.rotation_lines(treated, float(turn), colours),
                alignment.describe_rotation(treated, float(turn)),
            ),
            "cylinder left against rotation",
            file=f"{on_desk.code}-{on_desk.side}-rotation.svg",
            columns=2,
            tall=True,
        )
    with right:
        lines = []
        for degrees in sorted({*alignment.TABLE_DEG, abs(int(turn))} - {0}):
            rest = rotation_residual(treated, float(degrees if turn >= 0 else -degrees))
            share = 100.0 * abs(float(rest.cylinder_D) / float(treated.cylinder_D))
            lines.append((f"{degrees if turn >= 0 else -degrees}°".replace("-", "−"), _words(rest), f"{share:.0f} %"))
        heads = ("Rotation", "What is left", "Cylinder left, of the treated")
        piece("align_table", plain_table(heads, lines, "Rotation", numbers=(2,)) + notes(SE_NOTE))


def _optics(comparison):
    """What the plan does to the optics, an option a column."""
    from tissue.optics import optics_by_option

    there = {name: result.option for name, result in comparison.results.items() if result.available}
    found = dict(
        zip(
            there,
            optics_by_option(comparison.cornea, comparison.treatment, list(there.values()), comparison.pupil),
            strict=True,
        )
    )
    if not found:
        return ""
    rows = (
        (
            "Refraction achieved at the cornea, D",
            lambda o: write(o.refraction_sphere_D, o.refraction_cylinder_D, o.refraction_axis_deg)[0],
        ),
        ("Asphericity after", lambda o: number(o.asphericity_after, 2)),
        ("Spherical aberration C40 before, µm", lambda o: number(o.c40_before_um, 3)),
        ("Change of C40, µm", lambda o: number(o.c40_change_um, 3)),
        ("Apex shift, D (not in the plan)", lambda o: number(o.apex_shift_D, 2)),
        ("Zone that keeps the correction, before, mm", lambda o: number(o.zone_kept_before_mm, 1)),
        ("The same after, mm", lambda o: number(o.zone_kept_after_mm, 1)),
        ("Pupil outside the zone, %", lambda o: number(o.pupil_outside_zone_percent, 1)),
    )
    lines = [(title, *(say(found[name]) if name in found else "–" for name in HEADS)) for title, say in rows]
    said = (
        f"At a pupil of {float(comparison.pupil.pupil_mm):.1f} mm. The change of C40 is that of a thin plate, about "
        "0.03 µm low at −6 D. The zone that keeps the correction is our own definition (local error of the front "
        "surface within 0.5 D); a natural cornea keeps about 4 mm by it. The apex shift comes of taking tissue off the "
        "front."
    )
    table = plain_table(("", *HEADS.values()), lines, "Optics", numbers=(1, 2, 3))
    return part("What the plan does to the optics") + table + notes(said)
