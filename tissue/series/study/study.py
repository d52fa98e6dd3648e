"""A series worked out with what else is asked of it: every file is there when all of them can be."""

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import Any

from tissue.entry.whole_file import plain_file, whole_file
from tissue.series.finished import Series, column_names, load_series
from tissue.series.names import OWN
from tissue.series.report import MEASURES, summary_bytes
from tissue.series.run import run
from tissue.series.study.bundle import Made, write_bundle
from tissue.series.study.question import Question
from tissue.series.study.results import AGREEMENT, COMPARISON, agreement_rows, comparison_rows, table_bytes
from tissue.series.tables.header import EXTRA, Assigned, Column
from tissue.series.working import Summary, sha256_of, whole_table
from tissue.series.wrong import TableError, error_words


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
        # every place is taken before anything is worked out: where there is none nothing is written at all
        places = {name: stack.enter_context(whole_table(place)) for name, place in wanted.items() if place}
        target = chosen.target if chosen.cluster else stack.enter_context(_aside(chosen.target))
        counts = _worked(chosen, target, mapping)
        series = load_series(target, _needed(question), mapping)
        tables = bundle_answers(series, question)
        if chosen.bundle is not None:
            made = _made(chosen, mapping, columns, question, counts, target)
            write_bundle(chosen.bundle, made, target, tables, figures(series, question) if figures else {})
        for name, file in places.items():
            file.write(tables[name])
    return counts


def _made(
    chosen: Any, mapping: Any, columns: Sequence[Column], question: Question, counts: Summary, target: Any
) -> Made:
    """How the series was made, for its bundle."""
    return Made(
        Path(chosen.source).name,
        sha256_of(chosen.source),
        Path(chosen.target).suffix,
        columns,
        column_names(target)[len(columns) :],
        question,
        counts,
        chosen.optics,
        chosen.unsigned == "plus",
        mapping is not None,
        chosen.date,
    )


def bundle_answers(series: Series, question: Question) -> dict[str, bytes]:
    """The tables of a study as CSV by name; those that are not asked for are left out.

    Raises:
        TableError: a column that is not there or holds no number.
    """
    found = {}
    if question.by is not None:
        found["summary"] = summary_bytes(series, question.by, question=question)
    if question.pairs:
        found["agreement"] = table_bytes(AGREEMENT, agreement_rows(series, question), series.dialect)
    if question.compared:
        found["comparison"] = table_bytes(COMPARISON, comparison_rows(series, question), series.dialect)
    return found


def _worked(chosen: Any, target: str | Path, mapping: Any) -> Summary:
    """The table with its figures, in this process or on a cluster."""
    if chosen.cluster:
        from tissue.series.cluster import run_on_cluster

        return Summary(*run_on_cluster(chosen.cluster, chosen.source, target, mapping, chosen.optics))
    return run(chosen.source, target, mapping, with_optics=chosen.optics, unsigned_plus=chosen.unsigned == "plus")


@contextmanager
def _aside(target: str | Path) -> Iterator[Path]:
    """A place beside the target that takes its name when all went well."""
    path = Path(target)
    aside = path.with_name(f".{path.stem}.{os.getpid()}.study{path.suffix}")
    try:
        with whole_file(aside), suppress(FileNotFoundError):
            plain_file(path)  # a folder or a device is refused before anything is worked out
        yield aside
        os.replace(aside, path)
    except OSError as error:
        raise TableError(f"{target}: file: read {error_words(error)}, accepted a place to write to") from None
    finally:
        if aside.is_file():
            aside.unlink()


def _needed(question: Question) -> set[str]:
    """Names of the columns that the answers and the figures need."""
    own = {f"{OWN}_{name.partition('_')[2]}" for name in MEASURES}
    return {*MEASURES, *own, *question.columns, *EXTRA, "status", "reason", "target_D"}
