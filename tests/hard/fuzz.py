"""Many thousands of inputs, sound, spoilt and odd, through everything that reads: what was refused, taken and uncaught.

Run with `python tests/hard/fuzz.py [--cases 100000] [--seed 1] [--only TARGET]`; ends with 1 where anything but a
declared error leaves a function, or a property of `fuzz_cases.py` does not hold. A case is named by target, seed and
number, and is the same every time: `--only "plan file" --case 1234` puts one through alone.
"""

import argparse
import collections
import random
import sys
import time
import traceback
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from fuzz_cases import TARGETS, outcome


def one(target, seed, number):
    """`refused`, `taken`, or where and how a case came out uncaught."""
    try:
        return outcome(TARGETS[target][0], random.Random(f"{target} {seed} {number}")), ""
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        place = f"{Path(last.filename).name}:{last.lineno}"
        return "uncaught", f"{type(error).__name__} at {place}: {' '.join(str(error).split())[:160]}"


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=TARGETS)
    parser.add_argument("--case", type=int)
    chosen = parser.parse_args()
    if chosen.case is not None:
        return print(outcome(TARGETS[chosen.only][0], random.Random(f"{chosen.only} {chosen.seed} {chosen.case}")))
    print(f"{'target':<16}{'cases':>8}{'refused':>9}{'taken':>8}{'uncaught':>10}{'seconds':>9}")
    whole, faults, started = collections.Counter(), {}, time.perf_counter()
    for target in [chosen.only] if chosen.only else TARGETS:
        cases = round(chosen.cases * (1.0 if chosen.only else TARGETS[target][1]))
        found, start = collections.Counter(), time.perf_counter()
        for number in range(cases):
            said, fault = one(target, chosen.seed, number)
            found[said] += 1
            if fault:
                faults.setdefault((target, fault), number)
        whole += found
        _line(target, cases, found, time.perf_counter() - start)
    _line("together", sum(whole.values()), whole, time.perf_counter() - started)
    for (target, fault), number in faults.items():
        print(f"{target}, seed {chosen.seed}, case {number}: {fault}")
    return 1 if whole["uncaught"] else 0


def _line(target, cases, found, seconds):
    counts = f"{found['refused']:>9}{found['taken']:>8}{found['uncaught']:>10}"
    print(f"{target:<16}{cases:>8}{counts}{seconds:>9.0f}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
