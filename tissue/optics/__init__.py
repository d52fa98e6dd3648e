"""What a plan does to the optics of the eye."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from tissue.optics.figures import Optics, optics, optics_by_option
from tissue.optics.pupil import least_squares

if TYPE_CHECKING:
    from tissue.optics.centration import centred_at, decentration
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

LATER = {
    "centred_at": "centration",
    "decentration": "centration",
    "residual_of": "rotation",
    "rotation_residual": "rotation",
}  # the module of each name that is loaded when it is first asked for: a plan does not need them


def __getattr__(name: str) -> Any:
    """A name that is loaded when it is first asked for."""
    if name not in LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{LATER[name]}"), name)
