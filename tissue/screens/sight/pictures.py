"""Landolt rings and night lights, one row for each pupil: before surgery, less zone, the plan, more zone."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from tissue.drawing.base.palette import HEADS
from tissue.drawing.charts.sight_pictures import describe_seen, lights_png, rings_png
from tissue.explore.zone_buys import ZONES_MM
from tissue.explore.zone_pictures import Seen, seen_pictures
from tissue.ground.vocabulary import rounded
from tissue.optics.sight.pictures import LIGHTS_ARCMIN, PX, RINGS_ARCMIN
from tissue.report.sight.sight_json import pupil_of
from tissue.screens.html import notes, put, start, tag
from tissue.screens.kept import kept

if TYPE_CHECKING:
    from tissue.screens.desk.reading import Shown

ZONE_STEPS_MM, PUPIL_STEPS_MM = (-0.5, 0.0, 0.5), (-1.0, 0.0, 1.0)
LEAST_PUPIL_MM, MOST_PUPIL_MM = 2.0, 9.0
NO_PLACE = "little of the pupil lies in the zone"
HOW = (
    "Without healing, a Munnerlyn plan for myopia takes spherical aberration away (C40 −) while the pupil lies within "
    "the zone; published series found it added (+): see Evidence.",
    "Optics of the planned surface; not acuity, not satisfaction.",
    f"1′ = {PX} px in both pictures; screens and eyes add their own glare. Each is in its own best focus. Above: five "
    "Landolt rings of full contrast, gap 1′. Below: two lights 30′ apart on black (the bar is 30′); brightness on one "
    "scale of logarithms over four decades below the brightest point that a light without error would have at the same "
    "pupil; what is fainter is black.",
    "Light that is spread far is fainter than that: a picture can look clean while little of the light is within 10′. "
    "The share stands above each.",
)


def show_pictures(shown: Shown, seen: Any, stands_for: str) -> None:
    """Show the small multiples of one option.

    Args:
        shown: Shown; seen: Choice of what is looked at; stands_for: name of the input.
    """
    inputs, plan = shown.inputs, float(shown.inputs.treatment.zone_mm)
    zones = [zone for zone in _about(plan, ZONE_STEPS_MM) if ZONES_MM[0] <= zone <= ZONES_MM[1]]
    own = pupil_of(inputs, seen.pupil_mm)
    widths = _about(float(own.pupil_mm), PUPIL_STEPS_MM)
    pupils = [replace(own, pupil_mm=one) for one in widths if LEAST_PUPIL_MM <= one <= MOST_PUPIL_MM]
    why = str(shown.comparison.results[seen.option].why_not) or NO_PLACE
    rows = kept(
        "to_pictures",
        (shown, seen.option, seen.key),
        lambda: pictures_html(seen_pictures(inputs, seen.option, pupils, zones, seen.view), plan, seen.option, why),
    )
    put(tag("div", rows, data_for=stands_for))
    put(notes(*HOW))


def _about(value: float, steps: tuple[float, ...]) -> list[float]:
    """A value as it is, and beside it others in hundredths."""
    return [round(value + step, 2) if step else value for step in steps]


def pictures_html(rows: Sequence[Sequence[Seen]], plan_mm: float, option: str, why: str = NO_PLACE) -> Markup:
    """Rows of Seen as markup.

    Args:
        rows: lists of Seen, one for a pupil; plan_mm: the plan's zone; option: its name; why: the reason for a gap.
    """
    cells = (
        tag(
            "div",
            *(_cell(one, plan_mm, option, why) for one in row),
            class_="seen-row",
            data_pupil=f"{row[0].pupil_mm:g}",
        )
        for row in rows
    )
    return tag("div", *cells, class_="seen")


def _cell(one: Seen, plan_mm: float, option: str, why: str) -> Markup:
    """One place: its words over its two pictures."""
    name = zone_words(one.zone_mm, plan_mm)
    words = f"{name}, pupil {one.pupil_mm:g} mm"
    if one.pictures is None:
        return tag("figure", tag("figcaption", words, tag("small", f"no picture: {why}")))
    said = f"light within 10′ {rounded(one.light_percent, 1)} %, MTF 10 {rounded(one.contrast, 3)}"
    before = one.zone_mm != one.zone_mm
    alt = describe_seen(name if before else f"{HEADS[option]}, {name}", one.pupil_mm, one.light_percent, one.contrast)
    return tag(
        "figure",
        tag("figcaption", words, tag("small", said)),
        image(rings_png(one.pictures.rings), f"Landolt rings. {alt}", RINGS_ARCMIN),
        image(lights_png(one.pictures.lights, PX), f"Two lights at night. {alt}", LIGHTS_ARCMIN),
    )


def zone_words(zone_mm: float, plan_mm: float) -> str:
    """The name of a column.

    >>> zone_words(float("nan"), 6.5), zone_words(6.5, 6.5), zone_words(7.0, 6.5)
    ('Before surgery', 'This plan, zone 6.5 mm', 'Zone 7 mm')
    """
    if zone_mm != zone_mm:
        return "Before surgery"
    return f"This plan, zone {zone_mm:g} mm" if zone_mm == plan_mm else f"Zone {zone_mm:g} mm"


def image(png: bytes, alt: str, field_arcmin: tuple[float, float]) -> Markup:
    """A picture on a page, at its own size.

    Args:
        png: bytes; alt: its words; field_arcmin: width and height of its field.
    """
    wide, high = (size * PX for size in field_arcmin)
    return start("img", src=f"data:image/png;base64,{b64encode(png).decode()}", alt=alt, width=wide, height=high)
