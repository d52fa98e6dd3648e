"""What reading a whole letter takes: twenty thousand bytes of a plain letter, and of what is hardest to read.

Run with `python tests/bench/bench_letters.py [repeats]`. The floor is splitting the same text into words.
"""

import sys

from measure import Row, median_s, show

from tissue.entry.letter.letter import LARGEST_BYTES, read_letter

LETTER = "OD -4.50 -1.25 x 12, CCT 548, K 43.25/44.50\nOS -4.75 -1.00 x 170, CCT 551, K 43.5/44.0\n\n"
HARDEST = ("(", "-", "OD K 43 ", "- 1 ", "548/", "x ", "|\t", "e\u0301 ", "thinnest 540 (0.6 temporal) ", "OD\n")


def rows(repeats=9):
    """Rows of the table."""
    text = (LETTER * LARGEST_BYTES)[:LARGEST_BYTES]
    floor = median_s(text.split, repeats)
    took = median_s(lambda: read_letter(text), repeats)
    yield Row("a letter of 20,000 bytes", took, "s", 0.5, floor, "splitting it into words")
    texts = [(piece * LARGEST_BYTES)[:LARGEST_BYTES] for piece in HARDEST]
    slowest = max(median_s(lambda text=text: read_letter(text), max(repeats // 3, 1)) for text in texts)
    yield Row("the slowest of ten hard ones", slowest, "s", 0.5, floor, "splitting it into words")


if __name__ == "__main__":
    show(rows(int(sys.argv[1]) if len(sys.argv) > 1 else 9))
