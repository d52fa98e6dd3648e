"""The map of Trade-offs: contours at the user's values, a click that moves the plan and says so, its grid as CSV."""

import csv
import io
import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
import streamlit as st

from tissue.budget.comparison import Comparison
from tissue.budget.strength.relationship import relationships
from tissue.drawing.base.palette import Look
from tissue.drawing.charts import maps
from tissue.entry.fields import fields
from tissue.entry.file_name import file_name
from tissue.explore.tradeoffs import grid
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import Array
from tissue.report.measures import NOT_STUDIED, Measure, marked, measures
from tissue.screens.desk.link import CLICKED, CSV, File, hand, sound
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.press import taken
from tissue.screens.desk.reading import Shown
from tissue.screens.html import notes, put, strip
from tissue.screens.kept import kept, outlived
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.plan.words import assumption
from tissue.screens.tradeoffs.moving import move_plan, say_of_plan

BETWEEN = re.compile(r"(?<=\d{3}),(?=\d{3})")  # "280,300" gives two values, "0,5" gives one
MOVED = ("zone_mm", "cap_um", "flap_um", "base_um")
BEDS = ("bed", "bed_least", "bed_planned")  # the measures that the user's line applies to
MEASURED = {"cap_um": "cap_measured_um", "flap_um": "flap_measured_um"}
CLICK = "A click on the map moves the plan there; so do the fields of the plan."


class Chosen(NamedTuple):
    """The choices above map and lines: the figure, the option and two inputs of the map, and the input of the lines.

    levels: values of the contours; round ones where None.
    """

    measure: Measure
    option: str
    pair: tuple[str, str]
    field: str
    levels: list[float] | None


def figure_name(measure: Measure, comparison: Comparison) -> str:
    """The name of a measure's figure among those that can be varied."""
    chosen = comparison.judgement.relationship
    return f"strength_{chosen}_percent" if measure.figure == "strength" else measure.figure


def levels() -> list[float] | None:
    """The typed values for contours; None for round values; says what cannot be read."""
    begin, hint = outlived("to_levels", ""), "round values, or 280 300"
    text = st.text_input("Contours at", begin, key="to_levels", placeholder=hint, width=190)
    st.session_state["to_levels_last"] = text
    found, wrong = contour_values(text or "")
    st.session_state["to_levels_wrong"] = " ".join(wrong)
    return found or None


def contour_values(text: str) -> tuple[list[float], list[str]]:
    """The values of a text for contours, in order, and the parts that cannot be read.

    >>> contour_values("300,280 0,5 x")
    ([0.5, 280.0, 300.0], ['x'])
    """
    found, wrong = [], []
    for part in BETWEEN.sub(" ", text.replace(";", " ")).split():
        try:
            found.append(float(part.rstrip(",").replace(",", ".").replace("−", "-")))
        except ValueError:
            wrong.append(part)
    return sorted(set(found)), wrong


def beyond(values: Array, wanted: list[float] | None) -> tuple[str, ...]:
    """The wanted contours outside a map's range, with its least and greatest value; empty where it has all of them.

    >>> import numpy as np
    >>> beyond(np.array([250.0, np.nan, 310.0]), [280.0, 9999.0]), beyond(np.array([250.0]), None)
    (('9999', '250', '310'), ())
    """
    known = values[~np.isnan(values)]
    if not wanted or not known.size:
        return ()
    out = [f"{value:g}" for value in wanted if not known.min() <= value <= known.max()]
    return (", ".join(out), f"{known.min():.4g}", f"{known.max():.4g}") if out else ()


