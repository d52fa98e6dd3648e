"""Names and rounding of the output columns, from the figures of one plan."""

from collections.abc import Sequence
from functools import cache

import numpy as np

from tissue import Cornea, Refraction, Treatment, compare
from tissue.optics.figures import Optics, optics_by_option
from tissue.report.contract import figures

LAST = ("status", "reason")
POWERS_READ = "powers_read"
DECIMALS = (("_mm3", 3), ("_um", 1), ("_percent", 1), ("_mm", 2), ("_D", 2), ("_deg", 1), ("asphericity_after", 2))
FINE = {"c40_before_um": 4, "c40_change_um": 4, "um_per_D": 1}


def flat(figure, option, prefix=""):
    """One option's figures with nested names joined: {output name: value}.

    >>> list(flat({"removal_parts_um": {"blend": 1.0}, "strength_percent": {"uniform": 2.0}}, "flap"))
    ['flap_removal_parts_blend_um', 'flap_strength_uniform_percent']
    """
    found = {}
    for name, value in figure.items():
        if not isinstance(value, dict):
            found[f"{option}_{prefix}{name}"] = value
            continue
        for suffix in ("_um", "_percent", ""):
            if name.endswith(suffix):
                stem = name.removesuffix(suffix)
                found |= {f"{option}_{stem}_{part}{suffix}": each for part, each in value.items()}
                break
    return found


def figure_columns(comparison, with_optics=False):
    """Every figure of a Comparison by its output name, in order; numbers or columns.

    Args:
        comparison: Comparison.
        with_optics: whether the optical figures are wanted.
    """
    found: dict = {}
    results = comparison.results
    seen: Sequence[Optics | None] = [None] * len(results)
    if with_optics:
        options = [result.option for result in results.values()]
        seen = optics_by_option(comparison.cornea, comparison.treatment, options, comparison.pupil)
    for (name, result), eye in zip(results.items(), seen, strict=True):
        found |= flat(figures(result), name)
        if eye is not None:
            shown = {part: np.where(result.available, value, np.nan)[()] for part, value in vars(eye).items()}
            found |= flat({"optics": shown}, name)
    return found


@cache
def figure_names(with_optics=False):
    """Names of the figures in their order."""
    example = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    return tuple(figure_columns(example, with_optics))


@cache
def output_names():
    """Every name an output column may have."""
    return frozenset((*figure_names(True), POWERS_READ, *LAST))


def decimals(name):
    """Decimals of a figure in CSV, None for words.

    >>> decimals("flap_bed_min_um"), decimals("lenticule_removal_volume_mm3"), decimals("flap_why_not")
    (1, 3, None)
    """
    for ending, places in (*FINE.items(), *DECIMALS):
        if name.endswith(ending):
            return places
    return None
