"""Decides which eye each value belongs to: by a mark before or after it, or one that holds for the whole line."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from tissue.entry.letter.reader import Mark, Value

BETWEEN = set(":)-(fekLlVzTZxsc~q?")  # signs that may stand between a mark and its value or label
ASIDE = re.compile(r"\([^()NnG]*\)")  # a bracket without a number
CLOSE = set("f(ewmdg)")  # signs that may stand between a value and the mark after it


@dataclass(frozen=True, eq=False)
class Owned:
    """A Value with its eye: OD, OS, both, an order of the two, or None where it is not known.

    own: whether it has a mark of its own beside it. asked: whether marks contradict each other.
    clause: number of its clause in the line.
    """

    value: Value
    eye: Any
    own: bool
    asked: bool = False
    clause: int = 0


def owned(items: list[Mark | Value], letters: str, held: Any) -> tuple[list[Owned], Any, set[Any]]:
    """The Values of a clause with their eyes, the eye that holds after the clause, and the eyes that were marked.

    Args:
        items: Marks and Values in order.
        letters: of the clause.
        held: the eye that the line or a heading gives, or None.
    """
    behind = _behind(items, letters)
    if behind is None:
        return [Owned(v, None, False, True) for v in items if isinstance(v, Value)], None, set()
    found, eye, marked, own, broken = [], held, set(), False, False
    for at, item in enumerate(items):
        if isinstance(item, Mark):
            if at in behind.values():
                marked |= _sides(item.eye)
                continue
            eye = item.eye if leads(items, letters, at) else None
            own = eye is not None
            marked |= _sides(eye)
            broken = eye is None
        elif at in behind:
            other = items[behind[at]].eye
            found.append(Owned(item, other, True, own and eye is not None and eye != other))
            eye, own = (eye if eye == other else None), False
        else:
            found.append(Owned(item, eye, own))
            own = own and item.name == "place"
    return found, None if broken else eye, marked


def _sides(eye: str | tuple[str, str] | None) -> set[str]:
    return set(eye) if isinstance(eye, tuple) else {"OD", "OS"} if eye == "both" else {eye} if eye else set()


def leads(items: list[Mark | Value], letters: str, at: int) -> bool:
    """Whether a mark belongs to the label or value after it; a colon, a bracket or a dash may stand between."""
    mark = items[at]
    if mark.eye is None:
        return False
    following = next((item for item in items[at + 1 :]), None)
    stop = following.first if following is not None else len(letters)
    for letter in ASIDE.sub("", letters[mark.last + 1 : stop]):
        if letter in "LVkl":
            return True
        if letter not in BETWEEN:
            return False
    return isinstance(following, Value)


def _close_behind(items: list[Any], letters: str, at: int) -> int | None:
    """Index of the mark right after a value, or None."""
    mark = items[at + 1] if at + 1 < len(items) else None
    if not isinstance(mark, Mark) or mark.eye is None:
        return None
    return at + 1 if set(letters[items[at].last + 1 : mark.first]) <= CLOSE else None


def _behind(items: list[Any], letters: str) -> dict[int, int] | None:
    """For values whose mark follows them, the index of that mark; None where marks may lead as well as follow."""
    values = [at for at, item in enumerate(items) if isinstance(item, Value) and item.name != "place"]
    nearest = {at: _close_behind(items, letters, at) for at in values}
    for at in reversed(values):
        after = at + 1
        if (
            nearest[at] is None
            and items[at].name in ("K1", "K2")
            and after in nearest
            and items[after].name in ("K1", "K2")
        ):
            nearest[at] = nearest[after]
    close = {at: mark for at, mark in nearest.items() if mark is not None}
    if not close:
        return {}
    starts_marked = isinstance(items[0], Mark)
    if not starts_marked and len(close) == len(values):
        return close
    found: dict[int, int] = {}
    for run in _runs(items, values):
        mode = _run_mode(items, letters, run, close, starts_marked)
        if mode is None:
            return None
        found |= mode
    return found


def _runs(items: list[Any], values: Sequence[int]) -> list[list[int]]:
    """The values grouped by their label, in order; a value without a label is a group of its own."""
    runs: list[list[int]] = []
    for at in values:
        label = items[at].label
        if (
            runs
            and label
            and (items[runs[-1][-1]].label == label or {items[runs[-1][-1]].name, items[at].name} == {"K1", "K2"})
        ):
            runs[-1].append(at)
        else:
            runs.append([at])
    return runs


def _run_mode(
    items: list[Any], letters: str, run: list[int], close: dict[int, int], starts_marked: bool
) -> dict[int, int] | None:
    """The marks that follow the values of one group: of all of them, of none, or None where it cannot be told."""
    here = [at for at in run if at in close]
    if not here:
        return {}
    free = [at for at in here if not leads(items, letters, close[at])]
    if len(here) == len(run) and free and free[-1] == run[-1]:
        return {at: close[at] for at in run}
    if items[run[0]].name == "never":
        return {at: close[at] for at in free}
    if free:
        return {at: close[at] for at in free} if len(free) == len(here) == len(run) else None
    first = items[run[0]]
    if starts_marked or first.name == "vertex_mm":
        return {}
    return None


def with_both(found: list[Owned], marked: set[str]) -> list[Owned]:
    """Take the eye from a value on a line of both eyes whose label stands once and has no mark of its own."""
    if not {"OD", "OS"} <= marked:
        return found
    counts: dict[str, set] = {}
    marked_too = {(item.value.name, item.clause, item.value.label) for item in found if item.own}
    for item in found:
        counts.setdefault(item.value.name, set()).add((item.clause, item.value.label, item.value.labelled_at))
    return [
        replace(item, eye="both" if item.value.name == "vertex_mm" else None)
        if not item.own
        and not isinstance(item.eye, tuple)
        and item.eye != "both"
        and item.value.name not in ("place", "unread")
        and len(counts[item.value.name]) == 1
        and _lone(item, marked_too)
        else item
        for item in found
    ]


def _lone(item: Owned, marked_too: set[tuple[str, int, int]]) -> bool:
    """Whether no other value of the same name and label has a mark of its own."""
    if item.value.name == "refraction":
        return item.value.what.form == "whole"
    return (item.value.name, item.clause, item.value.label) not in marked_too
