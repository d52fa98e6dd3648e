"""The figures of one planned surface over one pupil, by the names of the interface."""

from dataclasses import asdict, dataclass, replace

import numpy as np

from tissue.eye.cornea import Cornea, Pupil
from tissue.ground.limits import of_kind, single_eye
from tissue.optics.sight.contrast import contrast_figures
from tissue.optics.sight.focus import InPupil
from tissue.optics.sight.image import FAR_ARCMIN, image_figures, light_percent
from tissue.optics.sight.view import View
from tissue.optics.sight.wave import OwnWave, Wave, require_surface, smoothed
from tissue.removal.over_pupil import outside_percent
from tissue.removal.removal import Removal


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
    of_kind(cornea=(cornea, Cornea), taken=(taken, Removal), pupil=(pupil, Pupil), view=(view, View))
    single_eye(cornea, taken, pupil)
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
    of_kind(pupil=(pupil, Pupil), view=(view, View))
    single_eye(pupil)
    return Sight(**sight_figures(InPupil(OwnWave(view.eye_c40_um), pupil), view))


def light_and_contrast(cornea: Cornea, taken: Removal, pupil: Pupil, view: View = View()) -> tuple[float, float]:
    """Light within 10′ [%] and the mean MTF at 10 cycles/degree; NaN where little of the pupil lies in the zone.

    Raises:
        EyeError: a front surface that ends within the pupil.
    """
    seen = in_pupil(cornea, taken, pupil, view)
    if not seen.can_be_fitted:
        return np.nan, np.nan
    light = light_percent(seen, view.light, view.stiles_crawford_per_mm2, FAR_ARCMIN)
    return light, contrast_figures(seen, view)["mtf_10"]


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
    """Every figure of a wave over a pupil, by name; the two shares of light are NaN here, they are worked out apart."""
    return (
        asdict(NOTHING)
        | {
            "wave_rms_um": seen.wave_rms_um,
            "radius_95_arcmin": seen.radius_95_arcmin(view.stiles_crawford_per_mm2),
            "c40_change_um": seen.c40_change_um,
            "focus_D": seen.focus_D,
        }
        | contrast_figures(seen, view)
        | image_figures(seen, view)
    )
