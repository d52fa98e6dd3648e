"""`tissue own` and `tissue published`: a surgeon's own errors, and the published readings they are laid beside."""

from argparse import Namespace, _SubParsersAction
from typing import TYPE_CHECKING

from tissue.command.loading import say_open_table
from tissue.command.printing import print_result
from tissue.entry.own_errors import own_text
from tissue.entry.whole_file import other_kind, same_file, whole_file
from tissue.series.wrong import TableError, error_words

if TYPE_CHECKING:
    from tissue.report.followup.own import OwnReport
    from tissue.series.own.table import OwnTable


def add_commands(commands: _SubParsersAction) -> None:
    """Put the two commands among the others.

    Args:
        commands: where sub-commands are put.
    """
    own = commands.add_parser("own", help="own bias and spread from measured eyes", allow_abbrev=False)
    own.add_argument("table", metavar="TABLE")
    own.add_argument("--columns", metavar="MAP.toml", help="names of the columns where they are not ours")
    own.add_argument("--by", metavar="COLUMN", default="", help="the column that makes the groups")
    own.add_argument("--json", action="store_true", help="figures for machines")
    own.add_argument("-o", dest="out", metavar="FILE.toml", help="own errors for a plan; not with --by")
    own.set_defaults(run=own_command)
    published = commands.add_parser("published", help="published readings and their pools", allow_abbrev=False)
    published.add_argument("--json", action="store_true", help="figures for machines")
    published.set_defaults(run=published_command)


def published_command(chosen: Namespace) -> int:
    """`tissue published`: every row and every pool."""
    from tissue.report.followup.published import published_as_dict, published_table

    return print_result(published_as_dict() if chosen.json else published_table())


def own_command(chosen: Namespace) -> int:
    """`tissue own`: bias and spread of every error that the table tells of."""
    from tissue.report.followup.own import Measured, own_as_dict, own_errors, own_report, own_table
    from tissue.series.own.table import NUMBERS, TEXTS, differences, read_own_table
    from tissue.series.tables.header import read_map

    if chosen.out and chosen.by:
        raise TableError("-o: read it with --by, accepted one of both: a plan takes the errors of all eyes")
    if chosen.out and same_file(chosen.table, chosen.out):
        raise TableError(f"{chosen.out}: file: read the table itself, accepted another file to write to")
    if chosen.out and (words := other_kind(chosen.out, ".toml")):
        raise TableError(f"{chosen.out}: file: read {words}")
    mapping = read_map(chosen.columns, (*TEXTS, *NUMBERS)) if chosen.columns else None
    table = read_own_table(chosen.table, mapping, chosen.by)
    say_open_table(chosen.table)
    measured = Measured(table.patients, table.sides, table.dates, table.groups, table.lines, dict(differences(table)))
    report = own_report(measured, chosen.by)
    if not report.source:
        raise TableError(*_too_few(chosen.table, report, table))
    if chosen.out:
        _write(chosen.out, own_text(own_errors(report)))
    return print_result((own_as_dict if chosen.json else own_table)(report, table.rows, table.refused))


def _too_few(name: str, report: "OwnReport", table: "OwnTable") -> list[str]:
    """Why no error has figures: one line for each error that has eyes, and the first refused rows."""
    from tissue.series.own.table import NUMBERS

    told = [
        f"{name}: {id}: {own.why_not}" for errors in report.groups.values() for id, own in errors.items() if own.eyes
    ]
    refused = [f"{name}: line {line}: {reason}" for line, reason in table.refused[:20]]
    columns = ", ".join(NUMBERS)
    return [*told, *refused] or [f"{name}: header: read no measured column, accepted some of {columns}"]


def _write(path: str, text: str) -> None:
    """The file of own errors, whole or not at all."""
    try:
        with whole_file(path) as file:
            file.write(text.encode("utf-8"))
    except OSError as error:
        raise TableError(f"{path}: file: read {error_words(error)}, accepted a place to write to") from None
