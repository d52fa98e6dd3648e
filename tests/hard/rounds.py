"""A question of Rounds about each of 2,000 random eyes: question, answer, reason and picture by a second reader.

Run with `python tests/hard/rounds.py [eyes [first]]`, in slices where the machine is shared; prints what disagrees and
how many questions of how many kinds were read.
"""

import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from rounds_reader import a_question, faults

if __name__ == "__main__":
    eyes = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    wrong, kinds = 0, Counter()
    for seed in range(first, first + eyes):
        question = a_question(seed)[2]
        kinds.update([question.kind.id] if question else [])
        found = faults(seed)
        wrong += len(found)
        if found or seed == first + eyes - 1:
            print(
                *found,
                f"eyes {first} to {seed}, {kinds.total()} questions, {len(kinds)} kinds, {wrong} faults",
                sep="\n",
                flush=True,
            )
    sys.exit(bool(wrong))
