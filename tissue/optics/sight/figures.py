"""The figures of one planned surface over one pupil, by the names of the interface."""

from dataclasses import asdict, dataclass, replace
from functools import cache

import numpy as np

from tissue.eye.cornea import Cornea, Pupil
from tissue.optics.sight.contrast import along_six, autocorrelation, pupil_pixels, transfer, visual_strehl
from tissue.optics.sight.focus import InPupil, amplitude
from tissue.optics.sight.image import FAR_ARCMIN, NEAR_ARCMIN, point_spread
from tissue.optics.sight.light_lines import GREEN, lines_of_light
from tissue.optics.sight.smoothing import smoothed
from tissue.optics.sight.wave import OwnWave, Wave, require_surface
from tissue.removal.over_pupil import outside_percent
from tissue.removal.removal import Removal
from tissue.sources import data


@dataclass(frozen=True, eq=False)
class View:
    """How a surface is looked at.

    light: `555` or `white`; smoothing_mm: length over which the epithelium smooths, 0 for not at all;
    stiles_crawford_per_mm2: ρ of the amplitude 10^(−ρ·r²/2); eye_c40_um: the eye's own spherical aberration over 6 mm.
    """

    light: str = GREEN
    smoothing_mm: float = 0.0
    stiles_crawford_per_mm2: float = 0.0
    eye_c40_um: float = data("sight")["eye"]["c40_um"]


@dataclass(frozen=True, eq=False)
class Sight:
    """Figures of one surface over one pupil; NaN where a figure cannot be given. Units stand in the names.

    wave_rms_um: by area. strehl: greatest point spread within 3′ of the axis over that without error; source
    thibos2004. mtf_…: mean and least over six directions [0–1]. visual_strehl: MTF form; source mannos1974.
    radius_95_arcmin: of the rays. focus_D: the sphere that was taken off.
    """

    wave_rms_um: float
    strehl: float
    mtf_10: float
    mtf_10_least: float
    mtf_20: float
    mtf_20_least: float
    visual_strehl: float
    light_3_arcmin_percent: float
    light_10_arcmin_percent: float
    radius_95_arcmin: float
    c40_change_um: float
    outside_zone_percent: float
    untreated_percent: float
    focus_D: float


NOTHING = Sight(*[np.nan] * len(Sight.__dataclass_fields__))


def sight_of(cornea: Cornea, taken: Removal, pupil: Pupil, view: View = View()) -> Sight:
    """Figures of the planned surface; where less than a quarter of the pupil lies in the zone, the two shares alone.

    Args:
        cornea, taken, pupil: Cornea, Removal and Pupil of one eye (numbers).
        view: View.

    Raises:
        EyeError: a front surface that ends within the pupil.

    >>> from tissue import Cornea, Refraction, Treatment
    >>> from tissue.removal.removal import removal
    >>> eye, plan = Cornea(550.0, asphericity=-0.26), Treatment(Refraction(-6.0, vertex_mm=0.0))
    >>> found = sight_of(eye, removal(eye, plan, 0.0), Pupil(6.0))
    >>> round(found.c40_change_um, 4), found.untreated_percent
    (-0.2032, 0.0)
    """
    seen = in_pupil(cornea, taken, pupil, view)
    outside = float(outside_percent(pupil, taken))
    untreated = untreated_percent(pupil, taken)
    known = sight_figures(seen, view) if seen.can_be_fitted else asdict(NOTHING)
    return Sight(**known | {"outside_zone_percent": outside, "untreated_percent": untreated})


def sight_before(pupil: Pupil, view: View = View()) -> Sight:
    """Figures of the eye before surgery: its own spherical aberration alone; no zone.

    >>> sight_before(Pupil(6.0)).c40_change_um
    0.0
    """
    return Sight(**sight_figures(InPupil(OwnWave(view.eye_c40_um), pupil), view))


def in_pupil(cornea: Cornea, taken: Removal, pupil: Pupil, view: View, defocus_D: float = 0.0) -> InPupil:
    """The wave of a planned surface over a pupil.

    Raises:
        EyeError: a front surface that ends within the pupil.
    """
    require_surface(cornea, pupil)
    tissue = smoothed(taken, view.smoothing_mm) if view.smoothing_mm else None
    return InPupil(Wave(cornea, taken, view.eye_c40_um, tissue), pupil, defocus_D)


def untreated_percent(pupil: Pupil, taken: Removal) -> float:
    """Share of the pupil that lies outside zone and blend [%]."""
    whole = replace(taken, profile=replace(taken.profile, zone_radius_mm=taken.radius_mm, blend_mm=0.0))
    return float(outside_percent(pupil, whole))


def sight_figures(seen: InPupil, view: View) -> dict[str, float]:
    """Every figure of a wave over a pupil but the two shares, which are NaN, by name."""
    rho = view.stiles_crawford_per_mm2
    otf = transfer(seen, view.light, rho)
    perfect = without_error(seen.radius_mm, rho)
    at_10, at_20 = along_six(otf, 10), along_six(otf, 20)
    known = asdict(NOTHING) | {
        "wave_rms_um": seen.wave_rms_um,
        "mtf_10": float(at_10.mean()),
        "mtf_10_least": float(at_10.min()),
        "mtf_20": float(at_20.mean()),
        "mtf_20_least": float(at_20.min()),
        "visual_strehl": visual_strehl(otf, perfect),
        "radius_95_arcmin": seen.radius_95_arcmin(rho),
        "c40_change_um": seen.c40_change_um,
        "focus_D": seen.focus_D,
    }
    return known | _light(seen, view)


def _light(seen, view):
    """Light near the axis, and the Strehl ratio where the light is one line."""
    lines = lines_of_light(view.light)
    spreads = [point_spread(seen, line, view.stiles_crawford_per_mm2) for line in lines]

    def within(radius):
        return sum(line.share * one.within_percent(radius) for line, one in zip(lines, spreads, strict=True))

    return {
        "strehl": spreads[0].strehl if len(lines) == 1 else np.nan,
        "light_3_arcmin_percent": within(NEAR_ARCMIN),
        "light_10_arcmin_percent": within(FAR_ARCMIN),
    }


@cache
def without_error(radius_mm: float, stiles_crawford_per_mm2: float) -> np.ndarray:
    """Transfer function of a pupil [mm] without error at 555 nm; as `contrast.transfer`."""
    (line,) = lines_of_light(GREEN)
    cells = pupil_pixels(radius_mm, line.wavelength_nm)
    return autocorrelation(cells, amplitude(cells.x_mm, cells.y_mm, stiles_crawford_per_mm2))
