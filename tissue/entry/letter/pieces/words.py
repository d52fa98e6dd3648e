"""The words of a letter in five languages, read once from letter_words.toml, and what each may mean."""

import re
import tomllib
from collections.abc import Iterator
from functools import cache
from importlib import resources
from typing import Any

LABELS_OF_K = {"keratometry": "K", "keratometry_first": "K1", "keratometry_second": "K2"}
OTHER_LABELS = {
    "sphere": "sphere",
    "cylinder": "cylinder",
    "axis": "axis",
    "sphere_only": "of_sphere",
    "cylinder_only": "of_cylinder",
    "minus": "minus",
    "plus": "plus",
    "plano": "plano",
}
BREAKS = re.compile(r"[\s\-'’.]+")


def folded(text: str) -> str:
    """The text in lower case, each character where it was.

    >>> folded("Épaisseur İ")
    'épaisseur İ'
    """
    lower = text.lower()
    return lower if len(lower) == len(text) else "".join(c.lower() if len(c.lower()) == 1 else c for c in text)


@cache
def _table() -> dict[str, Any]:
    file = resources.files("tissue.entry.letter.pieces").joinpath("letter_words.toml")
    return tomllib.loads(file.read_text(encoding="utf-8"))


def _plain_lists() -> Iterator[tuple[str, Any, list[str]]]:
    """A meaning, its value and its words, for every list of the file."""
    table = _table()
    for eye in ("OD", "OS", "both"):
        yield "eye", eye, table["eye"][eye]
    yield "eye_noun", True, table["eye"]["noun"]
    yield "eye_unnamed", True, table["eye"]["unnamed"]
    for name, words in table["label"].items():
        if name in OTHER_LABELS:
            yield OTHER_LABELS[name], True, words
        else:
            yield "label", LABELS_OF_K.get(name, name), words
    for section in ("kind", "light", "place", "unit"):
        for name, words in table[section].items():
            yield section, name, words
    for section in ("between", "old"):
        for name, words in table[section].items():
            yield name, True, words
    yield "never", True, table["never"]["words"]
    yield "of_power", True, table["never"]["of_power"]
    yield "matters", "surgery", table["matters"]["surgery"]
    yield "matters", "lenses", table["matters"]["lenses"]
    yield "today", True, table["date"]["today"]
    yield "undated", True, table["date"]["other"]
    for number, words in enumerate(table["date"]["months"], 1):
        yield "month", number, words.split()


@cache
def phrases() -> dict[str, Any]:
    """The phrases by their first word, longest first: (words, {meaning: value})."""
    meanings: dict[tuple[str, ...], dict[str, object]] = {}
    for meaning, value, listed in _plain_lists():
        for word in listed:
            parts = tuple(part for part in BREAKS.split(folded(word)) if part)
            meanings.setdefault(parts, {}).setdefault(meaning, value)
    found: dict[str, list] = {}
    for parts, said in meanings.items():
        found.setdefault(parts[0], []).append((parts, said))
    return {first: sorted(some, key=lambda pair: -len(pair[0])) for first, some in found.items()}


@cache
def capitals() -> dict[str, str]:
    """The marks of an eye that count only in capitals, and the side of each."""
    marks = _table()["eye"]["capitals"]
    return {word: eye for eye, words in marks.items() for word in words}


@cache
def stems() -> dict[str, re.Pattern[str]]:
    """The patterns that find words by their beginning, each under the matter that it shows."""
    matters, correction = _table()["matters"], _table()["correction"]["stems"]
    listed = {
        "surgery": matters["surgery_stems"],
        "cornea": matters["cornea_stems"],
        "lenses": matters["lenses_stems"],
        "monovision": matters["monovision_stems"],
        "correction": correction,
    }
    return {
        what: re.compile(r"(?<!\w)(?:" + "|".join(re.escape(folded(stem)) for stem in some) + ")")
        for what, some in listed.items()
    }
