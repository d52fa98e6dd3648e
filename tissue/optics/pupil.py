"""What removed tissue does over a pupil: a thin plate fitted with Zernike terms, and the overlap with the zone."""

from dataclasses import dataclass, fields

import numpy as np

from tissue.eye.cornea import INDEX, Pupil
from tissue.eye.refraction import PowerVector, Refraction
from tissue.ground.errors import number
from tissue.ground.limits import of_kind, shape_together
from tissue.ground.vocabulary import Array, Flags, Floats
from tissue.optics.paraxial import minus_form
from tissue.optics.trace import flat_columns, in_blocks
from tissue.optics.zernike import RINGS, SPOKES, coefficients, index, nodes, weights
from tissue.removal.over_pupil import distance_mm
from tissue.removal.profile import Profile
from tissue.removal.removal import Removal

WITHIN_ZONE = (8, 12)  # rings and spokes over a pupil that sees no edge: the same C40 within 1e-6 µm


@dataclass(frozen=True, eq=False)
class Fit:
    """What a least-squares fit over the pupil finds: refraction corrected, C40 and coma it adds [µm].

    It depends on the pupil, and says little where `past_zone` (the pupil reaches past the zone) or `off_centre`.
    """

    refraction: Refraction
    c40_um: Floats
    coma_x_um: Floats
    coma_y_um: Floats
    past_zone: Flags
    off_centre: Flags


def c40_change_um(taken: Removal, pupil: Pupil) -> Floats:
    """Change of primary spherical aberration over the pupil [µm]: thin plate, ΔW = (n − 1)·t, about its centre.

    A trace of the whole eye keeps about 0.03 µm more at −6 D over 6 mm (source optiland): before surgery the cornea
    works for the far point. On a parabolic profile the thin plate has none at all.
    """
    p = taken.profile
    u, v = taken.axes(pupil.pupil_x_mm, pupil.pupil_y_mm)
    shape_of = (p.before_per_mm, p.along_per_mm, p.across_per_mm, p.K_before, p.K_after, p.zone_radius_mm, p.blend_mm)
    columns, shape = flat_columns(*shape_of, taken.central_unscaled_um, u, v, number(pupil.pupil_mm) / 2.0)
    smooth = np.hypot(columns[8], columns[9]) + columns[10] <= columns[5]
    change = np.empty(smooth.shape)
    with np.errstate(invalid="ignore"):
        for rows, rule in ((smooth, WITHIN_ZONE), (~smooth, (RINGS, SPOKES))):
            part = [column[rows] for column in columns]
            change[rows] = in_blocks(lambda *block, rule=rule: _c40_of_tissue(rule, *block), rule[0] * rule[1], *part)
    return (INDEX - 1.0) * change.reshape(shape)[()]


def _c40_of_tissue(rule: tuple[int, int], *block: Array) -> Array:
    """C40 of t over the pupil [µm] for a column of profile, central removal, pupil centre and pupil radius."""
    *shape_of, central, u, v, radius = block
    x, y, _ = nodes(*rule)
    t = _thickness_um(Profile(*shape_of), u + radius * x[:, None], v + radius * y[:, None], central)
    return weights(4, 0, *rule) @ t


def _thickness_um(profile: Profile, u: Array, v: Array, central: Array) -> Array:
    """t [µm] at places of shape (nodes, rows); the few past the zone go through the blend."""
    t = central - profile.drop_um(u, v)
    place, row = np.nonzero(u**2 + v**2 > profile.zone_radius_mm**2)
    past = Profile(*(getattr(profile, field.name)[row] for field in fields(profile)))
    t[place, row] = past.thickness_um(u[place, row], v[place, row], central[row])
    return t


def least_squares(taken: Removal, pupil: Pupil) -> Fit:
    """Fit of the thin plate (n − 1)·t over a pupil: Fit; the refraction is that of the wavefront taken off.

    Args:
        taken: Removal.
        pupil: Pupil.
    """
    of_kind(taken=(taken, Removal), pupil=(pupil, Pupil))
    shape_together(taken, pupil)
    a = number(pupil.pupil_mm) / 2.0
    x, y, _ = nodes()
    lead = (-1,) + (1,) * np.ndim(a + pupil.pupil_x_mm + pupil.pupil_y_mm + taken.central_unscaled_um)
    places = (centre + a * node.reshape(lead) for centre, node in ((pupil.pupil_x_mm, x), (pupil.pupil_y_mm, y)))
    t = taken.profile.thickness_um(*taken.axes(*places), taken.central_unscaled_um)
    C = (INDEX - 1.0) * coefficients(t)
    away = distance_mm(pupil, taken)
    return Fit(
        refraction=minus_form(power_vector_of(-C, pupil.pupil_mm)),
        c40_um=C[index(4, 0)],
        coma_x_um=C[index(3, 1)],
        coma_y_um=C[index(3, -1)],
        past_zone=np.asarray(away + a > taken.profile.zone_radius_mm)[()],
        off_centre=np.asarray(away > 0)[()],
    )


def power_vector_of(wave_um: Array, pupil_mm: Floats) -> PowerVector:
    """Power vector [D] of a wavefront's coefficients in OSA/ANSI order [µm, shape (terms, …)]; source thibos2004.

    SE = −4√3·C20/a², J0 = −2√6·C22/a², J45 = −2√6·C2−2/a², a the pupil radius [mm]
    """
    a2 = (number(pupil_mm) / 2.0) ** 2
    round_, straight, oblique = (wave_um[index(2, m)] for m in (0, 2, -2))
    return PowerVector(-4.0 * 3**0.5 * round_ / a2, -2.0 * 6**0.5 * straight / a2, -2.0 * 6**0.5 * oblique / a2)
