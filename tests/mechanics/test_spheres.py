"""The section's elements against closed forms: thick and thin spheres, and an eye that is one."""

import numpy as np
import pytest
from section_cases import even, lame, mean, nothing, pressed_sphere, sphere_errors

from tissue.mechanics import Setting
from tissue.mechanics.body import bodies
from tissue.mechanics.laws.law import Isotropic
from tissue.mechanics.mesh import Cut, division, meshed_section
from tissue.mechanics.shape import EyeShape, thickness_between


def test_thick_sphere():
    # Lamé's thick sphere, Timoshenko and Goodier, Theory of Elasticity: 7.3/7.8 mm, four elements through the wall
    displacement, hoop = sphere_errors(4, 160, 0.499)
    assert displacement < 1e-4
    assert hoop < 1e-3


def test_order_of_convergence():
    # Taylor–Hood elements on straight-sided quadrilaterals: stress of second order (mathematics)
    hoop = [sphere_errors(n, 10 * n, 0.499)[1] for n in (2, 4, 8)]
    orders = np.log2(np.array(hoop[:-1]) / hoop[1:])
    print(f"order of the hoop stress, 2 to 4 to 8 elements: {orders.round(2)}")
    assert np.all(orders >= 2.0)


@pytest.mark.parametrize("which", [0, 1], ids=["displacement", "hoop stress"])
def test_no_locking(which):
    # an element that locks gets worse without bound as Poisson's ratio nears one half
    errors = [sphere_errors(4, 40, poisson)[which] for poisson in (0.49, 0.4999)]
    assert errors[1] / errors[0] < 1.2


def test_thin_sphere():
    # thin sphere t = 0.05 mm: the mean hoop stress is 0.9936 of pR/2t at the middle radius (C, from Lamé)
    field = pressed_sphere(7.75, 7.8, 2, 200, 0.49)
    assert mean(field, field.hoop_kPa) / (2.0 * 7.775 / (2.0 * 0.05)) == pytest.approx(0.9936, abs=1e-3)


def hemisphere():
    """An eye that is one thick sphere: concentric surfaces, the sclera as stiff and as thick as the cornea."""
    shape = EyeShape(7.8, 0.0, 0.0, thickness_between((7.8, 0.0), (7.3, 0.0), 0.5))
    setting = Setting(sclera_radius_mm=7.8, sclera_thickness_mm=0.5, sclera_modulus_ratio=1.0, poisson=0.499)
    cut = Cut(0.13, 3.8, nothing, (3.8,))
    return shape, setting, cut, division(shape, (cut,), setting)


def test_an_eye_that_is_a_sphere():
    # the same closed form through the section's own elements: columns, cut, limbus and shell
    shape, setting, cut, divided = hemisphere()
    law = Isotropic(even, setting.modulus_kPa, setting.poisson, 1.0)
    loaded = bodies({"eye": meshed_section(shape, cut, divided, setting)}, setting).load(law)
    basis = loaded.field.solid.displacement
    depth = np.hypot(*(np.asarray(basis.global_coordinates()) - np.array([0.0, 7.8])[:, None, None]))
    hoop = lame(depth, 7.3, 7.8, 0.499)[1]
    for layer in (0, 1):
        assert loaded.mean("eye", loaded.field.stress_kPa / hoop, layer) == pytest.approx(1.0, abs=1e-3)
    assert loaded.apex_mm("eye") == pytest.approx(lame(7.3, 7.3, 7.8, 0.499)[0], rel=1e-3)


def test_faces_do_not_slide_where_nothing_drags_them():
    # a uniform sphere grows evenly: faces free to slide stay where they are (symmetry)
    shape, setting, cut, divided = hemisphere()
    both = {
        "held": meshed_section(shape, cut, divided, setting),
        "free": meshed_section(shape, cut, divided, setting, sliding=True),
    }
    loaded = bodies(both, setting).load(Isotropic(even, setting.modulus_kPa, setting.poisson, 1.0))
    for layer in (0, 1):
        held, free = (loaded.mean(name, loaded.field.stress_kPa, layer) for name in both)
        assert free == pytest.approx(held, rel=2e-3)
    assert loaded.field.displacement.size > 2 * loaded.bodies.solid.displacement.mesh.p.shape[1]
