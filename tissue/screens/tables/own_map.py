"""What an eye's map changes: the least bed beside that of the paraboloid, and what one epithelium number misses."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.map_figures import NEAR_SDS, MapFigures
from tissue.drawing.base.palette import HEADS
from tissue.ground.vocabulary import NO_FIGURE, Floats, rounded
from tissue.screens.html import NOTHING, Markup, notes, part, plain_table

if TYPE_CHECKING:
    from tissue.screens.desk.reading import Shown

TITLE = "Map and paraboloid"
NOTE = (
    "The paraboloid is drawn from the thinnest point with an average growth; the figures use the map. Which of the two "
    "is nearer to the eye is not known from here."
)
LAYER_NOTE = (
    "One number for the epithelium: what a removal through the epithelium that counts on the central value everywhere "
    "would take too much of the stroma (+). Shown, not planned with."
)


def map_table(shown: Shown) -> Markup:
    """The rows of an eye with a map, one column for each option; nothing without a map.

    Args:
        shown: Shown.
    """
    comparison, own = shown.comparison, shown.comparison.cornea.own_map
    if own is None:
        return NOTHING
    found = shown.on_map
    rows: list[tuple[str, Callable]] = []
    if own.thickness is not None:
        near = f"Bed within {rounded(NEAR_SDS * own.thickness.sd_um)} µm of the least, mm²"
        rows += [
            ("Least bed by the map, µm", lambda name, _: rounded(_least(comparison, name))),
            ("Least bed by the paraboloid, µm", lambda _, one: rounded(one.bed_min_paraboloid_um)),
            (
                "Map less paraboloid, µm",
                lambda name, one: _signed(_least(comparison, name) - one.bed_min_paraboloid_um),
            ),
            (near, lambda _, one: rounded(one.bed_near_least_mm2, 1)),
        ]
    if own.epithelium is not None:
        rows += [("Stroma above the cut, µm", _stroma), ("One number for the epithelium, µm", _one_number)]
    texts = [[label, *(say(name, one) for name, one in found.items())] for label, say in rows]
    heads = [TITLE, *(HEADS[name] for name in found)]
    lines = [*([NOTE] if own.thickness is not None else []), *([LAYER_NOTE] if own.epithelium is not None else [])]
    return part(TITLE) + plain_table(heads, texts, TITLE) + notes(*lines)


def _least(comparison: Comparison, name: str) -> float:
    """The least bed of an option by the map [µm]."""
    return float(comparison.results[name].budget.bed_min_um)


def _signed(value: Floats) -> str:
    """A difference with its sign; a dash where there is none."""
    text = rounded(value)
    return text if np.isnan(value).any() or text.startswith("−") or text == "0" else f"+{text}"


def _stroma(_: str, one: MapFigures) -> str:
    """Least and greatest of what a cut leaves of stroma above it."""
    if np.isnan(one.cut_stroma_min_um):
        return NO_FIGURE
    return f"{rounded(one.cut_stroma_min_um)}–{rounded(one.cut_stroma_max_um)}"


def _one_number(_: str, one: MapFigures) -> str:
    """Least, greatest and rms error of one number for the epithelium."""
    if np.isnan(one.transepithelial_rms_um):
        return NO_FIGURE
    low, high = _signed(one.transepithelial_low_um), _signed(one.transepithelial_high_um)
    return f"{low} to {high}, rms {rounded(one.transepithelial_rms_um, 1)}"
