"""Follow-up beside its plan, own errors of many eyes, the pools: `python tests/bench/bench_follow.py [repeats]`.

The floor of a follow-up is the plan alone; that of own errors is reading the table with pyarrow into columns.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
import pyarrow.csv
from measure import ROOT, Row, median_s, show

PLAN = ROOT / "demo_profiles" / "harbour-21_extraction_followed.toml"
MANY = (10_000, 100_000)
HEAD = (
    "patient,side,date,cap_um,cap_measured_um,reported_lenticule_um,lenticule_measured_um,epithelium_um,"
    "epithelium_after_um,days,SE_treated_D,SE_after_D,target_D,central_thickness_um,thickness_second_um"
)


def rows(repeats=9):
    """Rows of the table."""
    yield from _follow(repeats)
    with tempfile.TemporaryDirectory() as folder:
        for count in MANY:
            yield from _own(Path(folder) / "eyes.csv", count, max(3, repeats // 3))


def _follow(repeats):
    from tissue.command.loading import load_plan
    from tissue.entry.eye import build
    from tissue.ground.published import pool_rows, pooled, pools
    from tissue.report.followup.follow_json import follow_as_dict, followed

    plan, eyes = load_plan(PLAN)
    values = plan.eyes["OD"]

    def planned():
        return build(values, "OD").compare()

    def with_readings():
        inputs = build(values, "OD")
        found, _ = followed(plan.readings, {"OD": (inputs, inputs.compare())})
        return follow_as_dict(plan.code, found)

    floor = 1000.0 * median_s(planned, 5 * repeats)
    took = 1000.0 * median_s(with_readings, 5 * repeats)
    yield Row("follow-up of an eye, two readings", took, "ms", 1.5 * floor, floor, "its plan, ms")
    every = 1000.0 * median_s(lambda: [pooled(id, pool_rows(id)) for id in pools()], repeats)
    yield Row("all nine pools", every, "ms", None, floor, "a plan, ms")


def _own(path, count, repeats):
    from tissue.report.followup.own import Measured, own_report
    from tissue.series.own.table import differences, read_own_table

    _write(path, count)

    def errors():
        table = read_own_table(path)
        measured = Measured(
            table.patients, table.sides, table.dates, table.groups, table.lines, dict(differences(table))
        )
        return own_report(measured)

    floor = median_s(lambda: pyarrow.csv.read_csv(path), repeats)
    allowed = 1.0 if count <= MANY[0] else 2.0
    yield Row(f"own errors, {count:,} eyes", median_s(errors, repeats), "s", allowed, floor, "read, s")


def _write(path, count):
    rng = np.random.default_rng(1)
    cap, depth, skin, thick = (
        rng.normal(122, 4, count),
        rng.normal(90, 7, count),
        rng.normal(53, 4.6, count),
        rng.normal(545, 30, count),
    )
    with path.open("w", encoding="utf-8") as file:
        file.write(HEAD + "\n")
        for i in range(count):
            file.write(
                f"p{i // 2},{('OD', 'OS')[i % 2]},2026-03-{1 + i % 28:02d},120,{cap[i]:.1f},100,{depth[i]:.1f},"
                f"{skin[i]:.0f},{skin[i] + 5:.0f},90,-5.00,-0.12,0,{thick[i]:.0f},{thick[i] + 2:.0f}\n"
            )


if __name__ == "__main__":
    show(rows(int(sys.argv[1]) if len(sys.argv) > 1 else 9))
