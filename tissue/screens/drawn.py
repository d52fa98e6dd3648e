"""What errors do to the figures of one eye, from draws; worked out when no key is pressed."""

import gc
from dataclasses import dataclass
from functools import cache
from threading import Timer

import numpy as np

from tissue.drawing.palette import HEADS
from tissue.draws import draw, moved_figures, strength_name
from tissue.measures import NO_FIGURE, measures, span
from tissue.sample import NUMBER, SEED, standard_normals
from tissue.screens.component import component
from tissue.uncertainty import bed_variance_percent

AFTER_S = 1.5
QUIET = '<span class="tissue-quiet" hidden></span>'
HOW_MANY = f"{NUMBER:,} draws, seed {SEED}"


@dataclass(frozen=True, eq=False)
class Drawn:
    """By option: the interval of every figure by its name; the shares of the variance of bed and strength by error."""

    intervals: dict
    shares: dict


def drawn(comparison):
    """The Drawn of a Comparison of one eye; the strength by the chosen relationship only."""
    warm().join()
    name = strength_name(comparison.judgement.relationship)
    wanted = [one.figure for one in measures().values() if one.figure in moved_figures()]
    samples = draw(comparison, [*wanted, name])
    intervals, shares = {}, {}
    for option, result in comparison.results.items():
        bed = bed_variance_percent(result.option, comparison.errors)
        intervals[option] = {figure: tuple(map(float, ends)) for figure, ends in samples[option].intervals().items()}
        known = result.available and np.isfinite(result.strength.strength_percent[comparison.judgement.relationship])
        shares[option] = bed, samples[option].variance_percent(name) if known else dict.fromkeys(bed, np.nan)
    return Drawn(intervals, shares)


def interval(comparison, found, measure, option):
    """Interval of a measure of one option and whether it is exact; None where errors do not move it, or not yet.

    The least bed is as exact as the bed at the centre: the errors are even over the eye.

    Args:
        comparison: Comparison of one eye; found: its Drawn, or None.
        measure: Measure; option: name.
    """
    result = comparison.results[option]
    figures, spread = result.budget, result.spread
    if measure.id in ("bed", "bed_least"):
        apart = getattr(figures, measure.figure) - figures.bed_central_um
        return (float(spread.bed_low_um + apart), float(spread.bed_high_um + apart)), True
    if measure.id == "altered":
        return (float(spread.altered_low_percent), float(spread.altered_high_percent)), True
    if found is None:
        return None
    chosen = strength_name(comparison.judgement.relationship)
    ends = found.intervals[option].get(chosen if measure.figure == "strength" else measure.figure)
    return None if ends is None else (ends, False)


def interval_words(comparison, found, measure, option):
    """An interval as it stands beside its value; empty where there is none. Arguments as in `interval`."""
    known = interval(comparison, found, measure, option)
    return "" if known is None else span(*known[0], measure.decimals)


def behind_words(comparison, found, measure):
    """The intervals of all options, for what stands behind a measure; empty where there are none."""
    known = {option: interval(comparison, found, measure, option) for option in comparison.results}
    if None in known.values():
        return ""
    said = [
        f"{HEADS[option].lower()} {span(*ends, measure.decimals) or NO_FIGURE}" for option, (ends, _) in known.items()
    ]
    how = "exact" if all(exact for _, exact in known.values()) else HOW_MANY
    return f"95 % under the errors of measurement and cutting ({how}), {measure.unit}: {'; '.join(said)}."


def strength_intervals(comparison, found):
    """{option: (low, high)} of the strength by the chosen relationship [%]; None before they are drawn."""
    if found is None:
        return None
    return {option: interval(comparison, found, measures()["strength"], option)[0] for option in comparison.results}


def draw_when_quiet(shown, take):
    """Ask for the draws of an eye once no change has come for a moment; nothing where they are there.

    Args:
        shown: Shown.
        take: called when it is quiet; the screen is then drawn anew.
    """
    wanted = shown.drawn_yet is None
    said = component("quiet", QUIET, "when_free.js", "quiet.js")
    said(key="quiet", data={"wanted": wanted, "eye": str(id(shown))}, on_quiet_change=take)


@cache
def warm():
    """Load SciPy's table of quasi-random numbers beside everything else, once: it takes a second or more.

    It begins when the first screen has had its time to be drawn.

    Returns:
        The thread that loads it.
    """
    loader = Timer(AFTER_S, _load)
    loader.daemon = True
    loader.start()
    return loader


def _load():
    standard_normals()
    gc.collect()
    gc.freeze()
