"""A strip of Explain, switched off at first: lights at night through a smaller and a larger treated area."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import streamlit as st
from markupsafe import Markup

from tissue.drawing.charts.sight_pictures import lights_png
from tissue.drawing.patient.language import mm_or_less, with_sign
from tissue.entry.eye import Inputs, not_given
from tissue.explore.zone_buys import ZONES_MM, zone_column
from tissue.explore.zone_pictures import seen_pictures
from tissue.ground.errors import EyeError
from tissue.ground.sources import data
from tissue.ground.vocabulary import rounded
from tissue.optics.sight.pictures import LIGHTS_ARCMIN
from tissue.report.sight.sight_json import pupil_of
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import desk
from tissue.screens.html import joined, paragraphs, tag, together
from tissue.screens.kept import changed, kept, widget_key
from tissue.screens.parts.piece.piece import piece
from tissue.screens.sight.pictures import image

if TYPE_CHECKING:
    from tissue.drawing.patient.words import Story

AREAS = ("small", "large")
FIRST = ("own", "usual")  # pupils before those by age: the eye's own, or the default where none was given
ZONE_STEP_MM = 0.5  # of the two areas, to either side of the plan's


@dataclass(frozen=True, eq=False)
class Night:
    """The two areas seen through one pupil: pictures as PNG, with the title over them and the words under them."""

    title: str
    words: str
    heads: tuple[str, ...]
    near: tuple[str, ...]
    pngs: tuple[bytes, ...]


def of_plan(on_desk: Desk) -> dict[str, Any]:
    """The choices in the strip for this patient, `night` and `pupil`; empty until it is switched on.

    Args:
        on_desk: Desk.
    """
    return on_desk.own.setdefault("explain_night", {})


def strip_of_lights(shown: Shown, told: Story, chosen: dict[str, Any]) -> None:
    """Draw the switch, and the strip where it is on.

    Args:
        shown: Shown; told: Story; chosen: of this plan, and what is chosen now is kept there.
    """
    said = told.words["night"]
    whose = desk().id
    switch = widget_key("explain_night", chosen.get("night", False), whose)
    with st.container(key="explain_night_row"):
        st.toggle(said["switch"], key=switch, on_change=_take, args=("night", switch, chosen))
        if not chosen.get("night"):
            return
        widths = pupils(shown.inputs)
        if chosen.get("pupil") not in widths:
            chosen["pupil"] = next(iter(widths))
        pupil = widget_key("explain_pupil", chosen["pupil"], whose)
        st.segmented_control(
            said["pupil"],
            list(widths),
            format_func=lambda name: pupil_words(name, widths[name], told),
            key=pupil,
            required=True,
            on_change=_take,
            args=("pupil", pupil, chosen),
        )
        key = (shown, told.way, told.language, widths[chosen["pupil"]])
        found = kept("explain_lights", key, lambda: night_of(shown.inputs, told, widths[chosen["pupil"]]))
        piece(
            "explain_lights",
            tag("div", together(joined(*night_html(found, told))), class_="explain-words", lang=told.language),
        )


def night_shown(shown: Shown, told: Story, chosen: dict[str, Any]) -> Night | None:
    """The Night that is on the screen, for the handout; None where the strip is off or has no pictures.

    Args:
        shown: Shown; told: Story; chosen: of this plan.
    """
    if not chosen.get("night"):
        return None
    said, widths = told.words["night"], pupils(shown.inputs)
    picked = chosen.get("pupil")
    name = str(picked) if picked in widths else next(iter(widths))
    found = night_of(shown.inputs, told, widths[name])
    if found is None:
        return None
    pupil = f"{said['pupil']} ({pupil_words(name, widths[name], told)})."
    eye = told.words["page"]["eyes"][told.side]
    return replace(found, title=f"{found.title} ({eye})", words=f"{pupil} {found.words} {said['moon']}")


def _take(name: str, key: str, chosen: dict[str, Any]) -> None:
    """Keep what was just chosen when the screen is left."""
    value = changed(f"explain_{name}", key)
    if value is not None:
        chosen[name] = value


def pupils(inputs: Inputs) -> dict[str, float]:
    """By name, the pupils [mm] offered: this eye's own or, not given, the usual; the mean of each age at 1 lux."""
    known = data("sight")["pupil_by_age"]
    first = "usual" if "pupil_mm" in not_given(inputs.values) else "own"
    return {first: float(inputs.pupil.pupil_mm)} | dict(zip(known["years"], known["mm"], strict=True))


def pupil_words(name: str, width_mm: float, told: Story) -> str:
    """The words on the button of a pupil."""
    said, width = told.words["night"], with_sign(rounded(width_mm, 1), told.language)
    return said[name].format(mm=width) if name in FIRST else said["age"].format(years=name, mm=width)


def night_of(inputs: Inputs, told: Story, pupil_mm: float) -> Night | None:
    """The Night of a way, or None where its pictures cannot be made."""
    plan = float(inputs.treatment.zone_mm)
    zones = [min(max(plan + step, ZONES_MM[0]), ZONES_MM[1]) for step in (-ZONE_STEP_MM, ZONE_STEP_MM)]
    try:
        pupil = replace(pupil_of(inputs, pupil_mm), pupil_mm=pupil_mm)
        (row,) = seen_pictures(inputs, told.way, [pupil], zones)
    except EyeError:
        return None
    seen = [one.pictures for one in row[1:] if one.pictures is not None]
    if len(seen) < len(AREAS):
        return None
    said, result = told.words["night"], zone_column(inputs, told.way, zones)[0]
    heads = (
        said[name].format(mm=with_sign(f"{zone:g}", told.language)) for name, zone in zip(AREAS, zones, strict=True)
    )
    near = (_near(said, round(float(one.light_percent))) for one in row[1:])
    pngs = (lights_png(one.lights) for one in seen)
    deepest = np.asarray(result.budget.removal_max_um)
    more_um = float(deepest[1] - deepest[0])
    planned = said["plan"].format(mm=with_sign(f"{plan:g}", told.language))
    words = f"{said['said']} {planned} {said['more'].format(more=mm_or_less(more_um, told.language))}"
    return Night(said["head"], words, tuple(heads), tuple(near), tuple(pngs))


def _near(said: dict[str, str], percent: int) -> str:
    """Where the light of a lamp lands, of 100 parts: near it, and so far that the picture has none of it."""
    return said["near"].format(n=percent, far=100 - percent)


def night_html(found: Night | None, told: Story) -> tuple[Markup, ...]:
    """The strip as pieces of markup.

    Args:
        found: Night, or None; told: Story.
    """
    said = told.words["night"]
    if found is None:
        return tag("h2", said["head"]), paragraphs(said["none"])
    cells = (
        tag(
            "figure",
            tag("figcaption", head),
            image(png, f"{said['picture']} {head}. {near}", LIGHTS_ARCMIN),
            tag("p", near),
        )
        for head, near, png in zip(found.heads, found.near, found.pngs, strict=True)
    )
    words = paragraphs(found.words, said["moon"], said["ages"])
    return tag("h2", said["head"]), tag("div", *cells, class_="explain-lights"), words
