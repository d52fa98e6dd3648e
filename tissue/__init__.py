"""The tissue budget of an eye before and after corneal refractive surgery."""

from tissue.comparison import Comparison, compare
from tissue.cornea import Cornea, Pupil
from tissue.errors import EyeError
from tissue.options import CapCut, Errors, FlapCut, Judgement
from tissue.refraction import Refraction
from tissue.removal import Treatment

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
