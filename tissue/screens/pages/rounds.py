"""Rounds: questions for a fellow; the answer is committed before the arithmetic appears line by line."""

from dataclasses import dataclass, field

import streamlit as st

from tissue.entry.fields import measure
from tissue.rounds.judge import judge, unanswered
from tissue.rounds.question import BESIDE, written
from tissue.rounds.results import count_words, results_csv
from tissue.screens import frame
from tissue.screens.desk.link import CSV, hand
from tissue.screens.html import (
    NOTHING,
    hidden_caption,
    joined,
    notes,
    paragraphs,
    part,
    prose,
    put,
    scrolled,
    strip,
    style_of,
    tag,
    title_line,
)
from tissue.screens.parts.chart.chart import Picture, chart, main_width
from tissue.screens.parts.component import text
from tissue.screens.plan.views import DRAWN, FLAT, drawn_view
from tissue.screens.rounds.setup import INVENTED, next_seed, setup

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
LONG = 40  # letters of a text that is set as running text
DEFAULT_NOTE = "* A default of the tool, or worked out with one."


@dataclass(eq=False)
class Session:
    """The rounds of a session; it outlives a change of screen.

    chosen: eyes and kinds. file: name and Cases of the plan file taken last. questions: of the round that runs; empty
    where none does. at: number of the one on the screen, from 0. number, seed: of the round. results: (number of the
    round, seed, number of the question, Judged). draft: an answer that could not be read, as it was written; fault:
    why.
    """

    chosen: dict = field(default_factory=lambda: {"eyes": [INVENTED], "kinds": []})
    file: tuple = ("", ())
    questions: tuple = ()
    at: int = 0
    number: int = 0
    seed: int = 0
    results: list = field(default_factory=list)
    draft: str = ""
    fault: str = ""

    def begin(self, questions, seed):
        """Begin a round of these questions."""
        self.questions, self.seed, self.at = questions, seed, 0
        self.number += 1
        self.draft = self.fault = ""

    @property
    def question(self):
        """The question on the screen; None where no round runs or it is at its end."""
        return self.questions[self.at] if self.at < len(self.questions) else None

    @property
    def judged(self):
        """The answer to the question on the screen once it is committed, else None."""
        place = (self.number, self.at + 1)
        return next((one for number, _, at, one in reversed(self.results) if (number, at) == place), None)

    def commit(self, judged):
        """Commit an answer that could be read, or that there is none; what is committed stays as it is."""
        if self.question is not judged.question or self.judged is not None:
            return
        if judged.fault:
            self.draft, self.fault = judged.text, judged.words
            return
        self.results.append((self.number, self.seed, self.at + 1, judged))
        self.draft = self.fault = ""

    def go_on(self):
        """Go on to the next question."""
        self.at += 1

    def leave(self):
        """End the round; what was answered stays."""
        next_seed(self.seed)
        self.questions, self.at = (), 0
        self.draft = self.fault = ""


def session():
    """The Session of this browser session."""
    return st.session_state.setdefault("rounds", Session())


def show():
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
    if own.judged is not None:
        _picture(own, colours)


def _now(own):
    """The setup, a question, or the end of a round."""
    if not own.questions:
        setup(own)
    elif own.question is None:
        _end(own)
    elif own.judged is None:
        _ask(own)
    else:
        _reveal(own)


def _ask(own):
    """The question with what is given, and the place for the answer."""
    question = own.question
    put(head(question, own.at + 1, len(own.questions)) + given_table(question))
    if own.fault:
        put(strip(f"{own.fault[0].upper()}{own.fault[1:]}."))
    with st.form(f"rounds_form_{own.number}_{own.at}", border=False):
        keys = _answer(own, question)
        with st.container(horizontal=True, vertical_alignment="center"):
            st.form_submit_button(
                "Commit the answer", type="primary", key="rounds_commit", on_click=_commit, args=(keys,)
            )
            st.form_submit_button(
                "No answer: show the arithmetic", key="rounds_quiet", type="tertiary", on_click=_give_up
            )
    _leave(own)


def _answer(own, question):
    """The fields of an answer; returns their keys, those of choices with the choice."""
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


def _commit(keys):
    """Take the answer over before anything is drawn."""
    own = session()
    if own.question is None:
        return
    marked = [choice for key, choice in keys.items() if choice is not None and st.session_state.get(key)]
    written = [st.session_state.get(key) or "" for key, choice in keys.items() if choice is None]
    own.commit(judge(own.question, written[0] if written else marked))


def _give_up():
    """The arithmetic without an answer."""
    own = session()
    if own.question is not None:
        own.commit(unanswered(own.question))


def _reveal(own):
    """The committed answer, the arithmetic line by line, and the way on."""
    judged = own.judged
    question = judged.question
    put(head(question, own.at + 1, len(own.questions)) + given_table(question) + outcome_words(judged))
    put(arithmetic(question))
    last = own.at + 1 == len(own.questions)
    st.button(
        "To the end of the round" if last else "Next question", type="primary", key="rounds_next", on_click=own.go_on
    )
    if not last:
        _leave(own)


def _leave(own):
    with st.container(key="rounds_leave"):
        st.button("End this round", key="rounds_end", type="tertiary", on_click=own.leave)


def _end(own):
    """The count of the round."""
    mine = [one for one in own.results if one[0] == own.number]
    fewer = f"Seed {own.seed}: with the same eyes, kinds and number of questions it makes this round again."
    put(part("The round is at its end") + prose(count_words(mine)) + notes(fewer))
    st.button("Another round", type="primary", key="rounds_again", on_click=own.leave)


