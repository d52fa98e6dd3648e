"""One reading of an eye, before or after surgery."""

from dataclasses import dataclass
from functools import cache

from tissue.ground.limits import finite, keep_reasons, known_words, taken_over
from tissue.ground.sources import data
from tissue.ground.vocabulary import Floats

METHODS = ("ultrasound", "oct", "scheimpflug", "vhf")
THICKNESSES = ("thickness_um", "epithelium_um", "cut_um", "bed_um")
WORDS = {  # what was measured, in words, with its unit and decimals
    "thickness_um": ("thickness", "µm", 0),
    "epithelium_um": ("epithelium", "µm", 0),
    "cut_um": ("flap or cap", "µm", 0),
    "bed_um": ("bed", "µm", 0),
    "K_D": ("K", "D", 2),
    "SE_D": ("spherical equivalent", "D", 2),
}
DAYS = (-36500.0, 36500.0)  # a hundred years to either side
METHOD_WORDS = {
    "oct": "OCT",
    "ultrasound": "ultrasound",
    "vhf": "high-frequency ultrasound",
    "scheimpflug": "Scheimpflug",
}


@cache
def noise_um(method: str) -> float:
    """SD of one reading of thickness by a method [µm].

    >>> [noise_um(method) for method in METHODS]
    [8.3, 1.3, 2.5, 0.74]
    """
    return next(entry["sd"] for entry in data("errors")["error"] if entry.get("method") == method)


@dataclass(frozen=True, eq=False)
class Reading:
    """What was measured of an eye on one day; numbers or arrays over eyes, None where not measured.

    Args:
        days: since surgery; below 0 before it.
        method: how the thicknesses were measured, one of METHODS.
        thickness_um, epithelium_um, cut_um, bed_um: at the centre [µm].
        K_D: mean K of the front [D].
        SE_D: spherical equivalent of the refraction, spectacles [D].
        sd_um: noise of the thicknesses [µm]; that of the method where None.
    A row of a column that is outside its physical range has no figure; `reasons` says why.

    Raises:
        EyeError: an impossible value, named with its limit; an unknown method.
    """

    days: float
    method: str
    thickness_um: Floats | None = None
    epithelium_um: Floats | None = None
    cut_um: Floats | None = None
    bed_um: Floats | None = None
    K_D: Floats | None = None
    SE_D: Floats | None = None
    sd_um: float | None = None
    reasons = ""  # why rows of columns have no figures: no input, and set when the values are taken over

    def __post_init__(self) -> None:
        finite(self, {"days": DAYS})
        known_words(self, "method", METHODS, METHODS[0])
        keep_reasons(self, taken_over(self, (*THICKNESSES, "K_D", "SE_D", "sd_um")))

    @property
    def after(self) -> bool:
        """Whether it was read after surgery."""
        return self.days >= 0

    @property
    def noise_um(self) -> float:
        """SD of one of its thicknesses [µm].

        >>> Reading(90, "oct").noise_um, Reading(90, "oct", sd_um=2.0).noise_um
        (1.3, 2.0)
        """
        return noise_um(self.method) if self.sd_um is None else self.sd_um

    @property
    def measured(self) -> tuple[str, ...]:
        """Names of what was measured, in the order of the fields.

        >>> Reading(90, "oct", thickness_um=447.0, K_D=38.2).measured
        ('thickness_um', 'K_D')
        """
        return tuple(name for name in (*THICKNESSES, "K_D", "SE_D") if getattr(self, name) is not None)

    @property
    def thicknesses(self) -> tuple[str, ...]:
        """Names of the thicknesses that were measured, in order."""
        return tuple(name for name in self.measured if name in THICKNESSES)
