"""The part of Trade-offs on what the zone gives: light and contrast over the zone, beside bed and removal."""

import csv
import io
from collections.abc import Mapping
from dataclasses import astuple, dataclass
from typing import Any, NamedTuple

import numpy as np
import streamlit as st
from markupsafe import Markup

from tissue.drawing.base.palette import HEADS, Look
from tissue.drawing.charts.maps import describe_map, tradeoff_map
from tissue.drawing.charts.sight_curves import BOUGHT, IN_FOCUS, TAKEN, describe_curves, rung_curves
from tissue.entry.eye import Inputs
from tissue.entry.file_name import file_name
from tissue.explore.tradeoffs import Grid
from tissue.explore.zone_buys import PUPILS_MM, LightMap, Rung, ladder, light_map, through_focus, zone_step
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import NO_FIGURE, Words, signed
from tissue.optics.sight.figures import Sight
from tissue.optics.sight.view import GREEN, WHITE, View
from tissue.removal.options import first_name
from tissue.report.sight.sight_json import pupil_of, sight_notices, sights, view_of
from tissue.report.sight.sight_terminal import NOT_VISION, TO_KNOW, WRITTEN
from tissue.screens.desk.link import CSV, File, hand, sound
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.evidence.sight import found_part
from tissue.screens.html import notes, paragraphs, part, plain_table, put, strip, tag
from tissue.screens.kept import kept, outlived, pick
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.sight.pictures import NO_PLACE, show_pictures

WIDEST_PUPIL_MM = 8.0
CURVES, MAP, PICTURES, FOCUS = SHOWN = ("Curves", "Map over zone and pupil", "Rings and lights", "Through focus")
TITLE = "What the zone buys"
AXIS = "Optical zone, mm"
NOTHING_SEEN = 5e-4  # smaller changes of a figure count as no change
SAID = {
    "bought": (
        "Light and contrast",
        "light near the axis, of all in the pupil; contrast, mean of six directions; at the rule: this plan",
        AXIS,
    ),
    "taken": (
        "What it takes",
        "least bed and deepest removal; blends and base held; at the rule: this plan",
        AXIS,
    ),
    "focus": (
        "Through focus",
        "visual Strehl ratio, and light within 10′; at the rule: this plan in focus",
        "Out of focus, D (+ hyperopic, − myopic)",
    ),
}
PANELS = {"bought": BOUGHT, "taken": TAKEN, "focus": IN_FOCUS}
LEVELS = (80.0, 90.0, 95.0, 98.0)
MAP_NOTE = (
    "Twelve zones by twelve pupils about the pupil's own centre; blends and base held. Lines at 80, 90, 95 and 98 %."
)


@dataclass(frozen=True)
class Choice:
    """Name of the option, pupil [mm], View, and which part is shown."""

    option: str
    pupil_mm: float
    view: View
    part: str

    @property
    def key(self) -> tuple[float, str, float, float, float]:
        """What the figures depend on apart from the eye and the option."""
        return (self.pupil_mm, *astuple(self.view))


def choices(on_desk: Desk, inputs: Inputs) -> Choice:
    """Draw the row of choices; returns what is chosen.

    Args:
        on_desk: Desk; inputs: Inputs of its eye in the fields.
    """
    own = float(inputs.pupil.pupil_mm)
    offered = tuple(sorted({*PUPILS_MM[PUPILS_MM <= WIDEST_PUPIL_MM].tolist(), own}))
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        pick("to_sight_option", "Option seen", tuple(HEADS), HEADS.get, 180, first_name("keeps_cap"))
        pick(_pupil_key(on_desk, inputs), "Pupil, mm", offered, "{:g}".format, 110, own)
        _switch("to_sight_epithelium", "epithelium", "the epithelium fills short dents, over 0.42 mm")
        _switch("to_sight_white", "white light", "five lines of light instead of 555 nm")
    begin = outlived("to_sight_part", CURVES)
    if "to_sight_part" not in st.session_state:
        st.session_state["to_sight_part"] = begin
    picked = st.segmented_control("Shown", SHOWN, key="to_sight_part", required=True, label_visibility="collapsed")
    st.session_state["to_sight_part_last"] = picked
    return said_choices(on_desk, inputs)


def said_choices(on_desk: Desk, inputs: Inputs) -> Choice:
    """The Choice that the row shows at present."""
    said = st.session_state
    view = view_of(WHITE if said["to_sight_white"] else GREEN, said["to_sight_epithelium"])
    return Choice(said["to_sight_option"], said[_pupil_key(on_desk, inputs)], view, said["to_sight_part"] or CURVES)


