"""Explain: the screen that is turned to the patient; one way, one eye, four steps, in everyday words."""

from datetime import date
from functools import cache
from typing import Any

import streamlit as st

from tissue.drawing.patient import bars as explain_bars
from tissue.drawing.patient import picture as explain
from tissue.drawing.patient.steps import pictures
from tissue.drawing.patient.words import PAGE, STEPS, WAYS, story
from tissue.entry.file_name import file_name
from tissue.screens import frame
from tissue.screens.desk.link import PDF, NotMade, hand, sound
from tissue.screens.desk.state import SIDES, desk
from tissue.screens.html import NOTHING, paragraphs, put, strip, style_of, tag
from tissue.screens.kept import kept, stand
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.parts.component import text
from tissue.screens.parts.piece.piece import piece
from tissue.screens.parts.steps_list.steps_list import steps_list

PICTURE_PX, BARS_PX = explain.WIDTH_PX, explain_bars.WIDTH_PX


def show():
    """Draw the screen."""
    colours = frame.begin()
    put(_style())
    on_desk, chosen = desk(), _chosen()
    with st.container(key="explain"):
        _top(on_desk, chosen)
        shown, wrong = on_desk.figures(on_desk.side)
        piece("explain_stale", strip(PAGE["stale"]) if wrong and shown else NOTHING)
        if shown is None:
            piece("explain_empty", strip(PAGE["empty"]))
            return
        told = story(shown.comparison, chosen["way"])
        _steps(on_desk, shown, told, chosen, colours)
        _rest(shown, told, chosen, colours)


@cache
def _style():
    """The style sheet of this screen."""
    return style_of(text("styles/explain.css"))


def _chosen():
    """The way and the step that are looked at; they outlive a change of screen."""
    return st.session_state.setdefault("explain", {"way": next(iter(WAYS)), "step": 0})


def _top(on_desk, chosen):
    """Whose eye, and which way."""
    with st.container(horizontal=True, vertical_alignment="center", key="explain_top"):
        piece("explain_title", tag("h1", PAGE["title"].format(eye=PAGE["eyes"][on_desk.side])))
        place: dict[str, Any] = {"required": True, "label_visibility": "collapsed"}
        stand("explain_eye", on_desk.side)
        eyes = {side: words[0].upper() + words[1:] for side, words in PAGE["eyes"].items()}
        st.segmented_control(
            "Eye", list(SIDES), format_func=eyes.__getitem__, key="explain_eye", on_change=_eye, **place
        )
        stand("explain_way", chosen["way"])
        st.segmented_control(
            "Way", list(WAYS), format_func=WAYS.__getitem__, key="explain_way", on_change=_way, **place
        )


def _eye():
    desk().look_at(st.session_state["explain_eye"])


def _way():
    _chosen()["way"] = st.session_state["explain_way"]


def _step(at):
    _chosen()["step"] = at


def _steps(on_desk, shown, told, chosen, colours):
    """The large picture, and beside it the steps."""
    at = min(chosen["step"], len(told.steps) - 1)
    way, step, side = chosen["way"], STEPS[at], on_desk.side
    with st.container(horizontal=True, key="explain_row"):
        with st.container(width=PICTURE_PX, key="explain_picture"):
            chart(
                "explain_section",
                (shown, side, way, step, colours.name),
                Picture(
                    lambda: explain.step_section(shown.comparison, side, way, step, colours, _pictures(shown, way)),
                    lambda: explain.describe_section(shown.comparison, side, way, step),
                    f"{told.name}, {told.steps[at][0]}",
                    fixed=True,
                ),
            )
        with st.container(width="stretch", key="explain_steps_box"):
            steps_list("explain_steps", told.steps, at, _step)
            piece("explain_why", paragraphs(told.why_not))
            _handout(on_desk)


def _pictures(shown, way):
    """The pictures of all steps, worked out once for an eye and a way."""
    return kept("explain", (shown, way), lambda: pictures(shown.comparison, way))


def _rest(shown, told, chosen, colours):
    """How thick that is, what is known and what is not, what to ask, the handout."""
    with st.container(horizontal=True, key="explain_rest"):
        with st.container(width=BARS_PX, key="explain_bars"):
            piece("explain_bars_head", _words(_head("bars")))
            chart(
                "explain_bars",
                (shown, chosen["way"], colours.name),
                Picture(
                    lambda: explain_bars.bars(shown.comparison, chosen["way"], colours),
                    lambda: explain_bars.describe_bars(shown.comparison, chosen["way"]),
                    PAGE["bars"],
                    fixed=True,
                ),
            )
        with st.container(width="stretch", key="explain_known"):
            known = _head("known") + paragraphs(*told.known)
            piece("explain_known", _words(known + _head("unknown") + paragraphs(told.unknown)))
        with st.container(width="stretch", key="explain_ask"):
            asked = tag("ul", *(tag("li", question) for question in told.questions))
            piece(
                "explain_ask",
                _words(_head("questions"), asked, _head("missing"), paragraphs(told.missing)),
            )


def _head(name):
    return tag("h2", PAGE[name])


def _words(*parts):
    return tag("div", *parts, class_="explain-words")


def _handout(on_desk):
    """The page for both eyes, in the way that is looked at."""
    with st.container(horizontal=True, vertical_alignment="center", key="explain_handout"):
        hand("explain_page", PAGE["handout"], handout_file)
        if on_desk.invented:
            put(tag("div", PAGE["invented"], class_="explain-invented"))


def handout_file(on_desk):
    """The handout as a file, in the patient's words where it cannot be made."""
    from tissue.paper.handout import handout

    wrong = [PAGE["eyes"][side] for side in SIDES if on_desk.texts.get(side) and on_desk.figures(side)[1]]
    if wrong:
        raise NotMade(PAGE["no_page"].format(eyes=" and the ".join(wrong)))
    way = _chosen()["way"]
    eyes = {side: shown.comparison for side, shown in sound(on_desk).items()}
    name = file_name(f"{on_desk.code or 'plan'}-handout-{way}", ".pdf")
    return name, PDF, handout(on_desk.code, eyes, way, str(date.today()), on_desk.invented)
