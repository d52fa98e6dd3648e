"""The answers of a session as a table, and their count."""

import csv
import io
from collections.abc import Sequence

import numpy as np

from tissue.rounds.judge import Judged
from tissue.series.tables.cells import guarded

Result = tuple[int, int, int, Judged]  # number of the round, its seed, number of the question, and the answer

HEAD = (
    "round",
    "seed",
    "question",
    "kind",
    "eye",
    "given",
    "asked",
    "answered",
    "read",
    "answer",
    "unit",
    "difference",
    "tolerance",
    "result",
)
RIGHT = "Right"  # a number within its tolerance, a choice as the arithmetic has it


def results_csv(results: Sequence[Result]) -> str:
    """The table of a session: a head, then one row for each answer, in their order.

    Args:
        results: of every answer.

    >>> results_csv([]).startswith("round,seed,question,kind,eye,given,asked")
    True
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(HEAD)
    for number, seed, at, judged in results:
        table.writerow((number, seed, at, *_row(judged)))
    return out.getvalue()


def _row(judged: Judged) -> tuple[str, ...]:
    question = judged.question
    given = "; ".join(f"{row.label} {row.text}" for row in question.given)
    asked = (question.kind.title, question.eye, given, question.prompt)
    texts = (*asked, judged.text, judged.read_words, question.answer_words)
    difference = "" if np.isnan(judged.difference) else f"{judged.difference:.3f}"
    tolerance = "" if question.is_choice else f"{question.tolerance:.3f}"
    return (*map(guarded, texts), question.kind.unit, difference, tolerance, judged.words)


def count_words(results: Sequence[Result]) -> str:
    """How many answers are right, in words; empty without an answer.

    Args:
        results: as in `results_csv`.
    """
    judged = [one[-1] for one in results]
    if not judged:
        return ""
    return f"{RIGHT}: {sum(one.within is True for one in judged)} of {len(judged)}."
