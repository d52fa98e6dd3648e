"""Greatest differences, plan by plan, of the optics of the planned surface from what was made apart."""

from dataclasses import asdict, replace

import numpy as np
from prysm.propagation import focus_fixed_sampling
from scipy.special import j0, j1
from sight_cases import (
    ARCMIN,
    GREEN_MM,
    before_part,
    dense_contrast,
    dense_field,
    dense_light_percent,
    sight_plans,
    turned_from_focus,
    wave_by_definition,
)  # fmt: skip

from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.optics.sight.contrast import HIGHEST, transfer
from tissue.optics.sight.figures import in_pupil, sight_of
from tissue.optics.sight.focus import InPupil
from tissue.optics.sight.image import light_percent, point_spread
from tissue.optics.sight.view import View, lines_of_light
from tissue.optics.sight.wave import OwnWave, Wave
from tissue.removal.removal import Treatment, removal

(GREEN,) = lines_of_light("555")
MOST_CELLS = 1400  # across a dense pupil, beyond which it takes too long


def wave(plans):
    """W [µm] against its definition, number by number, at 40 places a plan."""
    rng = np.random.default_rng(5)
    for eye, taken, pupil in sight_plans(plans, 122):
        r, turn = pupil.pupil_mm / 2.0 * np.sqrt(rng.uniform(size=40)), rng.uniform(0, 2 * np.pi, 40)
        x, y = pupil.pupil_x_mm + r * np.cos(turn), pupil.pupil_y_mm + r * np.sin(turn)
        wanted = [wave_by_definition(eye, taken, 0.128, a, b) for a, b in zip(x, y, strict=True)]
        yield np.abs(Wave(eye, taken, 0.128)(x, y) - wanted).max()


def rays(plans):
    """Slopes [rad] against rays by the vector law of refraction."""
    rng = np.random.default_rng(7)
    for _ in range(plans):
        eye = Cornea(550.0, radius_mm=rng.uniform(7.3, 8.4), asphericity=rng.uniform(-0.6, 0.3))
        taken = removal(eye, Treatment(Refraction(rng.uniform(-9.0, -1.0), vertex_mm=0.0), 7.0), 0.5)
        x, h, found = np.linspace(0.2, 3.0, 12), 1e-4, Wave(eye, taken, 0.0)
        slope = (found(x + h, 0.3 * x) - found(x - h, 0.3 * x)) / (2 * h) * 1e-3
        wanted = -turned_from_focus(eye, taken, x, 0.3 * x) - before_part(eye, taken, x, 0.3 * x)
        yield np.abs(slope - wanted).max()


def closed_contrast(plans):
    """MTF of pupils without error against 2/π·(acos s − s·√(1 − s²))."""
    up, across = np.mgrid[0 : HIGHEST + 1, -HIGHEST : HIGHEST + 1]
    for width in np.linspace(2.0, 9.0, plans):
        s = np.minimum(np.degrees(1.0) * np.hypot(up, across) * GREEN_MM / width, 1.0)
        wanted = 2 / np.pi * (np.arccos(s) - s * np.sqrt(1 - s**2))
        yield np.abs(transfer(InPupil(OwnWave(0.0), Pupil(width)), "555", 0.0) - wanted).max()


def closed_light(plans):
    """Light [%] of pupils without error against 1 − J0² − J1² (Rayleigh)."""
    for width in np.linspace(2.0, 9.0, plans):
        found = point_spread(InPupil(OwnWave(0.0), Pupil(width)), GREEN, 0.0)
        for radius in (3.0, 10.0):
            v = np.pi * width * radius * ARCMIN / GREEN_MM
            yield abs(found.within_percent(radius) - 100 * (1 - j0(v) ** 2 - j1(v) ** 2))


def _fitted(plans, seed, most_pupil_mm=9.0):
    """As many waves over a pupil as are asked for; a plan beside its pupil is passed over."""
    number = 0
    for eye, taken, pupil in sight_plans(20 * plans, seed):
        seen = in_pupil(eye, taken, Pupil(min(float(pupil.pupil_mm), most_pupil_mm)), View())
        if seen.can_be_fitted:
            number += 1
            yield seen
        if number == plans:
            return


