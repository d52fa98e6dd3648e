"""The patient's page of 2,000 random eyes: every sentence, number, place and picture by a second reader.

The handout too, 400 in each language: one page, tags, title, words for each picture, type, margins, every figure, and
no sentence that is not of its language.

Run with `python tests/hard/patient.py [eyes [first]]`, in slices where the machine is shared; prints what disagrees
and how many eyes were read.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from handout_reader import page_faults
from patient_reader import faults

if __name__ == "__main__":
    eyes = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    wrong = 0
    for seed in range(first, first + eyes):
        found = [*faults(seed), *page_faults(seed)]
        wrong += len(found)
        if found or (seed + 1) % 100 == 0 or seed == first + eyes - 1:
            print(*found, f"eyes {first} to {seed}, {wrong} faults", sep="\n", flush=True)
    sys.exit(bool(wrong))
