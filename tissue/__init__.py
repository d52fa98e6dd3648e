"""The tissue budget of an eye before and after corneal refractive surgery."""

from tissue.budget.comparison import Comparison, compare
from tissue.errors import EyeError
from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.options.options import CapCut, Errors, FlapCut, Judgement
from tissue.removal.removal import Treatment

__version__ = "0.1.0"

__all__ = [
    "CapCut",
    "Comparison",
    "Cornea",
    "Errors",
    "EyeError",
    "FlapCut",
    "Judgement",
    "Pupil",
    "Refraction",
    "Treatment",
    "compare",
]
