"""What published series found about the optics after surgery, beside what the planned surface gives."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from tissue.entry.eye import build
from tissue.eye.cornea import Pupil
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import NO_FIGURE, signed
from tissue.optics.sight.figures import sight_of
from tissue.optics.sight.view import View
from tissue.optics.sight.wave import removal_at, smoothed

THICK_UM = 550.0  # the thickness of the invented eye; no figure here depends on it
SECOND_HAND = "second hand, not read itself"


@dataclass(frozen=True)
class Found:
    """One published finding: what it is, its figure, that of the planned surface, agreement, status, citation."""

    what: str
    figure: str
    ours: str
    beside: str
    status: str
    citation: str


@cache
def found_rows() -> tuple[Found, ...]:
    """Every finding of data/sight_found.toml."""
    return tuple(
        Found(
            row["what"],
            row["figure"],
            OURS[row["ours"]](row["option"]) if "ours" in row else NO_FIGURE,
            row["beside"],
            row["status"],
            source(row["source"]).citation if "source" in row else SECOND_HAND,
        )
        for row in data("sight_found")["found"]
    )


def added_c40_um(option: str, smoothing_mm: float) -> float:
    """Change of C40 [µm] over 6 mm by −5.4 D in an eye where everything else is a default.

    Args:
        option: name of one; smoothing_mm: length over which the epithelium smooths, 0 for not at all.
    """
    inputs = build({"sphere_D": -5.4, "central_thickness_um": THICK_UM})
    taken = removal_at(inputs.compare().results[option].option.removal, 0)
    return sight_of(inputs.cornea, taken, Pupil(6.0), View(smoothing_mm=smoothing_mm)).c40_change_um


def epithelium_um(option: str, sphere_D: float) -> float:
    """Change of the epithelium at the centre [µm] as the planned surface of an option is smoothed."""
    inputs = build({"sphere_D": sphere_D, "vertex_mm": 0.0, "central_thickness_um": THICK_UM})
    taken = removal_at(inputs.compare().results[option].option.removal, 0)
    return float(taken.central_unscaled_um - smoothed(taken)(np.zeros(1), np.zeros(1))[0])


def _added(option: str) -> str:
    length = data("sight")["smoothing"]["length_mm"]
    with_it, without = added_c40_um(option, length), added_c40_um(option, 0.0)
    return f"{signed(with_it, 2)} µm smoothed, {signed(without, 2)} not"


def _epithelium(option: str) -> str:
    return f"{signed(epithelium_um(option, 2.64), 1)} µm"


OURS = {"added": _added, "epithelium": _epithelium}