def draw(on_desk: Desk, shown: Shown, colours: Look, chosen: Chosen, columns: int, stands_for: str) -> None:
    """The map with its words.

    Args:
        on_desk: Desk; shown: Shown; colours: Look; chosen: Chosen.
        columns: how many charts stand side by side; stands_for: name of the input.
    """
    measure, option, pair, wanted = chosen.measure, chosen.option, chosen.pair, chosen.levels
    name = figure_name(measure, shown.comparison)
    try:
        made = kept("to_grid", (shown, name, option, pair), lambda: grid(shown.inputs.values, option, name, *pair))
    except EyeError as error:
        put(strip(f"No map: {error}"))
        return
    if st.session_state["to_levels_wrong"]:
        put(strip(f"Contours at: read {st.session_state['to_levels_wrong']}, accepted numbers, apart by spaces."))
    if outside := beyond(made.values, wanted):
        put(strip(f"No contour at {outside[0]}: the map goes from {outside[1]} to {outside[2]}."))
    line = _line(shown, measure)
    with st.container(key="to_map_box", gap=None):
        chart(
            "to_map",
            (shown, measure.label, option, pair, tuple(wanted or ()), colours.name, stands_for),
            Picture(
                lambda: maps.tradeoff_map(made, colours, measure, wanted, line),
                lambda: maps.describe_map(made, measure, wanted, line),
                "trade-off map",
                file=f"{on_desk.code}-{on_desk.side}-map.svg",
                clicks=(on_desk.id, on_desk.side, pair),
                tall=True,
                stands_for=stands_for,
            ),
            columns=columns,
        )
        with st.container(key="to_csv"):
            hand("to_csv", "map as CSV", map_file)
    put(notes(CLICK, *_said(shown, measure, option, pair)))
    clicked = taken(CLICKED)
    if clicked and tuple(clicked[:2]) == (on_desk.id, on_desk.side):
        _move(on_desk, shown, pair, clicked[2])


def _line(shown: Shown, measure: Measure) -> tuple[float, str] | None:
    """The user's line and its words, where the measure is a bed."""
    value = float(shown.comparison.judgement.bed_line_um)
    return (value, f"your line: {value:.0f}") if measure.id in BEDS else None


def _said(shown: Shown, measure: Measure, option: str, pair: tuple[str, str]) -> Iterator[str]:
    """The notes below this map."""
    for name in pair:
        if MEASURED.get(name) and _given(shown, MEASURED[name]):
            label = fields()[MEASURED[name]].label
            yield f"{label[0].upper()}{label[1:]} is given: it is the cut, whatever was planned."
    if measure.figure == "strength":
        yield f"Strength by: {relationships()[shown.comparison.judgement.relationship].label}."
        yield assumption(shown.comparison)
    if marked(measure, shown.comparison.results[option]):
        yield NOT_STUDIED


def _given(shown: Shown, name: str) -> bool:
    value = shown.inputs.values.get(name)
    return value is not None and value == value


def map_file(on_desk: Desk) -> File:
    """The grid of the eye in the fields as a file, by the present choices above the map."""
    shown = sound(on_desk, (on_desk.side,))[on_desk.side]
    measure = measures()[st.session_state["to_measure"]]
    option, pair = st.session_state["to_option"], st.session_state["to_pair"]
    rows = list(grid(shown.inputs.values, option, figure_name(measure, shown.comparison), *pair).rows())
    if marked(measure, shown.comparison.results[option]):  # not validated for this option
        rows[0] = (*rows[0][:2], f"{rows[0][2]} †", rows[0][3])
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return file_name(f"{on_desk.code}-{on_desk.side}-map", ".csv"), CSV, out.getvalue().encode()


def _move(on_desk: Desk, shown: Shown, pair: tuple[str, str], clicked: dict[str, float]) -> None:
    """Move the plan to the clicked place, in the steps of the fields; the sphere stays, because it was measured.

    A click that arrives after the inputs of the map were changed moves nothing; this is said.

    Args:
        on_desk: Desk; shown: Shown; pair: inputs of the map that stands here; clicked: the place by its inputs.
    """
    if tuple(clicked) != pair:
        say_of_plan(
            on_desk, on_desk.side, "The plan was not moved: the map was changed to other inputs just after the click."
        )
        st.rerun()
    wanted, said = {}, []
    for name, value in clicked.items():
        if name not in MOVED:
            said.append("the sphere is measured and stays")
            continue
        step = fields()[name].step or 1.0
        wanted[name] = round(float(value) / step) * step
    if move_plan(on_desk, shown, wanted, *said):
        st.rerun()
