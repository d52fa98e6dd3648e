"""The figures of a study for print: distributions, agreement and comparison as SVG, PDF and PNG."""

from collections.abc import Callable
from typing import Any

from tissue.drawing.base.palette import HEADS, look
from tissue.drawing.charts.distributions import histogram
from tissue.drawing.charts.study import agreement_chart, comparison_chart
from tissue.ground.vocabulary import Array
from tissue.paper.chart.chart import printed
from tissue.paper.chart.inks import INKS
from tissue.report.measures import measures
from tissue.series.finished import Series
from tissue.series.study import comparison
from tissue.series.study.agreement import agreement
from tissue.series.study.comparison import Difference
from tissue.series.study.dictionary import titled
from tissue.series.study.question import Pair, Question, numbers
from tissue.series.study.results import analysed, asked_cohort, comparison_rows

SHOWN = ("bed", "bed_least", "removed", "altered")
TESTS = {comparison.BETWEEN: "", comparison.WITHIN: ", fellow eyes"}


def study_prints(series: Series, question: Question) -> dict[str, bytes]:
    """Every figure of a study, {name: bytes}: each as SVG, PDF and PNG of 600 dpi, on white.

    Args:
        series: Series with the columns that the question needs.
        question: Question.
    """
    found: dict[str, bytes] = {}
    for name, (title, build) in figures_of(series, question).items():
        figure = build()
        found |= {f"{name}.{kind}": printed(figure, kind, title) for kind in INKS}
    return found


def figures_of(series: Series, question: Question) -> dict[str, tuple[str, Callable[[], dict]]]:
    """The figures to draw by file name: a title and a function that gives the plain figure."""
    found: dict[str, tuple[str, Callable[[], dict]]] = {}
    eyes, (_, patients) = asked_cohort(series, question), analysed(series, question)
    for key in SHOWN:
        measure = measures()[key]
        title = f"{measure.label}, {measure.unit}"
        columns: dict[str, Any] = {name: series.numbers(f"{name}_{measure.figure}")[eyes.rows] for name in HEADS}
        found[f"distribution-{measure.figure}"] = title, _histogram(columns, title, patients)
    for i, pair in enumerate(question.pairs, 1):
        planned, measured = (numbers(series, question, name, "--agree")[eyes.rows] for name in pair)
        found[f"agreement-{i}"] = (
            f"Agreement of {titled(pair.measured)} with {titled(pair.planned)}",
            _agreement(planned, measured, eyes.patients, pair),
        )
    rows = comparison_rows(series, question)
    for i, column in enumerate(question.compared, 1):
        mine = [drawn_row(row) for row in rows if row[0] == column]
        found[f"comparison-{i}"] = f"Comparison of {titled(column)}", _comparison(mine, column)
    return found


def _histogram(columns: dict[str, Any], title: str, patients: int | None) -> Callable[[], dict]:
    return lambda: histogram(columns, look("light"), title, patients)


def _agreement(planned: Array, measured: Array, patients: Any, pair: Pair) -> Callable[[], dict]:
    return lambda: agreement_chart(
        planned,
        measured,
        agreement(planned, measured, patients),
        look("light"),
        (titled(pair.planned), titled(pair.measured)),
    )


def _comparison(rows: list[tuple[str, Difference]], column: str) -> Callable[[], dict]:
    return lambda: comparison_chart(rows, look("light"), titled(column))


def drawn_row(row: tuple[Any, ...]) -> tuple[str, Difference]:
    """A row of the comparison in words, with the test where it is not that of the groups themselves; its Difference."""
    _, first, second, *figures = row
    found = Difference(*figures)
    test = TESTS.get(found.method, "" if found.method.startswith("no ") else ", adjusted")
    return f"{second} less {first}{test}", found
