"""How the figures depend on the assumptions: the same eye held, supported and compressed in other ways."""

from dataclasses import replace
from typing import Any

from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.plan import SectionPlan
from tissue.mechanics.shape import PICTURE, Setting
from tissue.mechanics.states import State, model, states

CASES: dict[str, dict[str, Any]] = {
    "as shown": {},
    "limbus fixed, no sclera": {"boundary": "fixed limbus"},
    "limbus free to widen, no sclera": {"boundary": "free roller"},
    "sclera twice as stiff as the cornea": {"sclera_modulus_ratio": 2.0},
    "sclera eight times as stiff": {"sclera_modulus_ratio": 8.0},
    "sclera 0.8 mm thick": {"sclera_thickness_mm": 0.8},
    "Poisson's ratio 0.45": {"poisson": 0.45},
    "Poisson's ratio 0.499": {"poisson": 0.499},
}


def sensitivity(plan: SectionPlan, choice: Choice, setting: Setting = PICTURE) -> dict[str, dict[str, State]]:
    """Figures of every state under every other assumption, {case in words: {state: State}}.

    Args:
        plan: SectionPlan.
        choice: Choice of the law.
        setting: Setting whose values the cases change one at a time.
    """
    found = {}
    for words, changed in CASES.items():
        case = replace(setting, **changed)
        found[words] = states(model(plan, case), choice.law_of(plan.shape, case), pictures=False)
    return found
