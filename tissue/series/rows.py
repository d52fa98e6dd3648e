"""Columns of eyes through the arithmetic: every row back, with figures or the reason why not."""

from dataclasses import dataclass

import numpy as np

from tissue.entry.checks import NUMBERS_OF_REFRACTION, fault_of, faults
from tissue.entry.eye import build
from tissue.entry.fields import fields
from tissue.ground.errors import EyeError
from tissue.removal.removal import largest_zone_mm
from tissue.series.names import PROCEDURE, figure_columns, own_columns

MOST_AT_ONCE = 16_000  # rows: enough to spread the cost of each step, few enough to stay near the processor


@dataclass(frozen=True, eq=False)
class Outcome:
    """Figures by output name [one value a row], and the reason of each refused row (empty: none)."""

    figures: dict
    reasons: list


def whole_outcome(values, count, found=None, with_optics=False, unread=None):
    """The Outcome of columns of eyes; arguments as in `outcomes`."""
    parts = [part for _, _, part in outcomes(values, count, found or {}, with_optics, unread=unread)]
    if len(parts) == 1:
        return parts[0]
    names = parts[0].figures if parts else ()
    joined = {name: np.concatenate([part.figures[name] for part in parts]) for name in names}
    return Outcome(joined, [reason for part in parts for reason in part.reasons])


def outcomes(values, count, found, with_optics=False, written=None, unread=None):
    """The Outcomes of columns of eyes, part by part: (first row, row after the last, Outcome).

    Args:
        values: by name of the interface, a column [unit of the name], NaN or an empty text where not given; a written
            refraction as sphere, cylinder and axis, shape (3, rows).
        count: number of rows.
        found: faults already known, {row: [words]}.
        with_optics: whether the optical figures are wanted.
        written: function of (name, row) to what stood in a cell, for the words of a fault; None: the number.
        unread: {name: which rows hold what could not be read}; they count as given.
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


def _block(values, count, found, with_optics, written, unread):
    """Figures and reasons of one block."""
    found = {row: list(words) for row, words in found.items()}
    values, numbers = dict(values), values.get("refraction")
    if numbers is not None:
        del values["refraction"]
        unread = unread | {"refraction": ~np.isnan(numbers[0]) | unread.get("refraction", False)}
    for finding in faults(values, unread):
        for row in np.flatnonzero(np.broadcast_to(finding.mask, (count,))):
            text = None if written is None or finding.said else written(finding.field, int(row))
            found.setdefault(int(row), []).append(finding.fault((int(row),), text).text)
    values = _without(_with_numbers(values, numbers), found, count)
    inputs = build(values)
    for row, words in _refused(values, inputs, count).items():
        found.setdefault(row, []).append(words)
        values = _without(values, {row: words}, count)
        inputs = build(values)
    comparison = inputs.compare()
    figures = figure_columns(comparison, with_optics)
    if PROCEDURE in values:
        procedure = np.broadcast_to(values[PROCEDURE], (count,))
        figures |= own_columns(figures, procedure, list(comparison.results))
    bad = np.zeros(count, dtype=bool)
    bad[list(found)] = True
    shown = {name: _shown(value, count, bad) for name, value in figures.items()}
    return shown, {row: "; ".join(dict.fromkeys(words)) for row, words in found.items()}


def _with_numbers(values, numbers):
    """The values with written refractions, shape (3, rows) or None, put in as their numbers."""
    if numbers is None:
        return values
    written, own = ~np.isnan(numbers[0]), [values.get(name, np.nan) for name in NUMBERS_OF_REFRACTION]
    both = zip(NUMBERS_OF_REFRACTION, numbers, own, strict=True)
    return values | {name: np.where(written, column, mine) for name, column, mine in both}


def _shown(value, count, bad):
    """A figure for every row, nothing where the row is refused."""
    column = np.broadcast_to(value, (count,))
    if column.dtype.kind == "f":
        return np.where(bad, np.nan, column) if bad.any() else column
    return column & ~bad if column.dtype.kind == "b" else np.where(bad, "", column)


def _without(values, found, count):
    """The values with nothing given in the rows that were found at fault."""
    if not found:
        return values
    rows = list(found)
    kept = {}
    for name, column in values.items():
        column = np.array(np.broadcast_to(column, (count,)))
        column[rows] = np.nan if fields()[name].is_number else ""
        kept[name] = column
    return kept


def _refused(values, inputs, count):
    """What the arithmetic itself refuses, {row: words}: found for the column, told by the single eye."""
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