def _pupil_key(on_desk: Desk, inputs: Inputs) -> str:
    """Name of the pupil field; it changes with the plan, the eye and the plan's own pupil."""
    return f"to_sight_pupil_{on_desk.id}_{on_desk.side}_{float(inputs.pupil.pupil_mm):g}"


def _switch(name: str, label: str, help_words: str) -> None:
    """A switch that is kept when the screen is left."""
    on = st.toggle(label, bool(outlived(name, False)), key=name, help=help_words)
    st.session_state[f"{name}_last"] = on


def show(on_desk: Desk, shown: Shown, colours: Look, stands_for: str) -> None:
    """The part with its choices.

    Args:
        on_desk: Desk; shown: Shown; colours: Look.
        stands_for: name of the input that it is drawn for.
    """
    put(part(TITLE))
    seen = choices(on_desk, shown.inputs)
    try:
        pupil = pupil_of(shown.inputs, seen.pupil_mm)
        before, found = kept(
            "to_sights", (shown, seen.key), lambda: sights(shown.inputs, shown.comparison, pupil, seen.view)
        )
        _part(on_desk, shown, colours, seen, found, stands_for)
    except EyeError as error:
        put(strip(f"No image: {error}"))
        return
    put(tag("div", _table(before, found), data_for=stands_for))
    put(notes(NOT_VISION, TO_KNOW, *(notice.text for notice in sight_notices(shown.comparison, found))))
    put(found_part())


def _part(on_desk: Desk, shown: Shown, colours: Look, seen: Choice, found: dict[str, Sight], stands_for: str) -> None:
    """Draw the chosen part: curves, map, pictures or focus."""
    if seen.part == MAP:
        _map(on_desk, shown, colours, seen, found, stands_for)
    elif seen.part == PICTURES:
        show_pictures(shown, seen, stands_for)
    else:
        _runs(on_desk, shown, colours, seen, stands_for)


def _runs(on_desk: Desk, shown: Shown, colours: Look, seen: Choice, stands_for: str) -> None:
    """Curves over the zone with what 0.1 mm of it changes, or over the focus."""
    inputs, option = shown.inputs, seen.option
    pupil, name = pupil_of(inputs, seen.pupil_mm), f"{on_desk.code}-{on_desk.side}"
    key = (shown, option, seen.key)
    depends = (*key, colours.name, stands_for)
    if seen.part == FOCUS:
        rungs = kept("to_focus", key, lambda: through_focus(inputs, shown.comparison, pupil, seen.view, only=option))
        _curves(depends, rungs, option, colours, 0.0, "focus", file=f"{name}-through-focus.svg")
        return
    rungs = kept("to_rungs", key, lambda: ladder(inputs, pupil, seen.view, only=option))
    plan = float(inputs.treatment.zone_mm)
    _curves(depends, rungs, option, colours, plan, "bought", file=f"{name}-zone-buys.svg")
    said = step_words(zone_step(rungs, plan)[option], _no_figures(shown, option))
    put(tag("div", paragraphs(said), class_="prose buys", role="status", data_for=stands_for))
    _curves(depends, rungs, option, colours, plan, "taken", file=f"{name}-zone-takes.svg")


def _curves(
    depends: tuple[Any, ...], rungs: list[Rung], option: str, colours: Look, plan: float, id: str, *, file: str
) -> None:
    """One picture of curves."""
    said, panels = SAID[id], PANELS[id]
    chart(
        f"to_sight_{id}",
        depends,
        Picture(
            lambda: rung_curves(rungs, option, colours, panels, said, plan),
            lambda: describe_curves(rungs, option, panels, said, plan),
            said[0].lower(),
            file=file,
            tall=True,
            stands_for=depends[-1],
        ),
    )


def _no_figures(shown: Shown, option: str) -> str:
    """Why an option has no figures in the plan, in a sentence; empty where it has figures."""
    result = shown.comparison.results[option]
    return f"No figures for {result.option.title}: {result.why_not}." if result.why_not else ""


