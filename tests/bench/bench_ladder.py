"""The ladder of published experiments run anew: how long it takes, and with --write what tissue/data keeps of it.

Run with `python tests/bench/bench_ladder.py [--write]`; it takes a minute or two.
"""

import json
import sys
import time

from tissue.mechanics.ladder.cases import RUNS, cases
from tissue.mechanics.ladder.experiments import fresh_runs


def rounded(value):
    """Six significant digits: more than the tests ask for."""
    return float(f"{value:.6g}") if isinstance(value, float) else value


def main(write):
    made = {}
    for name in cases():
        start = time.perf_counter()
        found = fresh_runs([name])[name]
        made[name] = [one | {"value": rounded(one["value"])} for one in found]
        print(f"| {name} | {len(found)} runs | {time.perf_counter() - start:.1f} s |", flush=True)
    if write:
        lines = [
            f" {json.dumps(name)}: [\n  " + ",\n  ".join(json.dumps(one, ensure_ascii=False) for one in runs) + "\n ]"
            for name, runs in made.items()
        ]
        RUNS.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    main("--write" in sys.argv[1:])
