"""What a small change of the plan would cost each option, as differences of its figures."""

from dataclasses import dataclass

import numpy as np

from tissue.budget import ZONE_STEP_MM, deepest_off_centre
from tissue.drawing.profiles import credited
from tissue.measures import number
from tissue.relationship import relationships
from tissue.strength import relative_strength

CUT_STEP_UM = 10.0


@dataclass(frozen=True, eq=False)
class Change:
    """A change of the plan: words, how much deeper the cut [µm] and the removal [µm] of one option become."""

    words: str
    option: str | None
    cut_um: float


CHANGES = (
    Change(f"+{ZONE_STEP_MM:g} mm of zone", None, 0.0),
    Change(f"+{CUT_STEP_UM:.0f} µm of cap", "lenticule", CUT_STEP_UM),
    Change(f"−{CUT_STEP_UM:.0f} µm of flap", "flap", -CUT_STEP_UM),
)


def cost(comparison, result, change):
    """Words for what a change does to one option; empty where it does nothing.

    Args:
        comparison: Comparison of one eye.
        result: one of its Results.
        change: Change.
    """
    option = result.option
    if not result.available or change.option not in (None, option.name):
        return ""
    deeper = float(result.budget.zone_cost_um) if change.option is None else 0.0
    if deepest_off_centre(option):
        return f"deepest removal {_signed(deeper)} µm" if change.option is None else f"bed {_signed(-change.cut_um)} µm"
    CCT = float(comparison.cornea.central_thickness_um)
    words = [f"bed {_signed(-change.cut_um - deeper)} µm", f"PTA {_signed(100.0 * (change.cut_um + deeper) / CCT)}"]
    strength = _strength(comparison, result, change.cut_um, deeper)
    return ", ".join([*words, f"strength {_signed(strength)}"])


def _signed(value):
    text = number(value, 1)
    return text if text.startswith("−") or text == "0.0" else f"+{text}"


def _strength(comparison, result, cut_um, removal_um):
    """Change of relative strength [points] by the chosen relationship."""
    cornea, option = comparison.cornea, result.option
    chosen = relationships()[comparison.judgement.relationship]
    eye = (chosen, cornea.central_thickness_um, cornea.epithelium_um)
    now, then = (
        relative_strength(*eye, option.cut_um + cut, option.removal.central_um + removal, option.credit)
        for cut, removal in ((0.0, 0.0), (cut_um, removal_um))
    )
    return float(then - now)


def equal_credits(comparison):
    """Relative strength [%] with every layer above a cut counted, and with none: two lists, an entry an option."""
    return [
        [float(np.asarray(credited(comparison, r, credit))) for r in comparison.results.values()]
        for credit in (1.0, 0.0)
    ]
