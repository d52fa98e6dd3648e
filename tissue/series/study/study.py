"""Works out a series and answers a question about it; files are written only when all of them can be."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from tissue.series.finished import Series, column_names, load_series
from tissue.series.names import OWN
from tissue.series.report import MEASURES, summary_bytes
from tissue.series.run import run
from tissue.series.study.bundle import Made, write_bundle
from tissue.series.study.question import Question
from tissue.series.study.results import AGREEMENT, COMPARISON, agreement_rows, analysed, comparison_rows, table_bytes
from tissue.series.tables.header import EXTRA, Assigned, Column
from tissue.series.working import Summary, sha256_of, whole_table


def study(
    chosen: Any,
    mapping: Mapping[str, Assigned] | None,
    columns: Sequence[Column],
    question: Question,
    figures: Callable[[Series, Question], Mapping[str, bytes]] | None = None,
) -> Summary:
    """Work out a table and answer a question; nothing is written where one of them cannot be.

    Args:
        chosen: arguments of the command: source, target, summary, agreement, comparison, bundle and the settings.
        mapping: {our name: Assigned}, or None.
        columns: Columns of the table.
        question: Question.
        figures: function of (Series, Question) to the figures of a bundle.

    Raises:
        TableError: the table cannot be read, a column holds no number, a place cannot be written to.
    """
    wanted = {name: getattr(chosen, name) for name in ("summary", "agreement", "comparison")}
    if not any(wanted.values()) and chosen.bundle is None:
        return _worked(chosen, chosen.target, mapping)
    with ExitStack() as stack:
        # every output file is opened before anything is worked out: if one cannot be, nothing is written at all
        places = {name: stack.enter_context(whole_table(place)) for name, place in wanted.items() if place}

        def answered(path: str, counts: Summary) -> None:
            series = load_series(path, _needed(question), mapping, chosen.target)
            tables = bundle_answers(series, question, bool(chosen.summary or chosen.bundle))
            if chosen.bundle is not None:
                outputs = column_names(path, chosen.target)[len(columns) :]
                made = _made(chosen, mapping, columns, question, (counts, analysed(series, question), outputs))
                write_bundle(chosen.bundle, made, path, tables, figures(series, question) if figures else {})
            for name, file in places.items():
                file.write(tables[name])

        counts = _worked(chosen, chosen.target, mapping, None if chosen.cluster else answered)
        if chosen.cluster:
            answered(chosen.target, counts)
    return counts


def _made(
    chosen: Any,
    mapping: Any,
    columns: Sequence[Column],
    question: Question,
    came_out: tuple[Summary, tuple[int, int | None], list[str]],
) -> Made:
    """How the series was made, for its bundle. came_out: counts, eyes and patients, names of the added columns."""
    counts, eyes, outputs = came_out
    return Made(
        Path(chosen.source).name,
        sha256_of(chosen.source),
        Path(chosen.target).suffix,
        columns,
        outputs,
        question,
        counts,
        eyes,
        chosen.optics,
        chosen.unsigned == "plus",
        mapping is not None,
        chosen.date,
    )


def bundle_answers(series: Series, question: Question, with_summary: bool = True) -> dict[str, bytes]:
    """The tables of a study as CSV by name, as far as they are asked for.

    Args:
        series: Series.
        question: Question.
        with_summary: whether the groups are described; of very many eyes that takes longer than all the rest.

    Raises:
        TableError: a column that is not there or holds no number.
    """
    found = {}
    if with_summary and question.by is not None:
        found["summary"] = summary_bytes(series, question.by, question=question)
    if question.pairs:
        found["agreement"] = table_bytes(AGREEMENT, agreement_rows(series, question), series.dialect)
    if question.compared:
        found["comparison"] = table_bytes(COMPARISON, comparison_rows(series, question), series.dialect)
    return found


def _worked(
    chosen: Any, target: str | Path, mapping: Any, then: Callable[[str, Summary], None] | None = None
) -> Summary:
    """The table with its figures, in this process or on a cluster."""
    if chosen.cluster:
        from tissue.series.cluster import run_on_cluster

        return Summary(*run_on_cluster(chosen.cluster, chosen.source, target, mapping, chosen.optics))
    unsigned_plus = chosen.unsigned == "plus"
    return run(chosen.source, target, mapping, with_optics=chosen.optics, unsigned_plus=unsigned_plus, then=then)


def _needed(question: Question) -> set[str]:
    """Names of the columns that the answers and the figures need."""
    own = {f"{OWN}_{name.partition('_')[2]}" for name in MEASURES}
    return {*MEASURES, *own, *question.columns, *EXTRA, "status", "reason", "target_D"}
