"""Sections that several tests of the mechanics share: the base case with its back surface given, and a bare sphere."""

from functools import cache

import numpy as np

from tissue import CapCut, Cornea, Refraction, Treatment, compare
from tissue.mechanics import model, section_plan, states
from tissue.mechanics.shape import PICTURE
from tissue.mechanics.solve import solid, solve
from tissue.mechanics.states import share_of

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
def figures(relationship, back=BACK, power_D=-6.0, setting=PICTURE):
    """Figures of every state of the base case, by state."""
    plan = section_plan(comparison(power_D), back)
    found = states(model(plan, setting), share_of(relationship, plan.shape), pictures=False)
    return {name: state.figures for name, state in found.items()}


def shell(inner_mm, outer_mm, through, around):
    """Nodes and elements of a quarter ring from the pole to the equator, and its named nodes."""
    angle, radius = np.linspace(0.0, np.pi / 2.0, around + 1), np.linspace(outer_mm, inner_mm, through + 1)
    grid = np.arange((through + 1) * (around + 1)).reshape(through + 1, around + 1)
    points = np.stack([np.outer(radius, np.sin(angle)), -np.outer(radius, np.cos(angle))]).reshape(2, -1)
    points[1, grid[:, -1]] = 0.0
    quads = np.stack([grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]]).reshape(4, -1)
    return points, quads, {"pressed": grid[-1], "axis": grid[:, 0], "held_z": grid[:, -1]}


def pressed_sphere(inner_mm, outer_mm, through, around, poisson, modulus_kPa=1000.0, pressure_kPa=2.0):
    """Field of a thick sphere under inner pressure."""
    points, quads, named = shell(inner_mm, outer_mm, through, around)
    return solve(solid(points, quads, **named), np.full((quads.shape[1], 1), modulus_kPa), poisson, pressure_kPa)


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
