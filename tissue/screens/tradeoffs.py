"""Trade-offs: two inputs as a map, one for all options, what a change costs, searches, which error matters."""

from dataclasses import replace

import streamlit as st

from tissue.drawing.maps import input_words
from tissue.drawing.palette import HEADS
from tissue.measures import measures
from tissue.screens import below, frame, inputs, tradeoff_lines, tradeoff_map, words
from tissue.screens.chart import main_width
from tissue.screens.pick import pick
from tissue.screens.piece import piece
from tissue.screens.plain_table import notes
from tissue.screens.state import desk
from tissue.screens.tradeoff_search import search
from tissue.screens.tradeoff_tables import measured, thin
from tissue.tradeoffs import PAIRS

FIRST = "bed_least"
SWEPT = ("zone_mm", "cap_um", "flap_um", "base_um", "sphere_D")
PARTS = ("to_map_part", "to_lines_part", "to_rest")
NARROW_PX = 760  # narrower, map and lines stand one under the other
HELD = "Every other input is held as in the plan."


def show():
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        st.html(words.nothing_yet(on_desk.side, wrong))
    else:
        stale = words.stale(shown, on_desk.texts[on_desk.side], wrong) if wrong else ""
        piece("to_eye", words.eye_line(shown, on_desk.side) + stale)
        tradeoff_map.moved(on_desk)
        _screen(on_desk, shown, colours)
    inputs.sidebar(on_desk)


def _screen(on_desk, shown, colours):
    """Everything that depends on the eye; what is not worked out yet is blank."""
    measure, option, pair, field, levels = _choices(shown)
    place = st.empty()
    known = (shown, measure, option, pair, field)
    waits = list(PARTS) if st.session_state.get("to_known") != known else []
    columns = 2 if main_width() >= NARROW_PX else 1
    left, right = st.columns(2, gap="small") if columns == 2 else (st.container(), st.container())
    _cover(place, waits)
    with left, st.container(key="to_map_part"):
        tradeoff_map.draw(on_desk, shown, colours, measure, option, pair, levels, columns)
    _cover(place, waits[1:])
    with right, st.container(key="to_lines_part"):
        tradeoff_lines.lines(on_desk, shown, colours, measure, field, columns)
    _cover(place, waits[2:])
    with st.container(key="to_rest"):
        piece("to_tables", below.costs(shown) + thin(shown) + measured(shown))
        tradeoff_lines.errors(on_desk, shown, colours)
        search(shown)
    _cover(place, [])
    st.session_state["to_known"] = known


def _cover(place, parts):
    """Hide what stands for another input until it is worked out, and say so."""
    if not parts:
        place.html(notes(HELD))
        return
    hidden = ",".join(
        f".st-key-{part} {one}" for part in parts for one in (".tissue-chart", ".tissue-piece", ".answer")
    )
    place.html(f"<style>{hidden} {{ visibility: hidden }}</style>{notes('Working it out …')}")


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
    from tissue.variation import known_measures

    return tuple(id for id, one in measures().items() if one.figure == "strength" or one.figure in known_measures())


def _pair_words(pair):
    return _capital(" × ".join(map(input_words, pair)))


def _capital(text):
    return text[0].upper() + text[1:]
