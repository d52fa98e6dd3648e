"""The tissue budget of an eye before and after corneal refractive surgery.

What a notebook needs. The arithmetic of one eye, or of a column of eyes, is there at once; the rest is loaded when it
is first asked for, because a command that does not need it should not wait for it.

>>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
>>> {name: round(float(result.budget.bed_central_um)) for name, result in plan.results.items()}
{'surface': 392, 'flap': 335, 'lenticule': 326}
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from tissue.budget.budget import Budget
from tissue.budget.comparison import Comparison, Result, compare
from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import VERSION
from tissue.removal.options import CapCut, Errors, FlapCut, Judgement, Option
from tissue.removal.removal import Treatment

if TYPE_CHECKING:
    from tissue import mechanics, optics, series
    from tissue.entry.plan_file import read_plan
    from tissue.report.contract import figures

__version__ = VERSION

__all__ = [
    "Budget",
    "CapCut",
    "Comparison",
    "Cornea",
    "Errors",
    "EyeError",
    "FlapCut",
    "Judgement",
    "Option",
    "Pupil",
    "Refraction",
    "Result",
    "Treatment",
    "compare",
    "figures",
    "mechanics",
    "optics",
    "read_plan",
    "series",
]

LATER = {
    "figures": ("tissue.report.contract", "figures"),
    "mechanics": ("tissue.mechanics", ""),
    "optics": ("tissue.optics", ""),
    "read_plan": ("tissue.entry.plan_file", "read_plan"),
    "series": ("tissue.series", ""),
}  # where each name that is loaded later stands: module, and name in it where it is not the module itself


def __getattr__(name: str) -> Any:
    """A name that is loaded when it is first asked for."""
    if name not in LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, inside = LATER[name]
    found = import_module(module)
    return getattr(found, inside) if inside else found