def _answers(own):
    """The answers of the session, and their table as a file."""
    put(answers(own.results))
    hand("rounds_csv", "Results as CSV", lambda _: ("rounds-results.csv", CSV, results_csv(own.results).encode()))


def _picture(own, colours):
    """The sections of the eye that was asked about, with their dimension lines; never before the answer."""
    question, width = own.judged.question, main_width()
    if question.shows is None:
        return
    view = drawn_view(FLAT)
    draw, say = DRAWN[view]
    put(part("The eye of this question"))
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


def head(question, at, count):
    """Where the round stands, the question, and what must be said before it.

    Args:
        question: Question.
        at: its number, from 1.
        count: of the questions in the round.
    """
    where = f"Question {at} of {count}: ", tag("b", question.kind.title), f", {question.eye}"
    before = tag("p", question.before, class_="round-before") if question.before else NOTHING
    return tag("p", *where, class_="round-at") + before + tag("h2", question.prompt, class_="asked")


def given_table(question):
    """Table of what is given, its defaults marked."""
    rows = []
    for row in question.given:
        mark = tag("sup", "*") if row.default else NOTHING
        cell = tag("td", row.text, mark, class_="long" if len(row.text) > LONG else None)
        rows.append(tag("tr", tag("th", row.label, scope="row"), cell))
    defaults = DEFAULT_NOTE if any(row.default for row in question.given) else ""
    reported = f"The eye was reported in: {question.reported}." if question.reported else ""
    table = tag("table", hidden_caption("What is given"), tag("tbody", *rows), class_="plain given")
    return scrolled(table) + notes(defaults, reported)


def label_line(words):
    """Label of several boxes to mark."""
    return tag("p", words, class_="round-label")


def outcome_words(judged):
    """How the committed answer lies to the arithmetic."""
    question = judged.question
    lines = [joined("The arithmetic: ", tag("b", question.answer_words))]
    if judged.counts:
        apart = joined(" ", tag("span", f"({_apart(judged)})")) if _apart(judged) else NOTHING
        lines.insert(0, joined("Your answer: ", tag("b", judged.read_words), f", {judged.words}", apart))
    else:
        lines.insert(0, "No answer was given.")
    if judged.said:
        lines.append(f"Your answer is {judged.said}.")
    return tag("div", paragraphs(*lines), class_="round-result", role="status")


def _apart(judged):
    """The difference in words; empty for a choice."""
    question = judged.question
    if question.form == "one":
        return ""
    if question.form == "some":
        return f"marks that differ: {judged.difference:.0f} of {len(question.choices)}"
    decimals = max(question.kind.decimals, 2 if question.form == "refraction" else 1)
    unit = "points" if question.kind.unit == "%" else question.kind.unit
    return "apart " + measure(written(judged.difference, decimals, signed=question.form != "refraction"), unit)


def arithmetic(question):
    """The arithmetic line by line, how far an answer may lie from it, and where it comes from."""
    lines = [line for line in question.lines if line.sign != BESIDE]
    beside = [line for line in question.lines if line.sign == BESIDE]
    result = None if question.form == "some" else lines[-1]
    rows = [_row(line, "result" if line is result else "") for line in lines]
    if beside:
        rows.append(tag("tr", tag("td"), tag("td", "Beside it", colspan=3), class_="beside-head"))
        rows += [_row(line, "beside") for line in beside]
    table = tag("table", hidden_caption("The arithmetic line by line"), tag("tbody", *rows), class_="plain sum")
    rounded = "Each figure is rounded by itself: a sum may seem to miss by 1 in its last digit."
    summed = any(line.sign == "=" for line in lines)
    said = notes(question.tolerance_words, rounded if summed else "", *_sources(question))
    return part("The arithmetic") + scrolled(table) + said


def _row(line, kind):
    """A line: sign, words, figure and unit; a text takes the place of both."""
    sign = "" if line.sign == BESIDE else line.sign
    if not line.figure:
        said = [tag("td", line.words, colspan=3)]
    elif line.text:
        said = [tag("td", line.words), tag("td", line.text, colspan=2)]
    else:
        said = [tag("td", line.words), tag("td", line.figure, class_="number"), tag("td", line.unit, class_="unit")]
    return tag("tr", tag("td", sign), *said, class_=kind)


def _sources(question):
    """Where a question comes from, a line each."""
    if question.kind.basis:
        return (question.kind.basis,)
    return tuple(f"Source: {citation}." for citation in question.kind.citations)


def answers(results):
    """The answers of the session, the latest first, and their count.

    Args:
        results: (number of the round, seed, number of the question, Judged) of every answer.
    """
    title = "Answers of this session"
    words = ("", "Question", "Your answer", "Arithmetic", "Tolerance")
    head = tag("thead", tag("tr", *(tag("th", word, scope="col") for word in words)))
    body = tag("tbody", *(_answered(*one) for one in reversed(results)))
    table = tag("table", hidden_caption(title), head, body, class_="plain answers")
    return part(title) + notes(count_words(results)) + scrolled(table)


def _answered(number, seed, at, judged):
    """A row of an answer; a refraction in one form, on one line."""
    question = judged.question
    tight = "tight" if question.form == "refraction" else None
    cells = judged.read_words or "–", question.answer_words.split(" = ")[0]
    both = (tag("td", words, class_=tight) for words in cells)
    said = tag("td", judged.words.removesuffix(" the tolerance"))
    return tag("tr", tag("td", f"{number}.{at}"), tag("td", question.kind.title), *both, said)
