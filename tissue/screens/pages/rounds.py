"""Rounds: questions for a fellow, who commits an answer before the arithmetic appears line by line."""

from typing import Any

import streamlit as st

from tissue.drawing.base.palette import Look
from tissue.drawing.section import section
from tissue.rounds.judge import judge, unanswered
from tissue.rounds.question import Question
from tissue.rounds.results import count_words, results_csv
from tissue.screens import frame
from tissue.screens.desk.link import CSV, hand
from tissue.screens.desk.press import clicked, press
from tissue.screens.html import notes, part, prose, put, strip, style_of, tag, title_line
from tissue.screens.parts.chart.chart import Picture, chart, main_width
from tissue.screens.parts.component import text
from tissue.screens.parts.focus.focus import focus
from tissue.screens.plan.views import DRAWN, FLAT, drawn_view
from tissue.screens.rounds.question import answers, arithmetic, given_table, head, label_line, outcome_words
from tissue.screens.rounds.record import save_record, score
from tissue.screens.rounds.session import Session, session
from tissue.screens.rounds.setup import setup
from tissue.screens.tables.options import heads

LEAD = (
    "A question about an eye, your answer, then the arithmetic with its source. The figures are those of this tool for "
    "the eye that is shown; they say nothing of whether to operate. What is answered stays in this session until the "
    "page is closed."
)
ASKED_FOR = {
    "number": "Your answer, {unit}",
    "power": "Your answer, {unit}, with its sign",
    "axis": "Your answer, {unit}, 1 to 180",
    "refraction": "Your answer: sphere, cylinder and axis, as in −5.00 −0.75 × 12",
    "one": "Your answer, one of these",
    "some": "Your answer, every one that holds",
}


def show() -> None:
    """Draw the screen."""
    colours = frame.begin()
    put(style_of(text("styles/rounds.css")))
    put(title_line("Rounds", "questions for a fellow, answered before the arithmetic"))
    own = session()
    if not own.questions:
        put(notes(LEAD))
    with st.container(key="rounds_body"):
        if own.results:
            left, right = st.columns([2.1, 1], gap="medium")
            with right:
                _answers(own)
        else:
            left = st.container()
        with left:
            _now(own)
    focus("rounds_focus", own.turn)
    if own.judged is not None:
        _picture(own, colours)


def _now(own: Session) -> None:
    """The setup, a question, or the end of a round."""
    if not own.questions:
        setup(own)
    elif own.question is None:
        _end(own)
    elif own.judged is None:
        _ask(own)
    else:
        _reveal(own)


def _ask(own: Session) -> None:
    """The question with what is given, and the place for the answer."""
    question: Any = own.question  # called only while there is a question
    put(head(question, own.at + 1, len(own.questions), own.turn) + given_table(question))
    if own.fault:
        put(strip(f"{own.fault[0].upper()}{own.fault[1:]}."))
    with st.form(f"rounds_form_{own.number}_{own.at}", border=False):
        keys = _answer(own, question)
        with st.container(horizontal=True, vertical_alignment="center"):
            st.form_submit_button(
                "Commit the answer",
                type="primary",
                key="rounds_commit",
                on_click=clicked,
                args=("rounds_commit", _commit, keys),
            )
            st.form_submit_button(
                "No answer: show the arithmetic",
                key="rounds_quiet",
                type="tertiary",
                on_click=clicked,
                args=("rounds_quiet", _give_up),
            )
    _leave(own)


def _answer(own: Session, question: Question) -> dict[str, str | None]:
    """Draw the fields of an answer; returns their keys, and for choices the choice too."""
    label = ASKED_FOR[question.form].format(unit=question.kind.unit)
    label += ", with a minus where it lies under" if question.signed and question.form == "number" else ""
    key = f"rounds_answer_{own.number}_{own.at}"
    if question.form == "one":
        st.radio(label, question.choices, index=None, key=key)
    elif question.form == "some":
        put(label_line(label))
        with st.container(gap=None):
            for i, choice in enumerate(question.choices):
                st.checkbox(choice, key=f"{key}_{i}")
        return {f"{key}_{i}": choice for i, choice in enumerate(question.choices)}
    else:
        st.text_input(label, own.draft, key=key, autocomplete="off")
    return {key: None}


def _commit(keys: dict[str, Any]) -> None:
    """Take the answer over before anything is drawn."""
    own = session()
    if own.question is None:
        return
    marked = [choice for key, choice in keys.items() if choice is not None and st.session_state.get(key)]
    written = [st.session_state.get(key) or "" for key, choice in keys.items() if choice is None]
    own.commit(judge(own.question, written[0] if written else marked))


def _give_up() -> None:
    """Show the arithmetic without an answer."""
    own = session()
    if own.question is not None:
        own.commit(unanswered(own.question))


def _reveal(own: Session) -> None:
    """Show the committed answer, the arithmetic line by line, and the button to go on."""
    judged: Any = own.judged  # shown only once there is one
    question = judged.question
    put(head(question, own.at + 1, len(own.questions)) + given_table(question) + outcome_words(judged, own.turn))
    put(arithmetic(question))
    last = own.at + 1 == len(own.questions)
    label = "To the end of the round" if last else "Next question"
    press("rounds_next", label, own.go_on, question, type="primary")
    if not last:
        _leave(own)


def _leave(own: Session) -> None:
    with st.container(key="rounds_leave"):
        press("rounds_end", "End this round", own.leave, type="tertiary")


def _end(own: Session) -> None:
    """Show the count of the round at its end."""
    put(tag("h2", "The round is at its end", class_="part", tabindex=-1, data_turn=own.turn))
    seed = f"Seed {own.seed}: with the same eyes, kinds and number of questions it makes this round again."
    put(prose(count_words(own.mine)) + score(own, own.mine) + notes("" if own.again else seed))
    wrong = sum(not judged.within for *_, judged in own.mine)
    with st.container(horizontal=True, vertical_alignment="center"):
        press("rounds_again", "Another round", own.leave, type="primary")
        if wrong:
            press("rounds_retry", f"Ask again what was not right: {wrong}", own.retry)


def _answers(own: Session) -> None:
    """The answers of the session, their table as a file, and the record of learning."""
    put(answers(own.results))
    hand("rounds_csv", "Results as CSV", lambda _: ("rounds-results.csv", CSV, results_csv(own.results).encode()))
    save_record(own)


def _picture(own: Session, colours: Look) -> None:
    """The sections of the eye that was asked about, with their dimension lines; never before the answer."""
    judged: Any = own.judged  # shown only once there is one
    question, width = judged.question, main_width()
    if question.shows is None:
        return
    view = drawn_view(FLAT)
    draw, say = DRAWN[view]
    put(part("The eye of this question"))
    if view == FLAT:
        put(heads(width < section.NARROW_PX))
    chart(
        "rounds_sections",
        (question, colours.name),
        Picture(
            lambda: draw(question.shows, question.side, colours, spread=question.kind.id == "chance", width_px=width),
            lambda: say(question.shows, question.side),
            "sections of the eye",
            file="rounds-sections.svg",
            tall=view != FLAT,
        ),
    )
