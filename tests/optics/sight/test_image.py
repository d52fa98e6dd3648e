"""The image of a pupil against closed forms, prysm and a plain dense transform."""

import numpy as np
import pytest
from prysm.propagation import focus_fixed_sampling
from scipy.optimize import brentq
from scipy.special import j0, j1
from sight_cases import ARCMIN, GREEN_MM, dense_contrast, dense_field, dense_light_percent, sight_plans

from tissue.eye.cornea import Pupil
from tissue.optics.sight.contrast import HIGHEST, along_six, transfer
from tissue.optics.sight.figures import in_pupil, sight_before, sight_of
from tissue.optics.sight.focus import InPupil, cells_over
from tissue.optics.sight.image import at_directions, point_spread
from tissue.optics.sight.view import View, lines_of_light
from tissue.optics.sight.wave import OwnWave

(GREEN,) = lines_of_light("555")
PUPILS = (2.0, 4.5, 6.0, 9.0)


def perfect(pupil_mm):
    return InPupil(OwnWave(0.0), Pupil(pupil_mm))


@pytest.mark.parametrize("pupil_mm", PUPILS)
def test_contrast_of_a_disc(pupil_mm):
    """Closed form: 2/π·(acos s − s·√(1 − s²)), s = f·λ/D."""
    found = transfer(perfect(pupil_mm), "555", 0.0)
    up, across = np.mgrid[0 : HIGHEST + 1, -HIGHEST : HIGHEST + 1]
    s = np.minimum(np.degrees(1.0) * np.hypot(up, across) * GREEN_MM / pupil_mm, 1.0)
    assert np.abs(found - 2 / np.pi * (np.arccos(s) - s * np.sqrt(1 - s**2))).max() < 1e-3


@pytest.mark.parametrize("pupil_mm", PUPILS)
def test_encircled_light_and_peak_without_error(pupil_mm):
    """Closed form (Rayleigh): 1 − J0²(v) − J1²(v), v = π·D·α/λ; the peak is 1."""
    found = point_spread(perfect(pupil_mm), GREEN, 0.0)
    assert found.strehl() == pytest.approx(1.0, abs=1e-4)
    for radius in (3.0, 10.0):
        v = np.pi * pupil_mm * radius * ARCMIN / GREEN_MM
        assert found.within_percent(radius) == pytest.approx(100 * (1 - j0(v) ** 2 - j1(v) ** 2), abs=0.3)


def test_first_dark_ring():
    """Closed form: 1.2197 λ/D (Airy), where the light on a ring is least; from a finer look at the same field."""
    seen, D = perfect(6.0), 6.0
    airy = GREEN_MM / D / ARCMIN
    cells = cells_over(3.0, 160)
    square = cells.filled(cells.share.astype(complex))

    def slope(at):
        near = at_directions(square, cells, np.array([at - 1e-3, at + 1e-3]) * airy, np.zeros(1), GREEN)
        return float(near[0, 1] - near[0, 0])

    assert brentq(slope, 1.1, 1.3) == pytest.approx(1.2197, abs=1e-3)
    assert seen.wave_rms_um == pytest.approx(0.0, abs=1e-12)


def test_spread_equals_prysm():
    """Source: prysm's matrix transform of a dense field made apart, 40 seeded plans; over the peak, 1e-3."""
    for eye, taken, pupil in sight_plans(40, 3):
        seen = in_pupil(eye, taken, Pupil(min(float(pupil.pupil_mm), 4.8)), View())
        if not seen.can_be_fitted:
            continue
        found = point_spread(seen, GREEN, 0.0, 3.0)
        E, step, _ = dense_field(seen, 640)
        n = found.values.shape[0]
        pixel = found.step_arcmin * ARCMIN * 100.0 * 1e3  # µm in an image 100 mm away
        field = focus_fixed_sampling(E, step, 100.0, GREEN_MM * 1e3, pixel, n)
        plain = focus_fixed_sampling(np.abs(E).astype(complex), step, 100.0, GREEN_MM * 1e3, pixel, n)
        wanted = np.abs(field) ** 2 / np.abs(plain).max() ** 2
        middle = prysm_middle(np.abs(plain))
        assert middle == (n // 2, n // 2)
        same = min(np.abs(found.values - one).max() for one in (wanted, wanted[::-1, ::-1]))
        assert same < 1e-3


def prysm_middle(spread):
    return tuple(int(one) for one in np.unravel_index(np.argmax(spread), spread.shape))


def test_light_equals_a_dense_transform_where_the_pupil_sees_the_rim():
    """A plain transform of a field dense everywhere by the rule N ≥ 1.25·D·(slope + 10′)/λ; 0.3 points."""
    looked = 0
    for eye, taken, pupil in sight_plans(40, 11):
        seen = in_pupil(eye, taken, Pupil(max(float(pupil.pupil_mm), 6.0), 0.2, 0.1), View())
        steepest = np.nanmax(seen.slopes_arcmin)
        count = int(1.25 * 2 * seen.radius_mm * (steepest + 10.0) * ARCMIN / GREEN_MM)
        if not seen.can_be_fitted or not 160 < count < 1400 or looked >= 12:
            continue
        looked += 1
        found = point_spread(seen, GREEN, 0.0)
        for radius in (3.0, 10.0):
            wanted = dense_light_percent(seen, max(count, 400), radius)
            assert found.within_percent(radius) == pytest.approx(wanted, abs=0.3)
    assert looked == 12


def test_contrast_equals_the_transform_of_a_dense_field():
    """The pupil's own overlap at a shift, summed straight over a field three times as fine, 20 seeded plans; 1e-3."""
    for eye, taken, pupil in sight_plans(20, 17):
        seen = in_pupil(eye, taken, Pupil(min(float(pupil.pupil_mm), 6.0)), View())
        if not seen.can_be_fitted:
            continue
        otf = transfer(seen, "555", 0.0)
        for (across, up), wanted in dense_contrast(seen, ((10, 0), (8, 6), (0, 20), (-16, 12))).items():
            found = otf[up, HIGHEST + across]
            assert min(abs(found - wanted), abs(found - np.conj(wanted))) < 2e-3


def test_white_light_and_stiles_crawford():
    """White light blurs by its colours (Thibos 1992), the pupil's rim counts for less (Applegate 1993)."""
    green, white = (
        sight_before(Pupil(6.0), View(eye_c40_um=0.0)),
        sight_before(Pupil(6.0), View("white", eye_c40_um=0.0)),
    )
    assert np.isnan(white.strehl) and white.mtf_10 < green.mtf_10
    assert white.wave_rms_um == green.wave_rms_um and white.radius_95_arcmin == green.radius_95_arcmin
    plain, dimmed = (sight_before(Pupil(7.0), View(stiles_crawford_per_mm2=rho)) for rho in (0.0, 0.05))
    assert dimmed.mtf_10 > plain.mtf_10 and dimmed.radius_95_arcmin < plain.radius_95_arcmin
    assert dimmed.wave_rms_um == plain.wave_rms_um


def test_directions_are_five_and_their_multiples():
    otf = transfer(perfect(3.0), "555", 0.0)
    assert along_six(otf, 10) == pytest.approx(np.full(6, along_six(otf, 10).mean()), abs=1e-3)


def test_a_pupil_beside_the_zone_has_no_figures_but_its_shares():
    eye, taken, _ = next(iter(sight_plans(1, 3)))
    found = sight_of(eye, taken, Pupil(3.0, 4.5, 0.0))
    assert np.isnan(found.mtf_10) and np.isnan(found.focus_D) and found.outside_zone_percent > 75.0
