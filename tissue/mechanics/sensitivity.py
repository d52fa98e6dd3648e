"""What the figures owe to the assumptions: the same eye held, supported and compressed in other ways."""

from dataclasses import replace

from tissue.mechanics.shape import PICTURE
from tissue.mechanics.states import model, share_of, states

CASES = {
    "as shown": {},
    "limbus fixed, no sclera": {"boundary": "fixed limbus"},
    "limbus free to widen, no sclera": {"boundary": "free roller"},
    "sclera twice as stiff as the cornea": {"sclera_modulus_ratio": 2.0},
    "sclera eight times as stiff": {"sclera_modulus_ratio": 8.0},
    "sclera 0.8 mm thick": {"sclera_thickness_mm": 0.8},
    "Poisson's ratio 0.45": {"poisson": 0.45},
    "Poisson's ratio 0.499": {"poisson": 0.499},
}


def sensitivity(plan, relationship, setting=PICTURE):
    """Figures of every state under every other assumption, {case in words: {state: State}}.

    Args:
        plan: SectionPlan.
        relationship: name of the relationship that gives the stiffness.
        setting: Setting whose values the cases change one at a time.
    """
    share = share_of(relationship, plan.shape)
    return {
        words: states(model(plan, replace(setting, **changed)), share, pictures=False)
        for words, changed in CASES.items()
    }
