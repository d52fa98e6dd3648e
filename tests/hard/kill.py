"""Every command that writes, killed at random moments and at each step of its writing: what stands there afterwards.

Run with `python tests/hard/kill.py [--kills 20] [--seed 1]`; ends with 1 where a file is neither the old nor the new
one, where something is left that could be taken for a result, or where the next run does not clear it away.
"""

import argparse
import collections
import random
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from kill_cases import STEPS, commands, left, put_old, run


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    r, wrong = random.Random(chosen.seed), 0
    print(
        f"{'command':<18}{'lasts s':>8}{'kills':>7}{'old':>6}{'new':>6}{'neither':>9}{'parts left':>12}{'cleared':>9}"
    )
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        for name, (line, files) in commands(folder).items():
            run(line)
            lasts = run(line)
            whole = {file: (folder / file).read_bytes() for file in files}
            counts = collections.Counter()
            kills = [{"after_s": r.uniform(0.0, 1.1) * lasts} for _ in range(chosen.kills)]
            for kill in kills + [{"step": step} for step in STEPS if files]:
                put_old(folder, files)
                run(line, **kill)
                said, beside = left(folder, files, whole)
                counts.update(said.values())
                odd = [one for one in beside if not (one.startswith(".") and one.endswith(".part"))]
                counts["neither"] += len(odd) + sum(words not in ("old", "new") for words in said.values())
                counts["parts"] += len(beside) - len(odd)
            run(line)
            cleared = left(folder, files, whole) == (dict.fromkeys(files, "new"), [])
            for file in files:
                (folder / file).unlink()
            wrong += counts["neither"] + (not cleared)
            made = len(kills) + (len(STEPS) if files else 0)
            print(f"{name:<18}{lasts:>8.2f}{made:>7}{counts['old']:>6}{counts['new']:>6}{counts['neither']:>9}"
                  f"{counts['parts']:>12}{'yes' if cleared else 'no':>9}", flush=True)  # fmt: skip
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
