"""What a plan does to the optics of the eye."""

from tissue.optics.centration import centred_at, decentration
from tissue.optics.figures import Optics, optics, optics_by_option
from tissue.optics.pupil import least_squares
from tissue.optics.rotation import residual_of, rotation_residual

__all__ = [
    "Optics",
    "centred_at",
    "decentration",
    "least_squares",
    "optics",
    "optics_by_option",
    "residual_of",
    "rotation_residual",
]
