"""Trade-offs: two inputs as a map, one for all options, what a change costs, searches, which error matters."""

from dataclasses import replace
from typing import Any

import numpy as np
import streamlit as st
from markupsafe import Markup

from tissue.budget.spread import CLOSED
from tissue.drawing.base.palette import HEADS, Look
from tissue.drawing.charts import sweeps
from tissue.drawing.charts.maps import input_words
from tissue.entry.fields import fields
from tissue.explore.tradeoffs import PAIRS, Found, seek, sweep
from tissue.ground.errors import EyeError
from tissue.removal.options import Every, first_name
from tissue.report.measures import FLAP_SHARES, NOT_STUDIED, Measure, measures, rounded, strength
from tissue.screens import frame
from tissue.screens.desk.drawn import HOW_MANY
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.press import press
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import desk
from tissue.screens.fields import inputs
from tissue.screens.html import notes, paragraphs, part, put, strip, style_of, tag
from tissue.screens.kept import kept, outlived, pick
from tissue.screens.parts.chart.chart import Picture, chart, main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan import below, words
from tissue.screens.tables.tradeoffs import measured, thin
from tissue.screens.tradeoffs import map as tradeoff_map
from tissue.screens.tradeoffs import sight
from tissue.screens.tradeoffs.map import Chosen, figure_name
from tissue.screens.tradeoffs.moving import move_plan, moved_and_back

FIRST = "bed_least"
SWEPT = ("zone_mm", "cap_um", "flap_um", "base_um", "sphere_D")
NARROW_PX = 760  # in a narrower column map and lines stand one below the other
HELD = "Every other input is held as in the plan."
WORKING = "Working it out …"
POINTS = 21
SHARES_NOTE = (
    "A share is of the variance, the square of the spread. Of the bed it is exact. Of the strength it is what an error "
    f"explains by itself, the mean in bins of equal count ({HOW_MANY}); the rest only errors together explain."
)
OWN = "own"
INPUTS = Every(lambda traits: traits.searched_fields)
SOUGHT = ("bed_least", "bed", "strength", "altered", "removed", "uncut", "below_line")


def show() -> None:
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        put(words.nothing_yet(on_desk.side, on_desk.code, wrong))
    else:
        stale = words.stale(shown, on_desk.texts[on_desk.side], wrong) if wrong else ""
        _screen(on_desk, shown, colours, words.eye_line(shown, on_desk.side, on_desk.code) + stale)
    inputs.sidebar(on_desk)


def _screen(on_desk: Desk, shown: Shown, colours: Look, head: Markup) -> None:
    """Draw everything that depends on the eye; the line of the eye decides which parts can be seen."""
    top = st.container(key="to_top")
    chosen = _choices(shown)
    names = _names(shown, chosen)
    with top:
        piece("to_eye", head + _only(names))
        moved_and_back(on_desk)
    said = st.empty()
    put(notes(HELD if st.session_state.get("to_names") == names else WORKING), said)
    columns = 2 if main_width() >= NARROW_PX else 1
    left, right = st.columns(2, gap="small") if columns == 2 else (st.container(), st.container())
    with left, st.container(key="to_map_part"):
        tradeoff_map.draw(on_desk, shown, colours, chosen, columns, names["to_map_part"])
    with right, st.container(key="to_lines_part"):
        draw_lines(on_desk, shown, colours, chosen, columns, names["to_lines_part"])
    with st.container(key="to_rest"):
        name = names["to_rest"]
        tables = below.costs(shown) + thin(shown) + measured(shown)
        piece("to_tables", tag("div", tables, data_for=name))
        errors(on_desk, shown, colours, name)
        search_row(on_desk, shown, name)
        sight.show(on_desk, shown, colours, name)
    put(notes(HELD), said)
    st.session_state["to_names"] = names


def _names(shown: Shown, chosen: Chosen) -> dict[str, str]:
    """A name for the input that each part of the screen stands for."""
    eye = (shown.inputs.side, *sorted(shown.texts.items()))
    measure = chosen.measure.id
    parts = {
        "to_map_part": (eye, measure, chosen.option, chosen.pair),
        "to_lines_part": (eye, measure, chosen.field),
        "to_rest": (eye,),
    }
    return {part: f"{hash(key):x}" for part, key in parts.items()}


def _only(names: dict[str, str]) -> Markup:
    """A style that shows a part only while it stands for this input and hides it otherwise."""
    hidden = (f'.st-key-{part} [data-for]:not([data-for="{name}"])' for part, name in names.items())
    return style_of(f"{', '.join(hidden)} {{ visibility: hidden }}")


def _choices(shown: Shown) -> Chosen:
    """What is chosen in the row over map and lines."""
    judgement = shown.comparison.judgement
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        id = pick("to_measure", "Figure", _offered(), lambda one: measures()[one].heading(judgement), 230, FIRST)
        option = pick("to_option", "Option of the map", tuple(HEADS), HEADS.get, 180, first_name("keeps_cap"))
        pair = pick("to_pair", "Inputs of the map", PAIRS, _pair_words, 220)
        levels = tradeoff_map.levels()
        field = pick("to_field", "Input of the lines", SWEPT, lambda one: _capital(input_words(one)), 170)
    measure = replace(measures()[id], label=measures()[id].heading(judgement))
    return Chosen(measure, option, pair, field, levels)


def _offered() -> tuple[str, ...]:
    """Measures that can be varied, in the order of the tables."""
    from tissue.explore.variation import known_measures

    return tuple(id for id, one in measures().items() if one.figure == "strength" or one.figure in known_measures())