def spread(plans):
    """Point spread over the peak against prysm's matrix transform of a dense field."""
    for seen in _fitted(plans, 3, 4.8):
        found = point_spread(seen, GREEN, 0.0, 3.0)
        E, step, _ = dense_field(seen, 640)
        place = (step, 100.0, GREEN_MM * 1e3, found.step_arcmin * ARCMIN * 1e5, found.values.shape[0])
        field, plain = (focus_fixed_sampling(one, *place) for one in (E, np.abs(E).astype(complex)))
        wanted = np.abs(field) ** 2 / np.abs(plain).max() ** 2
        yield min(np.abs(found.values - one).max() for one in (wanted, wanted[::-1, ::-1]))


def contrast(plans):
    """Transfer function at four frequencies against a field three times as fine, summed straight."""
    for seen in _fitted(plans, 17, 6.0):
        otf = transfer(seen, "555", 0.0)
        found = dense_contrast(seen, ((10, 0), (8, 6), (0, 20), (-16, 12)))
        pairs = [(otf[up, HIGHEST + across], wanted) for (across, up), wanted in found.items()]
        yield max(min(abs(a - b), abs(a - np.conj(b))) for a, b in pairs)


def light(plans):
    """Light within 3′ and 10′ [%] against a plain transform of a field that is dense by the rule for the cells."""
    number = 0
    for seen in _fitted(20 * plans, 11):
        steepest = np.nanmax(seen.slopes_arcmin)
        count = int(1.25 * 2 * seen.radius_mm * (steepest + 10.0) * ARCMIN / GREEN_MM)
        if count > MOST_CELLS:
            continue
        found = point_spread(seen, GREEN, 0.0)
        yield max(abs(found.within_percent(r) - dense_light_percent(seen, max(count, 400), r)) for r in (3.0, 10.0))
        number += 1
        if number == plans:
            return


def _alike(one, other):
    """Greatest difference of two Sights, of the size of each figure where it is over 1."""
    pairs = zip(asdict(one).values(), asdict(other).values(), strict=True)
    return max(abs(a - b) / max(1.0, abs(b)) for a, b in pairs if not np.isnan(b))


def _moved(plans, seed, place, axis):
    """Figures of plans against those of the same ones with every place moved."""
    for eye, taken, pupil in sight_plans(plans, seed):
        x, y = place(float(taken.centre_x_mm), float(taken.centre_y_mm))
        there = replace(taken, centre_x_mm=x, centre_y_mm=y, axis_deg=axis(float(taken.axis_deg)) % 180.0)
        about = Pupil(pupil.pupil_mm, *place(float(pupil.pupil_x_mm), float(pupil.pupil_y_mm)))
        yield _alike(sight_of(eye, taken, pupil), sight_of(eye, there, about))


def mirrored(plans):
    """A left eye mirrored is the right one."""
    return _moved(plans, 41, lambda x, y: (-x, y), lambda axis: 180.0 - axis)


def turned(plans):
    """Turned a quarter about the vertex: the same figures."""
    return _moved(plans, 43, lambda x, y: (-y, x), lambda axis: axis + 90.0)


def wider(plans):
    """Points of light within 10′ lost by 0.1 mm more zone, at pupils of 5.5 mm and more."""
    for eye, taken, pupil in sight_plans(plans, 47):
        pupil = Pupil(max(float(pupil.pupil_mm), 5.5), taken.centre_x_mm, taken.centre_y_mm)
        more = replace(taken.profile, zone_radius_mm=taken.profile.zone_radius_mm + 0.05)
        shape = replace(taken, profile=more, central_unscaled_um=sum(more.central_um()))
        both = [in_pupil(eye, one, pupil, View()) for one in (taken, shape)]
        if all(one.can_be_fitted for one in both):
            before, after = (light_percent(one, "555", 0.0, 10.0) for one in both)
            yield max(before - after, 0.0)


CHECKS = (
    ("wave against its definition, µm", wave, 1e-6),
    ("rays against the vector law of refraction, rad", rays, 1e-7),
    ("MTF without error against its closed form", closed_contrast, 1e-3),
    ("light without error against Rayleigh's form, points", closed_light, 0.3),
    ("point spread against prysm, of the peak", spread, 1e-3),
    ("transfer function against a straight sum, three times finer", contrast, 2e-3),
    ("light within 3′, 10′ against a dense transform, points", light, 0.3),
    ("left eye mirrored is the right one, every figure", mirrored, 2e-3),
    ("turned a quarter about the vertex, every figure", turned, 2e-3),
    ("light within 10′ lost by 0.1 mm more zone, points", wider, 0.5),
)