def step_words(step: dict[str, float] | None, no_figures: str = "") -> str:
    """What 0.1 mm more zone changes, in a sentence; losses are said as plainly as gains.

    Args:
        step: figures of one option at 0.1 mm more zone minus those of the plan, or None.
        no_figures: why the option has none in the plan, in a sentence.

    >>> step_words({"light_10_arcmin_percent": 2.84, "light_3_arcmin_percent": 1.0, "mtf_10": 0.03,
    ...             "mtf_20": 0.0, "visual_strehl": 0.0, "bed_min_um": -3.5})
    '+0.1 mm of zone at this pupil: light within 10′ +2.8 points, MTF at 10 c/deg +0.030; least bed −3.5 µm.'
    """
    if step is None:
        return no_figures or "There is no plan with 0.1 mm more zone."
    if np.isnan(step["mtf_10"]):
        return "Less than a quarter of the pupil lies in the zone: no figures of the image are given."
    bed = f"least bed {signed(step['bed_min_um'], 1)} µm."
    seen = ("light_10_arcmin_percent", "light_3_arcmin_percent", "mtf_10", "mtf_20")
    if max(abs(step[name]) for name in seen) < NOTHING_SEEN:
        said = f"+0.1 mm of zone at this pupil: 0.0 points: the pupil ends inside the zone; {bed}"
    else:
        light, contrast = step["light_10_arcmin_percent"], step["mtf_10"]
        said = (
            f"+0.1 mm of zone at this pupil: light within 10′ {signed(light, 1)} points, "
            f"MTF at 10 c/deg {signed(contrast, 3)}; {bed}"
        )
    return said


def _table(before: Sight, found: dict[str, Sight]) -> Markup:
    """Every figure before and for each option."""
    columns = [before, *found.values()]
    rows = [
        [written.label, *(written.text(getattr(one, name)) if one else NO_FIGURE for one in columns)]
        for name, written in WRITTEN.items()
    ]
    heads = ("", "Before", *(HEADS[name] for name in found))
    return plain_table(heads, rows, TITLE, numbers=range(1, len(heads)))


class Light(NamedTuple):
    """The words for what the map shows, in the form of a measure."""

    label: str = "Light within 10′"
    unit: str = "%"
    decimals: int = 1


def _map(
    on_desk: Desk, shown: Shown, colours: Look, seen: Choice, found: Mapping[str, Sight | None], stands_for: str
) -> None:
    """The map of one option.

    Args:
        on_desk: Desk; shown: Shown; colours: Look.
        seen: Choice of what is looked at; found: by option its Sight, or None.
        stands_for: name of the input.
    """
    pupil = pupil_of(shown.inputs, seen.pupil_mm)
    made = kept(
        "to_light", (shown, seen.option, seen.key), lambda: light_map(shown.inputs, seen.option, pupil, seen.view)
    )
    plan, one = float(shown.inputs.treatment.zone_mm), found[seen.option]
    light = np.nan if one is None else one.light_10_arcmin_percent
    grid = light_grid(made, (plan, float(pupil.pupil_mm), light), shown.comparison.results[seen.option].why_not)
    known = made.values[np.isfinite(made.values)]
    levels = [level for level in LEVELS if known.size and known.min() < level < known.max()]
    chart(
        "to_light",
        (shown, seen.option, seen.key, float(pupil.pupil_mm), colours.name, stands_for),
        Picture(
            lambda: tradeoff_map(grid, colours, Light(), levels),
            lambda: describe_map(grid, Light(), levels),
            "light over zone and pupil",
            file=f"{on_desk.code}-{on_desk.side}-light-map.svg",
            tall=True,
            stands_for=stands_for,
        ),
        columns=2,
    )
    hand("to_light_csv", "light map as CSV", light_file, of_screen=True)
    put(notes(MAP_NOTE))


def light_grid(made: LightMap, plan: tuple[float, float, float], why_not: Words = "") -> Grid:
    """A LightMap as the Grid that a map is drawn from.

    Args:
        made: LightMap. plan: zone and pupil [mm] of the plan, and its light [%].
        why_not: why the option has no figures in the plan; empty where it has.
    """
    why = np.where(np.isnan(made.values), str(why_not) or NO_PLACE, "")
    x, y = made.zones_mm, made.pupils_mm
    return Grid(made.option, "light_10_arcmin_percent", "zone_mm", "pupil_mm", x, y, made.values, why, plan)


def light_file(on_desk: Desk) -> File:
    """The map of the eye in the fields as a file, by the present choices."""
    inputs = sound(on_desk, (on_desk.side,))[on_desk.side].inputs
    seen = said_choices(on_desk, inputs)
    made = light_map(inputs, seen.option, pupil_of(inputs, seen.pupil_mm), seen.view)
    out = io.StringIO(newline="")
    csv.writer(out).writerows(made.rows())
    return file_name(f"{on_desk.code}-{on_desk.side}-light-map", ".csv"), CSV, out.getvalue().encode()
