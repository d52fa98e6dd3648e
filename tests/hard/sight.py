"""The optics of the planned surface over forty seeded plans a check, against what was made apart; a table.

Run with `python tests/hard/sight.py [PLANS]`; it takes minutes. Ends with 1 where a difference is greater than allowed.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from sight_checks import CHECKS

PLANS = 40

if __name__ == "__main__":
    plans = int(sys.argv[1]) if len(sys.argv) > 1 else PLANS
    wrong = 0
    print("| check | plans | greatest difference | allowed |\n|---|---|---|---|")
    for words, check, allowed in CHECKS:
        found = list(check(plans))
        worst = max(found)
        wrong += worst > allowed
        print(f"| {words} | {len(found)} | {worst:.2g} | {allowed:g} |", flush=True)
    sys.exit(bool(wrong))
