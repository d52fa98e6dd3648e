"""What a plan does to the optics: refraction achieved, asphericity, spherical aberration, and the zone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from tissue.budget.spread import Z95
from tissue.eye.cornea import INDEX, Cornea, Pupil
from tissue.ground.errors import given
from tissue.ground.limits import of_kind, shape_together
from tissue.ground.vocabulary import Array, Floats
from tissue.optics.paraxial import achieved
from tissue.optics.pupil import c40_change_um
from tissue.optics.trace import (
    COARSE,
    conic_error_D,
    flat_columns,
    front_c40_um,
    in_blocks,
    kept_radius_mm,
    operated_error_D,
)
from tissue.removal.options import Option
from tissue.removal.over_pupil import outside_percent
from tissue.removal.profile import Profile
from tissue.removal.removal import POWER_PER_CURVATURE, Removal, Treatment

KEPT_LIMIT_D = 0.5  # local refraction error up to which a zone keeps the correction; our own definition


@dataclass(frozen=True, eq=False)
class Optics:
    """Optical figures of one option, by the names of the interface; NaN where a figure cannot be given.

    The refraction is the one the tissue corrects, at the corneal plane, in minus form. c40_before_um: front
    surface about its own focus, traced. c40_change_um: thin plate, (n − 1)·t over the pupil. zone_kept: diameter
    over which the traced local refraction error of the front surface stays within 0.5 D.
    """

    refraction_sphere_D: Floats
    refraction_cylinder_D: Floats
    refraction_axis_deg: Floats
    asphericity_after: Floats
    c40_before_um: Floats
    c40_change_um: Floats
    apex_shift_D: Floats
    zone_kept_before_mm: Floats
    zone_kept_after_mm: Floats
    pupil_outside_zone_percent: Floats


def optics(cornea: Cornea, treatment: Treatment, option: Option | Removal, pupil: Pupil = Pupil()) -> Optics:
    """Optical figures of one option; they follow the planned refraction, never a reported depth.

    Args:
        cornea, treatment: Cornea and Treatment.
        option: Option, or its Removal.
        pupil: Pupil.

    >>> from tissue import Cornea, Refraction, Treatment
    >>> from tissue.removal.removal import removal
    >>> eye, plan = Cornea(550.0, asphericity=-0.26), Treatment(Refraction(-6.0, vertex_mm=0.0))
    >>> figures = optics(eye, plan, removal(eye, plan, 0.0))
    >>> [round(float(v), 4) for v in (figures.refraction_sphere_D, figures.c40_change_um, figures.apex_shift_D)]
    [-6.0, -0.2337, 0.1238]
    """
    of_kind(cornea=(cornea, Cornea), treatment=(treatment, Treatment), option=(option, Option | Removal))
    of_kind(pupil=(pupil, Pupil))
    taken = option.removal if isinstance(option, Option) else option
    shape_together(cornea, treatment, treatment.refraction, taken, pupil)
    minus = achieved(taken)
    return Optics(
        refraction_sphere_D=minus.sphere_D,
        refraction_cylinder_D=minus.cylinder_D,
        refraction_axis_deg=np.where(minus.cylinder_D == 0.0, np.nan, minus.axis_deg)[()],
        asphericity_after=asphericity_after(cornea, treatment, taken),
        c40_before_um=front_c40_um(cornea.radius_mm, cornea.asphericity, pupil.pupil_mm),
        c40_change_um=c40_change_um(taken, pupil),
        apex_shift_D=apex_shift_D(taken),
        zone_kept_before_mm=zone_kept_before_mm(cornea),
        zone_kept_after_mm=zone_kept_after_mm(cornea, taken),
        pupil_outside_zone_percent=outside_percent(pupil, taken),
    )


def optics_by_option(
    cornea: Cornea, treatment: Treatment, options: Sequence[Option], pupil: Pupil = Pupil()
) -> list[Optics]:
    """Optical figures of several options of one treatment, as a list; what does not depend on the option done once.

    Args:
        cornea, treatment: Cornea and Treatment.
        options: Options of that treatment on that cornea; they differ in blend and base only.
        pupil: Pupil.
    """
    first = optics(cornea, treatment, options[0], pupil)
    found = {id(options[0].removal): first}
    for option in options[1:]:
        taken = option.removal
        if id(taken) not in found:
            own = {"c40_change_um": c40_change_um(taken, pupil), "apex_shift_D": apex_shift_D(taken)}
            found[id(taken)] = replace(first, **own)
    return [found[id(option.removal)] for option in options]


def asphericity_after(cornea: Cornea, treatment: Treatment, taken: Removal) -> Floats:
    """Asphericity of the front surface after [–], of the mean meridian; source gatinel2001.

    munnerlyn Q1·(R2/R1)³; parabolic (1 + Q1)·(R2/R1)³ − 1; conic the target, as before where none was given.
    """
    kind, Q1 = np.asarray(treatment.profile), cornea.asphericity
    growth = (taken.profile.before_per_mm / mean_curvature(taken.profile)) ** 3
    conic = given(treatment.target_asphericity, Q1)
    after = np.select([kind == "munnerlyn", kind == "parabolic"], [Q1 * growth, (1.0 + Q1) * growth - 1.0], conic)
    return np.where(np.isnan(growth), np.nan, after)[()]


def mean_curvature(profile: Profile) -> Floats:
    """Mean of the two principal curvatures after [1/mm]."""
    return (profile.along_per_mm + profile.across_per_mm) / 2.0


def apex_shift_D(taken: Removal) -> Floats:
    """Refraction left because taking tissue off the front moves the vertex back [D]; a note, not part of the plan.

    V/(1 − t·V/n) − V, V the front power after [D], t the tissue at the treatment centre, base included [m].

    >>> from tissue import Cornea, Refraction, Treatment
    >>> from tissue.removal.removal import removal
    >>> plan = Treatment(Refraction(-3.0, vertex_mm=0.0))
    >>> round(float(apex_shift_D(removal(Cornea(550.0), plan, 0.0))), 2)
    0.07
    """
    return _apex_shift_D(taken, taken.central_unscaled_um + taken.base_um)


def apex_shift_interval_D(option: Option) -> tuple[Floats, Floats]:
    """95 % interval of the shift of the vertex [D]: the shifts at the ends of the removal's own error.

    Exact: the shift hangs on that error alone and rises with it. Nothing removed at the centre stays nothing.

    Args:
        option: Option.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> flap = compare(Cornea(550.0), Treatment(Refraction(-6.0))).results["flap"].option
    >>> [round(float(end), 3) for end in apex_shift_interval_D(flap)]
    [0.109, 0.168]
    """
    taken, error = option.removal, option.removal_error
    planned = taken.central_unscaled_um + taken.base_um
    ends = (error.bias_um + sign * Z95 * error.sd_um for sign in (-1.0, 1.0))
    low, high = (np.where(planned > 0, np.maximum(planned + end, 0.0), 0.0) for end in ends)
    return _apex_shift_D(taken, low), _apex_shift_D(taken, high)


def _apex_shift_D(taken: Removal, depth_um: Floats) -> Floats:
    """Shift of the vertex [D] where so much is removed at the treatment centre [µm]."""
    V = POWER_PER_CURVATURE * mean_curvature(taken.profile)
    return V / (1.0 - depth_um * 1e-6 * V / INDEX) - V


def zone_kept_before_mm(cornea: Cornea, limit_D: Floats = KEPT_LIMIT_D) -> Floats:
    """Diameter [mm] over which the untouched front surface keeps its central power within a limit [D].

    At most the corneal diameter.
    """
    columns, shape = flat_columns(
        1.0 / cornea.radius_mm, 1.0 + cornea.asphericity, cornea.white_to_white_mm / 2.0, limit_D
    )
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        radius = in_blocks(
            lambda c, K, far, limit: kept_radius_mm(lambda r2: conic_error_D(r2, c, K), far, limit),
            COARSE.size,
            *columns,
        )
    return (2.0 * radius).reshape(shape)[()]


def zone_kept_after_mm(cornea: Cornea, taken: Removal, limit_D: Floats = KEPT_LIMIT_D) -> Floats:
    """Diameter [mm] over which the operated front surface keeps the planned power within a limit [D].

    On both principal meridians, treated about the vertex, no further than the optical zone: a blend is not zone.
    """
    p = taken.profile
    columns, shape = flat_columns(
        1.0 / cornea.radius_mm,
        1.0 + cornea.asphericity,
        p.along_per_mm,
        p.across_per_mm,
        p.K_before,
        p.K_after,
        p.zone_radius_mm,
        limit_D,
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        radius = in_blocks(_kept_after, COARSE.size, *columns)
    return (2.0 * radius).reshape(shape)[()]


def _kept_after(*columns: Array) -> Array:
    """Kept radius [mm] of a column, from the columns that `zone_kept_after_mm` makes: the lesser of two meridians."""
    curvature, K, along, across, K_before, K_after, zone_radius, limit_D = columns
    surfaces = {"curvature_per_mm": curvature, "K": K, "K_before": K_before, "K_after": K_after}
    radii = [
        kept_radius_mm(partial(operated_error_D, after_per_mm=after, **surfaces), zone_radius, limit_D)
        for after in (along, across)
    ]
    return np.minimum(radii[0], radii[1])
