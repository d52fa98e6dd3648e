"""Every statistic of a study beside another implementation: `python tests/hard/study_table.py [COHORTS]`.

The largest relative difference over so many random cohorts; tests/series/study/test_other_routes.py holds it to 1e-8.
"""

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
from study_routes import ROUTES, apart


def main(cohorts=100):
    print("| statistic | the other implementation | largest relative difference |\n|---|---|---|")
    for route in ROUTES:
        worst = {}
        for seed in range(cohorts):
            for name, other, ours, theirs in route(np.random.default_rng([seed, 7])):
                worst[name, other] = max(worst.get((name, other), 0.0), apart(ours, theirs))
        for (name, other), found in worst.items():
            print(f"| {name} | {other} | {found:.0e} |", flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
