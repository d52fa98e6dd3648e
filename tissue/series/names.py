"""Names and rounding of the output columns, from the figures of one plan."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.budget.comparison import Comparison
from tissue.entry.eye import build
from tissue.optics.figures import Optics, optics_by_option
from tissue.report.contract import figures

LAST = ("status", "reason")
OWN, PROCEDURE = "own", "procedure"  # figures of the option that an eye had, and its column
POWERS_READ = "powers_read"
DECIMALS = (("_mm3", 3), ("_um", 1), ("_percent", 1), ("_mm", 2), ("_D", 2), ("_deg", 1), ("asphericity_after", 2))
UNITS = (
    ("_per_D", "µm/D"),
    ("_mm3", "mm³"),
    ("_um", "µm"),
    ("_percent", "%"),
    ("_mm", "mm"),
    ("_D", "D"),
    ("_deg", "°"),
)
FINE = {"c40_before_um": 4, "c40_change_um": 4, "um_per_D": 1}


def flat(figure: Mapping[str, Any], option: str, prefix: str = "") -> dict[str, Any]:
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


def figure_columns(comparison: Comparison, with_optics: bool = False) -> dict[str, float | NDArray[Any]]:
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
def example() -> Comparison:
    """An example eye, whose figures give the names."""
    return build({"sphere_D": -6.0, "central_thickness_um": 550.0}).compare()


def own_columns(
    figures: dict[str, float | NDArray[Any]], procedure: NDArray[Any], options: list[str]
) -> dict[str, NDArray[Any]]:
    """The figures of the option that each eye had, by their output names; empty where the option is not given.

    Args:
        figures: as `figure_columns` gives them, columns.
        procedure: name of the option of each eye, shape (rows,).
        options: names of all options.

    >>> own_columns({"surface_cut_um": [53.0], "flap_cut_um": [110.0]}, np.array(["flap"]), ["surface", "flap"])
    {'own_cut_um': array([110.])}
    """
    first, found = f"{options[0]}_", {}
    chosen = [procedure == option for option in options]
    for name in [name.removeprefix(first) for name in figures if name.startswith(first)]:
        columns = [np.broadcast_to(figures[f"{option}_{name}"], procedure.shape) for option in options]
        empty = {"f": np.nan, "b": False}.get(columns[0].dtype.kind, "")
        found[f"{OWN}_{name}"] = np.select(chosen, columns, empty)
    return found


@cache
def figure_names(with_optics: bool = False, own: bool = False) -> tuple[str, ...]:
    """Names of the figures in their order.

    Args:
        with_optics: whether the optical figures are wanted.
        own: whether the figures of the option that each eye had follow them.
    """
    figures = figure_columns(example(), with_optics)
    mine = own_columns(figures, np.array([""]), list(example().results)) if own else {}
    return (*figures, *mine)


@cache
def output_names() -> frozenset[str]:
    """Every name an output column may have."""
    return frozenset((*figure_names(True, True), POWERS_READ, *LAST))


def decimals(name: str) -> int | None:
    """Decimals of a figure in CSV, None for words.

    >>> decimals("flap_bed_min_um"), decimals("lenticule_removal_volume_mm3"), decimals("flap_why_not")
    (1, 3, None)
    """
    for ending, places in (*FINE.items(), *DECIMALS):
        if name.endswith(ending):
            return places
    return None


def unit_of(name: str) -> str:
    """Unit of a figure, from its name; empty where it has none.

    >>> unit_of("flap_bed_min_um"), unit_of("flap_um_per_D"), unit_of("flap_why_not")
    ('µm', 'µm/D', '')
    """
    return next((unit for ending, unit in UNITS if name.endswith(ending)), "")
