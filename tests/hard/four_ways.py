"""Random plans through screen, command, series and record: every figure equal at printed precision, or said.

Run with `python tests/hard/four_ways.py [--plans 1000] [--seed 1]`; ends with 1 where anything differs.
"""

import argparse
import random
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from four_ways_cases import differences, read_series, write_series
from four_ways_plans import plan_file, typed
from fuzz_commands import called


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plans", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    r, started = random.Random(chosen.seed), time.perf_counter()
    plans = [typed(r) for _ in range(chosen.plans)]
    wrong = refused = 0
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        write_series(folder / "in.csv", plans)
        code, _, err = called(["series", str(folder / "in.csv"), str(folder / "out.csv"), "--optics"])
        assert code == 0, err
        rows = read_series(folder / "out.csv")
        for number, eyes in enumerate(plans):
            text = plan_file(r, f"harbour-{number}", eyes)
            said = differences(folder, number, eyes, f"harbour-{number}", text, rows)
            refused += any(rows[number, side]["status"] == "refused" for side in eyes)
            wrong += bool(said)
            for words in said[:5]:
                print(f"plan {number}: {words}")
    eyes = sum(map(len, plans))
    print(f"{len(plans)} plans, {eyes} eyes, {refused} refused alike, {wrong} that differ, "
          f"{time.perf_counter() - started:.0f} s")  # fmt: skip
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
