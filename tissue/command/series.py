"""`tissue series` and `tissue demo-series`: their options and what they do."""

import os
from argparse import Namespace, _SubParsersAction
from pathlib import Path
from typing import TYPE_CHECKING

from tissue.command.loading import say_open_table
from tissue.command.printing import DONE, say
from tissue.entry.notation import shown
from tissue.entry.whole_file import STREAM, STREAM_WORDS, other_kind, same_file

if TYPE_CHECKING:
    from tissue.series.finished import Series
    from tissue.series.study.question import Question


def add_commands(commands: _SubParsersAction) -> None:
    """Put the two commands among the others.

    Args:
        commands: where sub-commands are put.
    """
    series = commands.add_parser("series", help="many eyes: a table in, every figure out", allow_abbrev=False)
    series.add_argument("source", metavar="IN")
    series.add_argument("target", metavar="OUT")
    series.add_argument("--optics", action="store_true", help="with the optical figures")
    series.add_argument("--unsigned", choices=("plus",), help="what a power without a sign is; else its row is refused")
    series.add_argument("--columns", metavar="MAP.toml", help="names of the columns where they are not ours")
    series.add_argument("--summary", metavar="S.csv", help="groups and paired differences, with --by")
    series.add_argument("--by", metavar="COLUMN", help="the column that makes the groups")
    series.add_argument(
        "--where", metavar="CONDITION", action="append", default=[], help='rows kept, as in "age >= 21"'
    )
    pairs = "agreement of a measured column with a planned one; again for more"
    series.add_argument("--agree", metavar="PLANNED:MEASURED", action="append", default=[], help=pairs)
    series.add_argument("--agreement", metavar="FILE.csv", help="where the agreement goes")
    compared = "a column compared between the groups of --by; again for more"
    series.add_argument("--compare", metavar="COLUMN", action="append", default=[], help=compared)
    series.add_argument("--adjust", metavar="COLUMN", help="compared at the same value of this column too")
    series.add_argument("--comparison", metavar="FILE.csv", help="where the comparison goes")
    series.add_argument("--bundle", metavar="DIR", help="a new folder with all that a paper needs")
    series.add_argument("--date", default="", help="of the bundle, printed as it stands; none where not given")
    series.add_argument("--cluster", metavar="ADDRESS", help="a running Dask scheduler, for a Parquet data set")
    series.set_defaults(run=series_command)
    demo = commands.add_parser("demo-series", help="an invented series, the same for the same seed", allow_abbrev=False)
    demo.add_argument("number", metavar="N", type=int)
    demo.add_argument("target", metavar="OUT")
    demo.add_argument("--seed", type=int, default=2013)
    demo.set_defaults(run=demo_command)


def series_command(chosen: Namespace) -> int:
    """`tissue series`: every row back, with figures or the reason why not; what else is asked of them in its files."""
    from tissue.series.run import understood
    from tissue.series.study.question import question_of
    from tissue.series.study.study import study
    from tissue.series.tables.header import read_map

    _settings_agree(chosen)
    mapping = None if chosen.columns is None else read_map(chosen.columns)
    columns = understood(chosen.source, mapping, whole_set=bool(chosen.cluster))
    question = question_of(chosen, columns)
    rows, refused = study(chosen, mapping, columns, question, _prints)
    say([f"{rows} rows, {refused} refused"])
    say_open_table(chosen.source)
    passed = [column.name for column in columns if column.field is None]
    if passed:
        say([f"passed through, no inputs: {shown(', '.join(passed), 2000)}"])
    return DONE


def _prints(series: "Series", question: "Question") -> dict[str, bytes]:
    """The figures of a bundle, {name: bytes}."""
    from tissue.paper.study_figures import study_prints

    return study_prints(series, question)


def _settings_agree(chosen: Namespace) -> None:
    """Refuse settings that do not go together, before anything is read."""
    from tissue.series.wrong import TableError

    if chosen.summary is not None and chosen.by is None:
        raise TableError("--summary: read one of --summary and --by, accepted both or none")
    if chosen.by is not None and not (chosen.summary or chosen.agree or chosen.compare or chosen.bundle):
        raise TableError("--by: read one of --summary and --by, accepted both or none")
    for flag, place, asked in (
        ("--agreement", chosen.agreement, chosen.agree),
        ("--comparison", chosen.comparison, chosen.compare),
    ):
        if bool(asked) != bool(place) and not (asked and chosen.bundle):
            also = "--agree" if asked is chosen.agree else "--compare"
            raise TableError(f"{flag}: read one of {flag} and {also}, accepted both, or {also} with --bundle")
    if chosen.compare and chosen.by is None:
        raise TableError("--compare: read no --by, accepted --by COLUMN, the column that makes the groups")
    if chosen.adjust and not chosen.compare:
        raise TableError("--adjust: read no --compare, accepted --compare COLUMN")
    if chosen.where and not (chosen.summary or chosen.agree or chosen.compare or chosen.bundle):
        raise TableError(
            "--where: read nothing it is asked for, accepted with --summary, --agree, --compare or --bundle"
        )
    _places_apart(chosen)
    if chosen.cluster and chosen.unsigned:
        raise TableError("--unsigned: read plus, accepted for CSV only: in Parquet a number has its sign")
    if chosen.cluster and chosen.bundle:
        raise TableError("--bundle: read --cluster too, accepted one of them")


def _places_apart(chosen: Namespace) -> None:
    """Refuse a file to write to that is another one, or a bundle that is there."""
    from tissue.series.run import is_parquet
    from tissue.series.wrong import TableError

    if same_file(chosen.source, chosen.target):
        raise TableError(f"{chosen.target}: file: read the table itself, accepted another file to write to")
    given = Path(chosen.source).suffix.casefold()
    if not is_parquet(chosen.source) and not is_parquet(chosen.target) and not chosen.cluster:
        _of_kind(chosen.target, ".csv", ".tsv", ".txt", *[given] * bool(given))
    taken = [chosen.source, chosen.target, chosen.columns or chosen.target]
    for flag in ("summary", "agreement", "comparison"):
        place = getattr(chosen, flag)
        if place is not None and any(same_file(place, other) for other in taken):
            raise TableError(f"--{flag}: read {place}, accepted another file than IN, OUT and MAP.toml")
        if place is not None:
            _of_kind(place, ".csv", ".tsv", ".txt")
        taken += [place] if place else []
    if chosen.bundle == STREAM:
        raise TableError(f"--bundle: read {STREAM_WORDS}, accepted a new folder")
    if chosen.bundle is not None and os.path.lexists(chosen.bundle):
        raise TableError(f"--bundle: read {shown(chosen.bundle, 200)}, which is there, accepted a new folder")


def _of_kind(path: str, *endings: str) -> None:
    """Refuse a name that says another kind of file."""
    from tissue.series.wrong import TableError

    if words := other_kind(path, *endings):
        raise TableError(f"{path}: file: read {words}")


def demo_command(chosen: Namespace) -> int:
    """`tissue demo-series`: invented eyes drawn from published marginals."""
    from tissue.series.demo import write_demo

    write_demo(chosen.number, chosen.target, chosen.seed)
    return DONE
