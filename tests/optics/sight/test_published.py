"""What was published of eyes after surgery beside the planned surface; what disagrees stands as a failure."""

import pytest

from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.optics.sight.figures import sight_of
from tissue.optics.sight.view import View
from tissue.removal.options import CapCut, Errors, FlapCut, Judgement, Setting, options_of
from tissue.removal.removal import Treatment

SMOOTH = View(smoothing_mm=0.42)


def added(view):
    """C40 [µm] that −5.4 D adds over 6 mm, by option; blends as they stand without any input."""
    eye, plan = Cornea(550.0), Treatment(Refraction(-5.4))
    found = options_of(Setting(eye, plan, FlapCut(), CapCut(), Judgement(), Errors()))
    return {option.name: sight_of(eye, option.removal, Pupil(6.0), view).c40_change_um for option in found}


def test_sign_of_the_added_spherical_aberration():
    """Source: −5.4 D, extraction 0.08 ± 0.16, flap 0.17 ± 0.18 µm (J Refract Surg 2019;35:230): both add, by healing.

    The planned surface alone takes some away; smoothed as the epithelium does it adds, as it was measured.
    """
    smooth, sharp = added(SMOOTH), added(View())
    assert smooth["flap"] > 0.0 and smooth["lenticule"] > 0.0
    assert sharp["flap"] < 0.0 and sharp["lenticule"] < 0.0


@pytest.mark.xfail(reason="measured: a flap adds more; the smoothed surface has it the other way round", strict=True)
def test_order_of_the_added_spherical_aberration():
    """Source: the same: extraction adds less than a flap."""
    found = added(SMOOTH)
    assert found["lenticule"] < found["flap"]


@pytest.mark.xfail(reason="measured 7.9 µm of epithelium; smoothing gives about a third of it", strict=True)
def test_epithelium_after_hyperopia():
    """Source: +2.64 D, epithelium −7.9 ± 2.9 µm at the centre, a study of 4 years, 18 eyes; within its spread."""
    assert -7.9 - 2.9 <= epithelium_um(2.64) <= -7.9 + 2.9


def test_epithelium_after_hyperopia_is_thinner_at_the_centre():
    """Source: the same, its sign alone."""
    assert epithelium_um(2.64) < 0.0


def epithelium_um(sphere_D):
    """Change of the epithelium at the centre [µm]: tissue planned less tissue as it is smoothed."""
    from tissue.optics.sight.wave import smoothed
    from tissue.removal.removal import removal

    plan = Treatment(Refraction(sphere_D, vertex_mm=0.0))
    taken = removal(Cornea(550.0), plan, plan.ablation_blend_mm)
    return float(taken.t_um(0.0, 0.0)) - float(smoothed(taken)([0.0], [0.0])[0])
