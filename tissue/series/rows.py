"""Takes columns of eyes through the arithmetic: every row comes back with figures or with the reason why not."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.entry.checks import NUMBERS_OF_REFRACTION, fault_of, faults
from tissue.entry.eye import build
from tissue.entry.fields import fields
from tissue.ground.errors import EyeError
from tissue.removal.removal import largest_zone_mm
from tissue.series.names import PROCEDURE, figure_columns, own_columns

MOST_AT_ONCE = 16_000  # rows: enough to spread the cost of each step, few enough to stay near the processor
Columns = Mapping[str, NDArray[Any]]  # by name of the interface
Faults = dict[int, list[str]]  # the words of each row
Mask = NDArray[np.bool_]
Written = Callable[[str, int], str | None]  # gives the text in the cell of an input and row


@dataclass(frozen=True, eq=False)
class Outcome:
    """Figures by output name, one value for each row, and the reason of each refused row (empty: none)."""

    figures: dict[str, NDArray[Any]]
    reasons: list[str]


def whole_outcome(
    values: Columns,
    count: int,
    found: Faults | None = None,
    with_optics: bool = False,
    unread: Mapping[str, Mask] | None = None,
) -> Outcome:
    """The Outcome of columns of eyes; arguments as in `outcomes`."""
    parts = [part for _, _, part in outcomes(values, count, found or {}, with_optics, unread=unread)]
    if len(parts) == 1:
        return parts[0]
    names = parts[0].figures if parts else ()
    joined = {name: np.concatenate([part.figures[name] for part in parts]) for name in names}
    return Outcome(joined, [reason for part in parts for reason in part.reasons])


def outcomes(
    values: Columns,
    count: int,
    found: Faults,
    with_optics: bool = False,
    written: Written | None = None,
    unread: Mapping[str, Mask] | None = None,
) -> Iterator[tuple[int, int, Outcome]]:
    """The Outcomes of columns of eyes, part by part: (first row, row after the last, Outcome).

    Args:
        values: by name of the interface, a column [unit of the name], NaN or an empty text where not given; a written
            refraction as sphere, cylinder and axis, shape (3, rows).
        count: number of rows.
        found: faults already known, {row: [words]}.
        with_optics: whether the optical figures are wanted.
        written: function of (name, row) that gives the text of a cell for the words of a fault; None: the number.
        unread: {name: which rows hold a text that could not be read}; they count as given.
    """
    parts = -(-count // MOST_AT_ONCE)
    for part in range(parts):
        start, stop = count * part // parts, count * (part + 1) // parts
        block = {name: column[..., start:stop] for name, column in values.items()}
        mine = {row - start: words for row, words in found.items() if start <= row < stop}
        odd = {name: mask[start:stop] for name, mask in (unread or {}).items()}
        told = None if written is None else (lambda name, row, start=start: written(name, row + start))
        figures, why = _block(block, stop - start, mine, with_optics, told, odd)
        reasons = [""] * (stop - start)
        for row, words in why.items():
            reasons[row] = words
        yield start, stop, Outcome(figures, reasons)


def _block(
    values: Columns, count: int, found: Faults, with_optics: bool, written: Written | None, unread: dict[str, Any]
) -> tuple[dict[str, NDArray[Any]], dict[int, str]]:
    """Figures and reasons of one block."""
    found = {row: list(words) for row, words in found.items()}
    given: dict[str, Any] = dict(values)
    numbers = given.pop("refraction", None)
    if numbers is not None:
        unread = unread | {"refraction": ~np.isnan(numbers[0]) | unread.get("refraction", False)}
    for finding in faults(given, unread):
        for row in np.flatnonzero(np.broadcast_to(finding.mask, (count,))).tolist():
            text = None if written is None or finding.said else written(finding.field, row)
            found.setdefault(row, []).append(finding.fault((row,), text).text)
    given = _without(_with_numbers(given, numbers), found, count)
    inputs = build(given)
    for row, words in _refused(given, inputs, count).items():
        found.setdefault(row, []).append(words)
        given = _without(given, {row: words}, count)
        inputs = build(given)
    comparison = inputs.compare()
    figures = figure_columns(comparison, with_optics)
    if PROCEDURE in given:
        procedure = np.broadcast_to(given[PROCEDURE], (count,))
        figures |= own_columns(figures, procedure, list(comparison.results))
    bad = np.zeros(count, dtype=bool)
    bad[list(found)] = True
    shown = {name: _shown(value, count, bad) for name, value in figures.items()}
    return shown, {row: "; ".join(dict.fromkeys(words)) for row, words in found.items()}


def _with_numbers(values: dict[str, Any], numbers: NDArray[Any] | None) -> dict[str, Any]:
    """The values with a written refraction, shape (3, rows) or None, replaced by its numbers."""
    if numbers is None:
        return values
    written, own = ~np.isnan(numbers[0]), [values.get(name, np.nan) for name in NUMBERS_OF_REFRACTION]
    both = zip(NUMBERS_OF_REFRACTION, numbers, own, strict=True)
    return values | {name: np.where(written, column, mine) for name, column, mine in both}


def _shown(value: Any, count: int, bad: Mask) -> NDArray[Any]:
    """A figure for every row, empty where the row is refused."""
    column = np.broadcast_to(value, (count,))
    if column.dtype.kind == "f":
        return np.where(bad, np.nan, column) if bad.any() else column
    return column & ~bad if column.dtype.kind == "b" else np.where(bad, "", column)


def _without(values: dict[str, Any], found: Mapping[int, Any], count: int) -> dict[str, Any]:
    """The values, with nothing given in the rows at fault."""
    if not found:
        return values
    rows = list(found)
    kept = {}
    for name, column in values.items():
        column = np.array(np.broadcast_to(column, (count,)))
        column[rows] = np.nan if fields()[name].is_number else ""
        kept[name] = column
    return kept


def _refused(values: dict[str, Any], inputs: Any, count: int) -> dict[int, str]:
    """What the arithmetic itself refuses, {row: words}: found for the column, worded by computing the eye alone."""
    plan = inputs.treatment
    zone = np.broadcast_to(plan.zone_mm > largest_zone_mm(inputs.cornea, plan), (count,))
    given_depth = ~np.isnan(plan.reported_ablation_um) | ~np.isnan(plan.reported_lenticule_um)
    suspect = zone | np.broadcast_to(given_depth, (count,))
    found = {}
    for row in np.flatnonzero(suspect):
        one = {name: np.broadcast_to(column, (count,))[row] for name, column in values.items()}
        try:
            build({name: value for name, value in one.items() if value == value and value != ""}).compare()
        except EyeError as error:
            found[int(row)] = fault_of(error).text
    return found
