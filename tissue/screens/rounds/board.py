"""What stands on the Rounds screen as HTML: question, what is given, arithmetic line by line, answers so far."""

from html import escape

from tissue.entry.fields import measure
from tissue.rounds.question import BESIDE, written
from tissue.rounds.results import count_words
from tissue.screens.html import notes, part

LONG = 40  # letters of a text that is set as running text
DEFAULT_NOTE = "* A default of the tool."


def head(question, at, count):
    """Where the round stands, the question, and what must be said before it.

    Args:
        question: Question.
        at: its number, from 1.
        count: of the questions in the round.
    """
    where = f"Question {at} of {count}: <b>{escape(question.kind.title)}</b>, {escape(question.eye)}"
    before = f'<p class="round-before">{escape(question.before)}</p>' if question.before else ""
    return f'<p class="round-at">{where}</p>{before}<h2 class="asked">{escape(question.prompt)}</h2>'


def given(question):
    """Table of what is given, its defaults marked."""
    rows = ""
    for row in question.given:
        kind = ' class="long"' if len(row.text) > LONG else ""
        mark = "<sup>*</sup>" if row.default else ""
        rows += f'<tr><th scope="row">{escape(row.label)}</th><td{kind}>{escape(row.text)}{mark}</td></tr>'
    defaults = DEFAULT_NOTE if any(row.default for row in question.given) else ""
    reported = f"The eye was reported in: {question.reported}." if question.reported else ""
    caption = '<caption class="unseen-text">What is given</caption>'
    table = f'<div class="scroll"><table class="plain given">{caption}<tbody>{rows}</tbody></table></div>'
    return table + notes(defaults, reported)


def label(words):
    """Label of several boxes to mark."""
    return f'<p class="round-label">{escape(words)}</p>'


def outcome(judged):
    """How the committed answer lies to the arithmetic."""
    question = judged.question
    lines = [f"The arithmetic: <b>{escape(question.answer_words)}</b>"]
    if judged.counts:
        apart = f" <span>({escape(_apart(judged))})</span>" if _apart(judged) else ""
        lines.insert(0, f"Your answer: <b>{escape(judged.read_words)}</b>, {escape(judged.words)}{apart}")
    else:
        lines.insert(0, "No answer was given.")
    if judged.said:
        lines.append(f"Your answer is {escape(judged.said)}.")
    return '<div class="round-result" role="status">' + "".join(f"<p>{line}</p>" for line in lines) + "</div>"


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
    rows = "".join(_row(line, "result" if line is result else "") for line in lines)
    if beside:
        rows += '<tr class="beside-head"><td></td><td colspan="3">Beside it</td></tr>'
        rows += "".join(_row(line, "beside") for line in beside)
    caption = '<caption class="unseen-text">The arithmetic line by line</caption>'
    table = f'<div class="scroll"><table class="plain sum">{caption}<tbody>{rows}</tbody></table></div>'
    rounded = "Each figure is rounded by itself: a sum may seem to miss by 1 in its last digit."
    summed = any(line.sign == "=" for line in lines)
    said = notes(question.tolerance_words, rounded if summed else "", *_sources(question))
    return part("The arithmetic") + table + said


def _row(line, kind):
    """A line: sign, words, figure and unit; a text takes the place of both."""
    sign = "" if line.sign == BESIDE else line.sign
    begin = f'<tr class="{kind}"><td>{sign}</td>'
    if not line.figure:
        return f'{begin}<td colspan="3">{escape(line.words)}</td></tr>'
    if line.text:
        return f'{begin}<td>{escape(line.words)}</td><td colspan="2">{escape(line.text)}</td></tr>'
    unit = f'<td class="unit">{escape(line.unit)}</td>'
    return f'{begin}<td>{escape(line.words)}</td><td class="number">{line.figure}</td>{unit}</tr>'


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
    rows = "".join(_answered(*one) for one in reversed(results))
    heads = "".join(
        f'<th scope="col">{word}</th>' for word in ("", "Question", "Your answer", "Arithmetic", "Tolerance")
    )
    caption = '<caption class="unseen-text">Answers of this session</caption>'
    table = f'<table class="plain answers">{caption}<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>'
    return part("Answers of this session") + notes(count_words(results)) + f'<div class="scroll">{table}</div>'


def _answered(number, seed, at, judged):
    """A row of an answer; a refraction in one form, on one line."""
    question = judged.question
    tight = ' class="tight"' if question.form == "refraction" else ""
    cells = judged.read_words or "–", question.answer_words.split(" = ")[0]
    both = "".join(f"<td{tight}>{escape(words)}</td>" for words in cells)
    said = escape(judged.words.removesuffix(" the tolerance"))
    return f"<tr><td>{number}.{at}</td><td>{escape(question.kind.title)}</td>{both}<td>{said}</td></tr>"
