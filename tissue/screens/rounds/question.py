"""A question as it is shown: what is asked and given, the outcome, the reasons line by line; and all answers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from tissue.entry.fields import measure
from tissue.rounds.line import Line, written
from tissue.rounds.question import Question
from tissue.rounds.results import count_words
from tissue.rounds.slips import slip_words
from tissue.screens.html import NOTHING, hidden_caption, joined, notes, paragraphs, part, scrolled, tag

if TYPE_CHECKING:
    from tissue.rounds.judge import Judged

LONG = 40  # from this many letters on a text is set as running text
DEFAULT_NOTE = "* A default of the tool, or worked out with one."


def head(question: Question, at: int, count: int, turn: str | None = None) -> Markup:
    """The head of a question: where the round stands, the question itself, and what must be said first.

    Args:
        question: Question.
        at: its number, from 1.
        count: of the questions in the round.
        turn: of the focus; None where it goes elsewhere.
    """
    where = f"Question {at} of {count}: ", tag("b", question.kind.title), f", {question.eye}"
    before = tag("p", question.before, class_="round-before") if question.before else NOTHING
    return (
        tag("p", *where, class_="round-at")
        + before
        + tag("h2", question.prompt, class_="asked", tabindex=-1, data_turn=turn)
    )


def given_table(question: Question) -> Markup:
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


def label_line(words: str) -> Markup:
    """Label of several boxes to mark."""
    return tag("p", words, class_="round-label")


def outcome_words(judged: Judged, turn: str | None = None) -> Markup:
    """How the committed answer compares with the arithmetic. Arguments as in `head`."""
    question = judged.question
    lines = [joined("The arithmetic: ", tag("b", question.answer_words))]
    if judged.counts:
        apart = joined(" ", tag("span", f"({_apart(judged)})")) if _apart(judged) else NOTHING
        lines.insert(0, joined("Your answer: ", tag("b", judged.read_words), f", {judged.words}", apart))
    else:
        lines.insert(0, Markup("No answer was given."))
    if said := judged.said or slip_words(judged.slips):
        lines.append(tag("span", said, class_="likely"))
    return tag("div", paragraphs(*lines), class_="round-result", role="status", tabindex=-1, data_turn=turn)


def _apart(judged: Judged) -> str:
    """The difference in words; empty for a choice."""
    question = judged.question
    if question.form == "one" or judged.within and question.is_choice:
        return ""
    if question.form == "some":
        return f"marks that differ: {judged.difference:.0f} of {len(question.choices)}"
    decimals = max(question.kind.decimals, 2 if question.form == "refraction" else 1)
    unit = "points" if question.kind.unit == "%" else question.kind.unit
    return "apart " + measure(written(judged.difference, decimals, signed=question.form != "refraction"), unit)


def arithmetic(question: Question) -> Markup:
    """The arithmetic line by line, how far an answer may be off, and the source."""
    lines = [line for line in question.lines if not line.beside]
    beside = [line for line in question.lines if line.beside]
    result = None if question.form == "some" else lines[-1]
    rows = [_row(line, "result" if line is result else "") for line in lines]
    if beside:
        rows.append(tag("tr", tag("td"), tag("td", "Beside it", colspan=3), class_="beside-head"))
        rows += [_row(line, "beside") for line in beside]
    table = tag("table", hidden_caption("Why, line by line"), tag("tbody", *rows), class_="plain sum")
    rounded = "Each figure is rounded by itself: a sum may seem to miss by 1 in its last digit."
    summed = any(line.sign == "=" for line in lines)
    said = notes(question.tolerance_words, rounded if summed else "", *question.kind.origins)
    return part("Why: the arithmetic line by line") + scrolled(table) + said


def _row(line: Line, kind: str) -> Markup:
    """A line: sign, words, figure and unit; a text takes the place of both."""
    sign = line.written_sign
    words = joined(line.words, _formula(line))
    if not line.figure:
        said = [tag("td", words, colspan=3)]
    elif line.text:
        said = [tag("td", words), tag("td", line.text, colspan=2)]
    else:
        said = [tag("td", words), tag("td", line.figure, class_="number"), tag("td", line.unit, class_="unit")]
    return tag("tr", tag("td", sign), *said, class_=kind)


def _formula(line: Line) -> Markup:
    """The formula of a line, and the same with the figures of this eye; nothing where the value is only read."""
    if not line.formula:
        return NOTHING
    both = (line.formula_words, line.numbers) if line.put else (line.formula_words,)
    return tag("div", *(tag("div", words) for words in both), class_="by")


def answers(results: list[tuple[int, int, int, Judged]]) -> Markup:
    """The answers of the session, the latest first, and their count.

    Args:
        results: (number of the round, seed, number of the question, Judged) of every answer.
    """
    title = "Answers of this session"
    words = ("", "Question", "Your answer", "Arithmetic", "Result")
    head = tag("thead", tag("tr", *(tag("th", word, scope="col") for word in words)))
    body = tag("tbody", *(_answered(*one) for one in reversed(results)))
    table = tag("table", hidden_caption(title), head, body, class_="plain answers")
    return part(title) + notes(count_words(results)) + scrolled(table)


def _answered(number: int, seed: int, at: int, judged: Judged) -> Markup:
    """A row of an answer; a refraction in one form, on one line."""
    question = judged.question
    tight = "tight" if question.form == "refraction" else None
    cells = judged.read_words or "–", question.answer_words.split(" = ")[0]
    both = (tag("td", words, class_=tight) for words in cells)
    said = tag("td", "no answer" if not judged.counts else "right" if judged.within else "not right")
    return tag("tr", tag("td", f"{number}.{at}"), tag("td", question.kind.title), *both, said)
