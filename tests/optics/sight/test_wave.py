"""The wavefront error of a planned surface against its definition, an exact trace and printed reference numbers."""

from dataclasses import replace

import numpy as np
import pytest
from sight_cases import before_part, sight_plans, turned_from_focus, wave_by_definition

from tissue.eye.cornea import INDEX, Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError
from tissue.optics.sight.figures import in_pupil, sight_before, sight_of
from tissue.optics.sight.focus import InPupil
from tissue.optics.sight.view import View
from tissue.optics.sight.wave import OwnWave, Wave, path_mm, smoothed
from tissue.removal.removal import Treatment, removal


def test_equals_its_definition_over_sixty_plans():
    """Paths number by number from the definition (tests/support/sight_cases.py), 40 places an eye."""
    rng = np.random.default_rng(5)
    for eye, taken, pupil in sight_plans(60, 22):
        wave = Wave(eye, taken, 0.128)
        r, turn = pupil.pupil_mm / 2.0 * np.sqrt(rng.uniform(size=40)), rng.uniform(0, 2 * np.pi, 40)
        x, y = pupil.pupil_x_mm + r * np.cos(turn), pupil.pupil_y_mm + r * np.sin(turn)
        wanted = [wave_by_definition(eye, taken, 0.128, a, b) for a, b in zip(x, y, strict=True)]
        assert wave(x, y) == pytest.approx(np.array(wanted), abs=1e-6)


def test_paths_have_no_jump_where_the_correction_vanishes():
    rho2, sag = np.array([1.0, 9.0]), np.array([0.06, 0.6])
    at_nothing = path_mm(rho2, sag, 28.5, 0.0)
    for small in (1e-6, -1e-6):
        assert path_mm(rho2, sag, 28.5, small) == pytest.approx(at_nothing, abs=1e-8)


@pytest.mark.parametrize(("profile", "wanted"), [("munnerlyn", -0.2032), ("conic", -0.1360), ("parabolic", 0.0255)])
def test_change_of_spherical_aberration(profile, wanted):
    """Source: reference numbers made with a general-purpose lens-design library (optiland 0.6.3), whole eye."""
    eye, plan = Cornea(550.0, asphericity=-0.26), Treatment(Refraction(-6.0, vertex_mm=0.0), profile=profile)
    assert sight_of(eye, removal(eye, plan, 0.0), Pupil(6.0)).c40_change_um == pytest.approx(wanted, abs=7e-4)


def test_rays_land_where_an_exact_trace_puts_them():
    """Slopes of W against a trace by the vector law of refraction (tests/support/ray_trace.py), 40 seeded eyes.

    The old surface with its far point is taken off as the definition says.
    """
    rng = np.random.default_rng(7)
    for _ in range(40):
        eye = Cornea(550.0, radius_mm=rng.uniform(7.3, 8.4), asphericity=rng.uniform(-0.6, 0.3))
        plan = Treatment(Refraction(rng.uniform(-9.0, -1.0), vertex_mm=0.0), 7.0)
        taken = removal(eye, plan, 0.5)
        x = np.linspace(0.2, 3.0, 12)
        y, h = 0.3 * x, 1e-4
        wave = Wave(eye, taken, 0.0)
        slope = (wave(x + h, y) - wave(x - h, y)) / (2 * h) * 1e-3
        wanted = -turned_from_focus(eye, taken, x, y) - before_part(eye, taken, x, y)
        assert slope == pytest.approx(wanted, abs=1e-7)


def test_smoothing_of_a_wave_is_its_closed_form():
    """Of cos(k·u): divided by 1 + s²k², whatever the grid; away from the rim of the disc it fills towards nothing."""
    eye, plan = Cornea(550.0), Treatment(Refraction(-6.0, vertex_mm=0.0))
    taken = removal(eye, plan, 0.5)
    filled = smoothed(taken)
    u = np.linspace(0.0, 1.5, 7)
    h = 1e-2
    laplace = (
        sum(filled(u + h * i, 0 * u + h * j) - filled(u, 0 * u) for i, j in ((1, 0), (-1, 0), (0, 1), (0, -1))) / h**2
    )
    assert filled(u, 0 * u) - 0.42**2 * laplace == pytest.approx(taken.t_um(u, 0 * u), abs=0.05)
    assert smoothed(taken, 0.0)(u, 0 * u) == pytest.approx(taken.t_um(u, 0 * u), abs=0.05)


def test_epithelium_gained_for_a_dioptre():
    """Source: 0.94 µm/D by optical coherence tomography (J Refract Surg 2016;32:473), from which s was taken."""
    eye = Cornea(550.0)
    taken = removal(eye, Treatment(Refraction(-1.0, vertex_mm=0.0), 9.0, "parabolic"), 1.0)
    assert float(taken.central_unscaled_um - smoothed(taken)(np.zeros(1), np.zeros(1))[0]) == pytest.approx(
        0.94, abs=0.02
    )


def test_nothing_treated_is_the_eye_before():
    eye, plan = Cornea(550.0), Treatment(Refraction(0.0))
    found, before = sight_of(eye, removal(eye, plan, 0.0), Pupil(6.0)), sight_before(Pupil(6.0))
    assert found.visual_strehl == pytest.approx(before.visual_strehl, abs=1e-9)
    assert found.c40_change_um == pytest.approx(0.0, abs=1e-12)


def test_sphere_that_is_taken_off():
    """The least-squares square of ρ⁴ over a disc of radius a is 4a²/3 − … : c = 4a²/3·K less its piston; by numbers."""
    seen = in_pupil(Cornea(550.0), removal(Cornea(550.0), Treatment(Refraction(0.0)), 0.0), Pupil(6.0), View())
    K = 0.128 * 6.0 * 5**0.5 / 81.0
    assert seen.focus_D == pytest.approx(-2.0 * K * 9.0, rel=1e-3)  # r⁴ fitted by 1 and r²: a²·r² − a⁴/6


def test_surface_that_ends_within_the_pupil_is_refused():
    eye = Cornea(550.0, radius_mm=5.0, asphericity=1.8)
    taken = removal(Cornea(550.0), Treatment(Refraction(-3.0)), 0.5)
    with pytest.raises(EyeError, match="asphericity: read 1.8; accepted a front surface that reaches past the pupil"):
        sight_of(eye, taken, Pupil(8.0))


def test_out_of_focus_with_a_plus_is_a_hyperopic_eye():
    """Source: paraxial optics: a surface that is 1 D too flat for its focus; defocus is W −= D·ρ²/2."""
    power_D, height2 = 47.0, np.array([0.04])  # 0.2 mm: paraxial
    focus_mm = 1000.0 * INDEX / power_D
    flatter_mm = 1000.0 * (INDEX - 1.0) / (power_D - 1.0)
    sag = flatter_mm - np.sqrt(flatter_mm**2 - height2)
    W_um = -1000.0 * path_mm(height2, sag, focus_mm, 0.0)
    perfect = InPupil(OwnWave(0.0), Pupil(2.0))
    hyperopic = replace(perfect, defocus_D=1.0)
    added = hyperopic(np.sqrt(height2), np.zeros(1)) - hyperopic(np.zeros(1), np.zeros(1))
    assert W_um == pytest.approx(added, rel=0.01) and W_um[0] < 0.0
