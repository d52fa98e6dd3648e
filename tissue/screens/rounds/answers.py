"""The answers of a session as a table."""

from markupsafe import Markup

from tissue.rounds.judge import Judged
from tissue.rounds.results import count_words
from tissue.screens.html import hidden_caption, notes, part, scrolled, tag


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