def _pair_words(pair: tuple[str, str]) -> str:
    return _capital(" × ".join(map(input_words, pair)))


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def draw_lines(on_desk: Desk, shown: Shown, colours: Look, chosen: Chosen, columns: int, stands_for: str) -> None:
    """All options over one input, spread as bands.

    Args:
        on_desk: Desk; shown: Shown; colours: Look; chosen: Chosen.
        columns: how many charts stand side by side; stands_for: name of the input.
    """
    measure, field = chosen.measure, chosen.field
    planned = {option: float(_value(shown, measure, option)) for option in HEADS}
    name = figure_name(measure, shown.comparison)
    try:
        made = kept("to_sweep", (shown, name, field), lambda: sweep(shown.inputs.values, name, field, number=POINTS))
    except EyeError as error:
        put(strip(f"No lines: {error}"))
        return
    chart(
        "to_lines",
        (shown, measure.label, field, colours.name, stands_for),
        Picture(
            lambda: sweeps.sweep_lines(made, colours, measure, planned),
            lambda: sweeps.describe_sweep(made, measure),
            "all options over one input",
            file=f"{on_desk.code}-{on_desk.side}-lines.svg",
            tall=True,
            stands_for=stands_for,
        ),
        columns=columns,
    )
    banded = any(line.low.size and (line.low == line.low).any() for line in made.lines.values())
    how = (
        "The bands are exact."
        if name in CLOSED
        else f"The bands come from {HOW_MANY}, at each of {made.x.size} places."
    )
    put(
        notes(
            how if banded else "No spread is worked out for this figure.",
            NOT_STUDIED if measure.id in FLAP_SHARES else "",
            words.assumption(shown.comparison) if measure.figure == "strength" else "",
        )
    )


def errors(on_desk: Desk, shown: Shown, colours: Look, stands_for: str) -> None:
    """Show which error matters: exactly for the bed, from draws for the strength."""
    put(part("Which error matters"))
    chart(
        "to_errors",
        (shown, colours.name, stands_for),
        Picture(
            lambda: sweeps.variance_bars(shown.drawn.shares, colours),
            lambda: sweeps.describe_variance(shown.drawn.shares),
            "which error matters",
            file=f"{on_desk.code}-{on_desk.side}-errors.svg",
            tall=True,
            stands_for=stands_for,
        ),
    )
    put(notes(SHARES_NOTE))


def search_row(on_desk: Desk, shown: Shown, stands_for: str) -> None:
    """A row of choices that reads as a question, its answer, and a button that puts what was found into the plan.

    Args:
        on_desk: Desk; shown: Shown.
        stands_for: name of the input.
    """
    put(part("What would give the same, or a value of your own"))
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        option = pick("to_of", "Option", tuple(HEADS), HEADS.get, 180, first_name("keeps_cap"))
        field = pick("to_by", "Input to change", INPUTS[option], lambda one: fields()[one].heading, 230)
        judgement = shown.comparison.judgement
        id = pick("to_gives", "Figure wanted", SOUGHT, lambda one: measures()[one].heading(judgement), 230)
        others = (*(other for other in HEADS if other != option), OWN)
        like = pick("to_like", "The same as", others, _like_words, 200, first_name("lifts_flap"))
        wanted = _own(measures()[id]) if like == OWN else _value(shown, measures()[id], like)
    found = _found(shown, option, field, measures()[id], wanted)
    said = paragraphs(_answer(option, field, measures()[id], like, wanted, found))
    put(tag("div", said, class_="prose answer", role="status", data_for=stands_for))
    if found is not None and found.there:
        # the button puts in the value exactly as it is written in the answer
        value = float(f"{found.value:.4g}")
        label = f"Put {input_words(field)} {value:g} {fields()[field].unit} into the plan"
        press("to_apply", label, move_plan, on_desk, shown, {field: value}, of=(on_desk.id, shown.inputs.side))


def _like_words(like: str) -> str:
    return "a value of my own" if like == OWN else f"{HEADS[like]} as planned"


def _own(measure: Measure) -> Any:
    """The field for a value of the user's own; it is kept when the screen is left."""
    begin: Any = outlived("to_own")
    value = st.number_input(f"Value, {measure.unit}", key="to_own", value=begin, format="%g", width=130)
    st.session_state["to_own_last"] = value
    return value


def _value(shown: Shown, measure: Measure, option: str) -> float:
    """The figure that an option has in the plan."""
    result = shown.comparison.results[option]
    if measure.figure == "strength":
        return float(strength(result, shown.comparison.judgement))
    part_ = result.budget if hasattr(result.budget, measure.figure) else result.spread
    return getattr(part_, measure.figure)


def _found(shown: Shown, option: str, field: str, measure: Measure, wanted: float | None) -> Found | None:
    """What the search finds; None where there is nothing to search for."""
    if wanted is None or np.isnan(wanted):
        return None
    name = figure_name(measure, shown.comparison)
    key = (shown, option, name, float(wanted), field)
    return kept("to_found", key, lambda: seek(shown.inputs.values, option, name, float(wanted), field))


def _answer(option: str, field: str, measure: Measure, like: str, wanted: float | None, found: Found | None) -> str:
    """The answer in words."""
    if found is None:
        return (
            "Enter the value that is wanted." if wanted is None else f"{HEADS[like]} has no such figure in this plan."
        )
    said = found.words(
        fields()[field].heading, lambda value: f"{rounded(value, measure.decimals)} {measure.unit}".strip()
    )
    return f"{HEADS[option]}. {said}"
