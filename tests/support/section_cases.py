"""Sections that several tests of the mechanics share: the base case with its back surface given, and a bare sphere."""

from functools import cache

import numpy as np

from tissue import CapCut, Cornea, Refraction, Treatment, compare
from tissue.mechanics import model, section_plan, states
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.laws.law import Isotropic, Tissue
from tissue.mechanics.shape import PICTURE
from tissue.mechanics.solid import solid
from tissue.mechanics.solve import Material, solve

BACK = (6.5, -0.3)


def comparison(power_D=-6.0, thickness_um=550.0, cap_um=130.0, **more):
    """The eye and plan that the published figures are held against; the power is at the cornea, nothing is added."""
    treatment = Treatment(
        Refraction(power_D, vertex_mm=0.0),
        **{"profile": "conic", "ablation_blend_mm": 0.0, "lenticule_blend_mm": 0.0, "base_um": 0.0, **more},
    )
    cornea = Cornea(thickness_um, radius_mm=7.8, asphericity=-0.2)
    return compare(cornea, treatment, cap=CapCut(cap_um=cap_um, cap_diameter_mm=7.6))


def nothing(r_mm):
    """A removal of nothing at any distance from the axis [µm]."""
    return 0.0 * np.asarray(r_mm, float)


@cache
def figures(relationship, back=BACK, power_D=-6.0, setting=PICTURE, choice=None):
    """Figures of every state of the base case, by state; isotropic by a relationship, or as chosen."""
    choice = choice or Choice(relationship)
    plan = section_plan(comparison(power_D), back)
    found = states(model(plan, setting), choice.law_of(plan.shape, setting), pictures=False)
    return {name: state.figures for name, state in found.items()}


def shell(inner_mm, outer_mm, through, around):
    """Nodes and elements of a quarter ring from the pole to the equator, and its named nodes."""
    angle, radius = np.linspace(0.0, np.pi / 2.0, around + 1), np.linspace(outer_mm, inner_mm, through + 1)
    grid = np.arange((through + 1) * (around + 1)).reshape(through + 1, around + 1)
    points = np.stack([np.outer(radius, np.sin(angle)), -np.outer(radius, np.cos(angle))]).reshape(2, -1)
    points[1, grid[:, -1]] = 0.0
    quads = np.stack([grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]]).reshape(4, -1)
    return points, quads, {"pressed": grid[-1], "axis": grid[:, 0], "held_z": grid[:, -1]}


def even(fraction):
    """Stiffness that does not change with depth, as the share of it in front of a stromal fraction."""
    return fraction


def pressed_sphere(inner_mm, outer_mm, through, around, poisson, pressure_kPa=2.0, law=None):
    """Field of a thick sphere under inner pressure, its lamellae along the surface."""
    points, quads, named = shell(inner_mm, outer_mm, through, around)
    body = solid(points, quads, **named)
    r, z = np.asarray(body.displacement.global_coordinates())
    across = -np.stack([r, z, 0.0 * r], axis=-1) / np.hypot(r, z)[..., np.newaxis]
    tissue = Tissue(np.zeros(r.shape), np.ones(r.shape), np.zeros(r.shape, bool))
    law = law or Isotropic(even, 1000.0, poisson, 1.0)
    return solve(body, Material(law, tissue, across, np.ones((len(r), 1))), pressure_kPa)


def lame(radius_mm, inner_mm, outer_mm, poisson, modulus_kPa=1000.0, pressure_kPa=2.0):
    """Displacement [mm] and hoop stress [kPa] of a thick sphere: Lamé, in Timoshenko and Goodier."""
    scale = pressure_kPa * inner_mm**3 / (outer_mm**3 - inner_mm**3)
    displacement = scale * radius_mm / modulus_kPa
    displacement = displacement * (1.0 - 2.0 * poisson + (1.0 + poisson) * outer_mm**3 / (2.0 * radius_mm**3))
    return displacement, scale * (1.0 + outer_mm**3 / (2.0 * radius_mm**3))


def sphere_errors(through, around, poisson):
    """Relative errors: greatest of the displacement at the nodes, root mean square of the hoop stress."""
    inner, outer = 7.3, 7.8
    field = pressed_sphere(inner, outer, through, around, poisson)
    basis = field.solid.displacement
    moved = np.hypot(*field.displacement[basis.nodal_dofs])
    exact = lame(np.hypot(*basis.mesh.p), inner, outer, poisson)[0]
    hoop = lame(np.hypot(*np.asarray(basis.global_coordinates())), inner, outer, poisson)[1]
    return np.max(np.abs(moved / exact - 1.0)), root_mean_square(field, field.hoop_kPa / hoop - 1.0)


def root_mean_square(field, values):
    """Root mean square by volume."""
    return np.sqrt(np.sum(field.weight * values**2) / np.sum(field.weight))


def mean(field, values):
    """Mean by volume."""
    return np.sum(field.weight * values) / np.sum(field.weight)
