"""`tissue series` and `tissue demo-series`: their words and what they do."""

import sys
from contextlib import nullcontext

from tissue.entry.notation import shown
from tissue.entry.whole_file import same_file

DONE = 0


def add_commands(commands):
    """Put the two commands among the others."""
    series = commands.add_parser("series", help="many eyes: a table in, every figure out", allow_abbrev=False)
    series.add_argument("source", metavar="IN")
    series.add_argument("target", metavar="OUT")
    series.add_argument("--optics", action="store_true", help="with the optical figures")
    series.add_argument("--unsigned", choices=("plus",), help="what a power without a sign is; else its row is refused")
    series.add_argument("--columns", metavar="MAP.toml", help="names of the columns where they are not ours")
    series.add_argument("--summary", metavar="S.csv", help="groups and paired differences, with --by")
    series.add_argument("--by", metavar="COLUMN", help="the column that makes the groups")
    series.add_argument("--cluster", metavar="ADDRESS", help="a running Dask scheduler, for a Parquet data set")
    series.set_defaults(run=series_command)
    demo = commands.add_parser("demo-series", help="an invented series, the same for the same seed", allow_abbrev=False)
    demo.add_argument("number", metavar="N", type=int)
    demo.add_argument("target", metavar="OUT")
    demo.add_argument("--seed", type=int, default=2013)
    demo.set_defaults(run=demo_command)


def series_command(chosen):
    """`tissue series`: every row back, with figures or the reason why not."""
    from tissue.series.run import run, understood
    from tissue.series.tables.header import read_map
    from tissue.series.working import whole_table

    _settings_agree(chosen)
    mapping = None if chosen.columns is None else read_map(chosen.columns)
    columns = understood(chosen.source, mapping, whole_set=bool(chosen.cluster))
    _groups_there(chosen.by, columns)
    # the place of the summary is taken before anything is worked out: where there is none nothing is written at all
    with whole_table(chosen.summary) if chosen.by is not None else nullcontext() as summary:
        if chosen.cluster:
            from tissue.series.cluster import run_on_cluster

            rows, refused = run_on_cluster(chosen.cluster, chosen.source, chosen.target, mapping, chosen.optics)
        else:
            rows, refused = run(
                chosen.source,
                chosen.target,
                mapping,
                with_optics=chosen.optics,
                unsigned_plus=chosen.unsigned == "plus",
            )
        if summary:
            from tissue.series.report import summary_of

            summary.write(summary_of(chosen.target, chosen.by, mapping))
    print(f"{rows} rows, {refused} refused", file=sys.stderr)
    passed = [column.name for column in columns if column.field is None]
    if passed:
        print(f"passed through, no inputs: {shown(', '.join(passed), 2000)}", file=sys.stderr)
    return DONE


def _settings_agree(chosen):
    """Refuse settings that do not go together, before anything is read."""
    from tissue.series.wrong import TableError

    if (chosen.summary is None) != (chosen.by is None):
        raise TableError("--summary: read one of --summary and --by, accepted both or none")
    places = (chosen.source, chosen.target, chosen.columns or chosen.target)
    if chosen.summary is not None and any(same_file(chosen.summary, place) for place in places):
        raise TableError(f"--summary: read {chosen.summary}, accepted another file than IN, OUT and MAP.toml")
    if chosen.cluster and chosen.unsigned:
        raise TableError("--unsigned: read plus, accepted for CSV only: in Parquet a number has its sign")


def _groups_there(by, columns):
    """Refuse groups by a column that is not there."""
    from tissue.series.names import output_names
    from tissue.series.wrong import TableError

    names = [column.name for column in columns]
    if by is not None and by not in names and by not in output_names():
        there = shown(", ".join(names), 400)
        raise TableError(f"--by: read {shown(by)}, accepted a column of the table: {there}")


def demo_command(chosen):
    """`tissue demo-series`: invented eyes drawn from published marginals."""
    from tissue.series.demo import write_demo

    write_demo(chosen.number, chosen.target, chosen.seed)
    return DONE
