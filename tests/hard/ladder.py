"""Every run of the ladder anew, against what is kept of it.

Run with `python tests/hard/ladder.py`; it takes minutes.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from ladder_cases import differences

from tissue.mechanics.ladder.cases import cases, kept_runs

if __name__ == "__main__":
    found = [words for name, case in cases().items() if case.comparison != "none" for words in differences(name)]
    print(*found, f"{sum(map(len, kept_runs().values()))} runs, {len(found)} differ", sep="\n")
    sys.exit(bool(found))
