"""The section of an eye as a solid under pressure: where the stress goes."""

from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.plan import section_plan
from tissue.mechanics.shape import PICTURE, SLIDER, Setting
from tissue.mechanics.states import STATES, mechanics, model, runs, spread_of_runs, states

__all__ = [
    "Choice",
    "PICTURE",
    "SLIDER",
    "STATES",
    "Setting",
    "mechanics",
    "model",
    "runs",
    "section_plan",
    "spread_of_runs",
    "states",
]
