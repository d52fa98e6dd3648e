"""The patient's page of 2,000 random eyes: every sentence, number, place and picture by a second reader; one page each.

Run with `python tests/hard/patient.py [eyes [first]]`, in slices where the machine is shared; prints what disagrees
and how many eyes were read.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from patient_reader import faults, page_of, room_to_write


def of_page(seed):
    """What is wrong with a handout, in words."""
    reader = page_of(seed)
    lines = room_to_write(reader)
    return [] if len(reader.pages) == 1 and lines >= 4 else [f"{seed}: {len(reader.pages)} pages, {lines} lines"]


if __name__ == "__main__":
    eyes = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    wrong = 0
    for seed in range(first, first + eyes):
        found = [*faults(seed), *of_page(seed)]
        wrong += len(found)
        if found or (seed + 1) % 100 == 0 or seed == first + eyes - 1:
            print(*found, f"eyes {first} to {seed}, {wrong} faults", sep="\n", flush=True)
    sys.exit(bool(wrong))
