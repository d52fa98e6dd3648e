"""Every benchmark in one table, with date and machine. Run with `python tests/bench/bench_all.py`; it takes minutes."""

from datetime import date
from itertools import chain

import bench_commands
import bench_drag
import bench_draws
import bench_follow
import bench_letters
import bench_list
import bench_map
import bench_mechanics
import bench_optics
import bench_plan_latency
import bench_series
import bench_sight
import bench_study
from measure import machine, show

PARTS = (
    bench_plan_latency,
    bench_drag,
    bench_list,
    bench_map,
    bench_commands,
    bench_letters,
    bench_draws,
    bench_follow,
    bench_mechanics,
    bench_optics,
    bench_series,
    bench_sight,
    bench_study,
)


if __name__ == "__main__":
    print(f"{date.today()}, {machine()}\n")
    show(chain.from_iterable(part.rows() for part in PARTS))
