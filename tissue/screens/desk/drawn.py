"""The effect of errors on the figures of one eye, from draws; worked out while nobody types."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from threading import Timer
from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison, closed_interval
from tissue.budget.spread import CLOSED, VOLUME, bed_variance_percent
from tissue.budget.strength.relationship import relationships
from tissue.drawing.base.palette import HEADS
from tissue.explore.draws import moved_figures, sample, strength_name
from tissue.explore.sample import NUMBER, SEED, standard_normals
from tissue.report.measures import NO_FIGURE, Measure, measures, span
from tissue.screens import process
from tissue.screens.parts.component import component

AFTER_S = 1.5
QUIET = '<span class="tissue-quiet" hidden></span>'
HOW_MANY = f"{NUMBER:,} draws, seed {SEED}"
WHY_AS_PLANNED = (
    "As planned, without an interval: the errors are even over the eye and leave this figure as it is. It says "
    "nothing of healing."
)


Known = tuple[tuple[float, float], bool]  # ends of an interval, and whether they are exact


@dataclass(frozen=True, eq=False)
class Drawn:
    """By option: the interval of every figure by its name; the shares of the variance of bed and strength by error."""

    intervals: dict[str, Any]
    shares: dict[str, Any]


def sampled(comparison: Comparison) -> Drawn:
    """The Drawn of a Comparison of one eye; the strength by every relationship."""
    warm().join()
    name = strength_name(comparison.judgement.relationship)
    wanted = [one.figure for one in measures().values() if one.figure in moved_figures()]
    samples = sample(comparison, [*wanted, *map(strength_name, relationships())])
    intervals, shares = {}, {}
    for option, result in comparison.results.items():
        bed = bed_variance_percent(result.option, comparison.errors)
        ends = samples[option].intervals() | {VOLUME: closed_interval(comparison, option, VOLUME)}
        intervals[option] = {figure: tuple(map(float, both)) for figure, both in ends.items()}
        known = result.available and np.isfinite(result.strength.strength_percent[comparison.judgement.relationship])
        shares[option] = bed, samples[option].variance_percent(name) if known else dict.fromkeys(bed, np.nan)
    return Drawn(intervals, shares)


def as_planned(measure: Measure) -> bool:
    """Whether no error moves a measure of the tissue.

    >>> from tissue.report.measures import measures
    >>> [name for name, one in measures().items() if as_planned(one)]
    ['K_after', 'zone_cost', 'computed', 'optical_volume', 'per_dioptre', 'rim', 'radius_after']
    """
    moved = (*CLOSED, *moved_figures(), "strength", "bed_below_line_percent")
    return measure.figure not in moved


def interval(comparison: Comparison, found: Drawn | None, measure: Measure, option: str) -> Known | None:
    """Interval of a measure of one option, and whether it is exact; None where errors do not change it, or not yet.

    The interval of the volume is exact but comes with the draws, because it takes longer than the others.

    Args:
        comparison: Comparison of one eye; found: its Drawn, or None.
        measure: Measure; option: name.
    """
    if measure.figure in CLOSED and measure.figure != VOLUME:
        low, high = map(float, closed_interval(comparison, option, measure.figure))
        return (low, high), True
    if found is None:
        return None
    chosen = strength_name(comparison.judgement.relationship)
    ends = found.intervals[option].get(chosen if measure.figure == "strength" else measure.figure)
    return None if ends is None else (ends, measure.figure in CLOSED)


def interval_words(comparison: Comparison, found: Drawn | None, measure: Measure, option: str) -> str:
    """An interval as it is written beside its value; empty where there is none. Arguments as in `interval`."""
    known = interval(comparison, found, measure, option)
    if known is None:
        return ""
    (low, high), _ = known
    return span(low, high, measure.decimals)


def behind_words(comparison: Comparison, found: Drawn | None, measure: Measure) -> str:
    """The intervals of all options, for the explanation of a measure; empty where there are none."""
    if as_planned(measure):
        return WHY_AS_PLANNED
    every = {option: interval(comparison, found, measure, option) for option in comparison.results}
    known = {option: one for option, one in every.items() if one is not None}
    if len(known) < len(every):
        return ""
    said = [
        f"{HEADS[option].lower()} {span(low, high, measure.decimals) or NO_FIGURE}"
        for option, ((low, high), _) in known.items()
    ]
    how = "exact" if all(exact for _, exact in known.values()) else HOW_MANY
    return f"95 % under the errors of measurement and cutting ({how}), {measure.unit}: {'; '.join(said)}."


def strength_intervals(comparison: Comparison, found: Drawn | None) -> dict[str, dict[str, tuple[float, float]]] | None:
    """{relationship: {option: (low, high)}} of the strength [%]; None before they are drawn."""
    if found is None:
        return None
    options = comparison.results
    return {one: {name: found.intervals[name][strength_name(one)] for name in options} for one in relationships()}


def draw_when_quiet(eyes: Iterable[Any], take: Callable[[], None]) -> None:
    """Ask for the draws of what is shown once no change has come for a moment; nothing where they exist.

    Args:
        eyes: Shown of every eye on the screen.
        take: called when it is quiet; the fragment that calls this is then drawn again.
    """
    wanted = any(shown.drawn_yet is None for shown in eyes)
    said = component("quiet", QUIET, "parts/when_free.js", "parts/quiet.js")
    said(key="quiet", data={"wanted": wanted, "eye": " ".join(str(id(shown)) for shown in eyes)}, on_quiet_change=take)


@cache
def warm() -> Any:
    """Load SciPy's table of quasi-random numbers once, in a thread: it takes a second or more.

    It begins when there was time to draw the first screen.

    Returns:
        The thread that loads it.
    """
    loader = Timer(AFTER_S, _load)
    loader.daemon = True
    loader.start()
    return loader


def _load() -> None:
    standard_normals()
    process.spare_what_is_loaded()
