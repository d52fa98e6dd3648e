"""How one looks through a surface: the light and the eye; and the field of a wave in this light."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tissue.ground.limits import finite, one_word
from tissue.ground.sources import data
from tissue.ground.vocabulary import Array

ARCMIN = float(np.pi / 180.0 / 60.0)  # radians
GREEN, WHITE = "555", "white"
RANGES = {"smoothing_mm": (0.0, 3.0), "stiles_crawford_per_mm2": (0.0, 1.0), "eye_c40_um": (-5.0, 5.0)}  # of any eye


class Line(NamedTuple):
    """A line of light: wavelength [nm], share of the whole [0–1], and how far it is out of focus [D]."""

    wavelength_nm: float
    share: float
    defocus_D: float

    @property
    def wavelength_mm(self) -> float:
        """Wavelength [mm]."""
        return self.wavelength_nm * 1e-6


@dataclass(frozen=True, eq=False)
class View:
    """How one looks through a surface.

    light: `555` or `white`; smoothing_mm: length over which the epithelium smooths, 0 for not at all;
    stiles_crawford_per_mm2: ρ of the amplitude 10^(−ρ·r²/2); eye_c40_um: the eye's own spherical aberration over 6 mm.

    Raises:
        EyeError: another light; a value outside its range.
    """

    light: str = GREEN
    smoothing_mm: float = 0.0
    stiles_crawford_per_mm2: float = 0.0
    eye_c40_um: float = data("sight")["eye"]["c40_um"]

    def __post_init__(self) -> None:
        one_word(self.light, "light", (GREEN, WHITE))
        finite(self, RANGES)


def lines_of_light(light: str) -> tuple[Line, ...]:
    """The lines of `555` or `white` light; the middle one is in focus. Source thibos1992.

    >>> [round(line.defocus_D, 2) for line in lines_of_light("white")]
    [-0.52, -0.21, 0.0, 0.17, 0.34]
    """
    green, white = data("sight")["green"]["wavelength_nm"], data("sight")["white"]
    if light == GREEN:
        return (Line(green, 1.0, 0.0),)
    gain, pole, total = white["chromatic_D_nm"], white["chromatic_nm"], sum(white["weights"])
    defocus = [gain / (green - pole) - gain / (one - pole) for one in white["wavelengths_nm"]]
    shares = [weight / total for weight in white["weights"]]
    return tuple(Line(*one) for one in zip(white["wavelengths_nm"], shares, defocus, strict=True))


def field(wave_um: Array, amplitude: Array, wavelength_nm: float) -> np.ndarray:
    """amplitude·exp(2πi·W/λ) at places, in single precision: whole waves are taken off first."""
    waves = wave_um / (wavelength_nm * 1e-3)
    turn = (2.0 * np.pi * (waves - np.rint(waves))).astype(np.float32)
    size = np.asarray(amplitude, dtype=np.float32)
    made = np.empty(turn.shape, dtype=np.complex64)
    made.real, made.imag = size * np.cos(turn), size * np.sin(turn)
    return made
