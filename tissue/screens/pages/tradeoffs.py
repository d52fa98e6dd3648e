"""Trade-offs: two inputs as a map, one for all options, what a change costs, searches, which error matters."""

from dataclasses import replace

import streamlit as st

from tissue.drawing.base.palette import HEADS
from tissue.drawing.charts.maps import input_words
from tissue.explore.tradeoffs import PAIRS
from tissue.report.measures import measures
from tissue.screens import frame
from tissue.screens.desk import inputs
from tissue.screens.desk.state import desk
from tissue.screens.html import notes
from tissue.screens.parts.chart.chart import main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan import below, words
from tissue.screens.tables.tradeoffs import measured, thin
from tissue.screens.tradeoffs import lines as tradeoff_lines
from tissue.screens.tradeoffs import map as tradeoff_map
from tissue.screens.tradeoffs.pick import pick
from tissue.screens.tradeoffs.search import search

FIRST = "bed_least"
SWEPT = ("zone_mm", "cap_um", "flap_um", "base_um", "sphere_D")
NARROW_PX = 760  # narrower, map and lines stand one under the other
HELD = "Every other input is held as in the plan."
WORKING = "Working it out …"


def show():
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        st.html(words.nothing_yet(on_desk.side, wrong))
    else:
        stale = words.stale(shown, on_desk.texts[on_desk.side], wrong) if wrong else ""
        _screen(on_desk, shown, colours, words.eye_line(shown, on_desk.side) + stale)
    inputs.sidebar(on_desk)


def _screen(on_desk, shown, colours, head):
    """Everything that depends on the eye; with the line of the eye comes which parts may be seen."""
    top = st.container(key="to_top")
    measure, option, pair, field, levels = _choices(shown)
    names = _names(shown, measure.id, option, pair, field)
    with top:
        piece("to_eye", head + _only(names))
        tradeoff_map.moved(on_desk)
    said = st.empty()
    said.html(notes(HELD if st.session_state.get("to_names") == names else WORKING))
    columns = 2 if main_width() >= NARROW_PX else 1
    left, right = st.columns(2, gap="small") if columns == 2 else (st.container(), st.container())
    with left, st.container(key="to_map_part"):
        tradeoff_map.draw(on_desk, shown, colours, measure, option, pair, levels, columns, names["to_map_part"])
    with right, st.container(key="to_lines_part"):
        tradeoff_lines.lines(on_desk, shown, colours, measure, field, columns, names["to_lines_part"])
    with st.container(key="to_rest"):
        name = names["to_rest"]
        tables = below.costs(shown) + thin(shown) + measured(shown)
        piece("to_tables", f'<div data-for="{name}">{tables}</div>')
        tradeoff_lines.errors(on_desk, shown, colours, name)
        search(shown, name)
    said.html(notes(HELD))
    st.session_state["to_names"] = names


def _names(shown, measure, option, pair, field):
    """By part of the screen, a name of the input that it stands for."""
    eye = (shown.inputs.side, *sorted(shown.texts.items()))
    parts = {"to_map_part": (eye, measure, option, pair), "to_lines_part": (eye, measure, field), "to_rest": (eye,)}
    return {part: f"{hash(key):x}" for part, key in parts.items()}


def _only(names):
    """A style by which a part is seen only when it stands for this input; else it is blank."""
    hidden = (f'.st-key-{part} [data-for]:not([data-for="{name}"])' for part, name in names.items())
    return f"<style>{', '.join(hidden)} {{ visibility: hidden }}</style>"


def _choices(shown):
    """Measure, option and inputs of the map, input of the lines, and the values of the contours."""
    judgement = shown.comparison.judgement
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        id = pick("to_measure", "Figure", _offered(), lambda one: measures()[one].heading(judgement), 230, FIRST)
        option = pick("to_option", "Option of the map", tuple(HEADS), HEADS.get, 180, "lenticule")
        pair = pick("to_pair", "Inputs of the map", PAIRS, _pair_words, 220)
        levels = tradeoff_map.levels()
        field = pick("to_field", "Input of the lines", SWEPT, lambda one: _capital(input_words(one)), 170)
    return replace(measures()[id], label=measures()[id].heading(judgement)), option, pair, field, levels


def _offered():
    """Measures that can be varied, in the order of the tables."""
    from tissue.explore.variation import known_measures

    return tuple(id for id, one in measures().items() if one.figure == "strength" or one.figure in known_measures())


def _pair_words(pair):
    return _capital(" × ".join(map(input_words, pair)))


def _capital(text):
    return text[0].upper() + text[1:]
