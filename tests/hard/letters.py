"""How letters are read, counted: the forty with their keys and the sixty from outside. Run it without arguments."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from letter_cases import forty, judged
from outside_letters import outside_letters

HEADS = ("letters", "fields right", "asked", "matters", "missed", "wrong", "numbers listed nowhere")


def of_the_forty():
    """Each of the forty, Judged."""
    for _, text, key in forty():
        truth = {(eye, name): one["value"] for eye, some in key["eyes"].items() for name, one in some.items()}
        asks = [(ask["eye"], ask["field"]) for ask in key["asks"]]
        tolerated = [(one["eye"], one["field"], one["value"]) for one in key["tolerated"]]
        yield judged(text, truth, asks, key["matters"], tolerated)


def from_outside():
    """Each of the sixty, Judged."""
    for _, hand, text, truth in outside_letters():
        yield judged(text, truth, hand.get("asks", ()), hand.get("matters", ()))


def row(words, found):
    """A row of the table."""
    expected, right, to_ask, asked, to_matter, mattered = (sum(one[i] for one in found) for i in range(6))
    wrong, lost = (sum(len(one[i]) for one in found) for i in (6, 7))
    cells = (
        f"{right} of {expected}",
        f"{asked} of {to_ask}",
        f"{mattered} of {to_matter}",
        expected - right,
        wrong,
        lost,
    )
    return f"| {len(found)} {words} | " + " | ".join(map(str, cells)) + " |"


if __name__ == "__main__":
    print("| " + " | ".join(HEADS) + " |\n|" + "---|" * len(HEADS))
    print(row("with keys", list(of_the_forty())))
    print(row("from outside", list(from_outside())))
