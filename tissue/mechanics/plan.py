"""What a section takes from a plan: shape of the eye, cuts and removals, the same all round the axis."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.eye.cornea import Cornea
from tissue.eye.paraboloid import THICKNESS_GROWTH
from tissue.ground.errors import EyeError, as_read
from tissue.ground.limits import RANGES, of_kind, one_number, single_eye
from tissue.ground.vocabulary import Array, Floats
from tissue.mechanics.mesh import Cut
from tissue.mechanics.shape import EyeShape, thickness_between, thickness_law
from tissue.removal.options import Option
from tissue.removal.removal import Removal

SAMPLES = 201  # places along a meridian where removals are compared
RING_TURNS = 72  # places on a ring whose mean thickness stands for it
GAUSS = 32  # points of an arc length; twelve give nine digits

NOTES = {
    "thinnest": "The thinnest point is not in the section, which has the central thickness at its axis.",
    "centre": "The treatment centre is not the vertex; the section takes it as the axis of the whole eye.",
    "meridian": "The removal differs between meridians; the one where most is taken stands for all of them.",
    "cuts": "Hinge and incision are not in a section that is the same all round its axis.",
}


@dataclass(frozen=True, eq=False)
class SectionPlan:
    """Shape and cuts of one eye.

    Args:
        shape: EyeShape.
        surface, flap, lenticule: Cut of each option. The surface ablation has the lenticule's depth and radius, so
            that its figures are of the same tissue.
        missing: {name of an option: why it has no figures}.
        meridian_deg: {name of an option: meridian whose removal stands for all}, None where all are alike.
        closing_percent: closing strain of the cap on the meridian of its lenticule and across it [%].
        notes: what the section leaves out of the plan, in words.
    """

    shape: EyeShape
    surface: Cut
    flap: Cut
    lenticule: Cut
    missing: dict[str, str]
    meridian_deg: dict[str, float | None]
    closing_percent: tuple[float, float] = (np.nan, np.nan)
    notes: tuple[str, ...] = ()


def section_plan(comparison: Comparison, back: tuple[float, float] | None = None) -> SectionPlan:
    """SectionPlan of a Comparison of one eye.

    The axis is the treatment centre; thickness CCT·(1 + k·r²) about it, with CCT as in every central figure.

    Args:
        comparison: Comparison of one eye.
        back: radius [mm] and asphericity of the back surface, where they are known, in place of the thickness law.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = section_plan(compare(Cornea(550.0), Treatment(Refraction(-6.0, -1.0, 20.0))))
    >>> plan.meridian_deg["flap"], plan.missing
    (20.0, {})
    """
    of_kind(comparison=(comparison, Comparison))
    single_eye(comparison.cornea, comparison.treatment, comparison.flap, comparison.cap)
    cornea, results = comparison.cornea, comparison.results
    profiles = {name: _profile(result.option.removal) for name, result in results.items()}
    cuts = {name: _cut(result.option, profiles[name][0]) for name, result in results.items()}
    meridians = {name: meridian for name, (_, meridian) in profiles.items()}
    extraction = comparison.under_cap.option
    cap, bare = cuts[extraction.name], cuts[comparison.at_surface.option.name]
    surface = Cut(cap.depth_mm, cap.radius_mm, bare.removal_mm, bare.edges_mm, ablates_front=True)
    shape, lenticule = _shape(cornea, back), extraction.removal
    on_meridian = meridians[extraction.name] or 0.0
    return SectionPlan(
        shape=shape,
        surface=surface,
        flap=cuts[comparison.under_flap.option.name],
        lenticule=cap,
        missing={name: str(result.why_not) for name, result in results.items() if not result.available},
        meridian_deg=meridians,
        closing_percent=(
            closing_strain_percent(shape, lenticule, on_meridian),
            closing_strain_percent(shape, lenticule, on_meridian + 90.0),
        ),
        notes=_notes(comparison, meridians),
    )


def closing_strain_percent(shape: EyeShape, removal: Removal, meridian_deg: float) -> float:
    """How much too long the cap is on a meridian once the lenticule is gone [%]; negative: too short.

    ε = 100·(∫√(1 + s′²)dr / ∫√(1 + (s′ + t′)²)dr − 1) over the optical zone, s the front, t the removal without base.
    Base and blend add nothing. A mechanical argument, not a clinical finding; source microfolds2015

    Args:
        shape: EyeShape.
        removal: Removal of the lenticule.
        meridian_deg: direction from the treatment centre [degrees].
    """
    node, weight = np.polynomial.legendre.leggauss(GAUSS)
    r = float(removal.zone_mm) / 4.0 * (1.0 + node)
    cos2 = np.cos(np.radians(meridian_deg - float(removal.axis_deg))) ** 2
    front = shape.slope(r)
    bed = front + removal.scale * removal.profile.slope(r, cos2) / 1000.0
    return float(100.0 * (weight @ np.hypot(1.0, front) / (weight @ np.hypot(1.0, bed)) - 1.0))


def _shape(cornea: Cornea, back: tuple[float, float] | None) -> EyeShape:
    """EyeShape of a Cornea."""
    if back is not None:
        back = _back(back)
    front = float(cornea.radius_mm), float(cornea.asphericity)
    central = float(cornea.central_thickness_um) / 1000.0
    if back is not None:
        thickness = thickness_between(front, back, central)
    elif cornea.thickness.from_one_point:
        thickness = thickness_law(central, THICKNESS_GROWTH)
    else:
        thickness = ring_means(cornea, central)
    return EyeShape(*front, float(cornea.epithelium_um) / 1000.0, thickness)


def _back(back: Any) -> tuple[float, float]:
    """Radius [mm] and asphericity of a back surface, each within its range."""
    if not isinstance(back, tuple | list) or len(back) != 2:
        raise EyeError("back", as_read(back), "a radius and an asphericity")
    return one_number(back[0], "back radius_mm", *RANGES["radius_mm"]), one_number(
        back[1], "back asphericity", *RANGES["asphericity"]
    )


def ring_means(cornea: Cornea, central_mm: float) -> Callable[[Floats], Floats]:
    """Thickness [mm] by the distance from the axis [mm]: the means of the eye's own map over rings about the vertex.

    Args:
        cornea: Cornea with a map of its own.
        central_mm: thickness at the axis [mm].
    """
    angle = np.arange(RING_TURNS) * 2.0 * np.pi / RING_TURNS
    at_vertex = cornea.thickness_um(0.0, 0.0)

    def thickness(r_mm: Floats) -> Floats:
        r = np.asarray(r_mm, dtype=float)[..., np.newaxis]
        ring = np.mean(cornea.thickness_um(r * np.cos(angle), r * np.sin(angle)), axis=-1)
        return central_mm + (ring - at_vertex) / 1000.0

    return thickness


def _cut(option: Option, removal_mm: Callable[[Floats], Floats]) -> Cut:
    """Cut of an Option."""
    edges = (option.removal.zone_mm / 2.0, option.removal.radius_mm)
    radius = float(option.cut_diameter_mm) / 2.0
    return Cut(float(option.cut_um) / 1000.0, radius, removal_mm, tuple(float(e) for e in edges))


def _profile(removal: Removal) -> tuple[Callable[[Floats], Floats], float | None]:
    """Removal [mm] by the distance from the treatment centre [mm] where most is taken, and that meridian [degrees].

    Of the two principal meridians the one with the deeper removal; of equal ones that where more is taken in all.
    """

    def along(degrees: float) -> Callable[[Floats], Floats]:
        c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        return lambda r: removal.r_um(removal.centre_x_mm + r * c, removal.centre_y_mm + r * s) / 1000.0

    radii = np.linspace(0.0, float(removal.radius_mm), SAMPLES)
    meridians = [float(removal.axis_deg) % 180.0, (float(removal.axis_deg) + 90.0) % 180.0]
    taken = [np.asarray(along(degrees)(radii)) for degrees in meridians]
    same = np.allclose(taken[0], taken[1], rtol=0.0, atol=1e-9)
    more = int(_size(taken[1]) > _size(taken[0]))
    return along(meridians[more]), None if same else meridians[more]


def _size(taken: Array) -> tuple[float, float]:
    """Deepest removal and the sum of all, rounded so that equal ones are equal."""
    return float(taken.max().round(9)), float(taken.sum().round(9))


def _notes(comparison: Comparison, meridians: Mapping[str, float | None]) -> tuple[str, ...]:
    """What the section leaves out of the plan."""
    cornea, treatment = comparison.cornea, comparison.treatment
    off = np.hypot(cornea.thinnest_x_mm - treatment.centre_x_mm, cornea.thinnest_y_mm - treatment.centre_y_mm) > 0
    centred = np.hypot(treatment.centre_x_mm, treatment.centre_y_mm) == 0
    said = {
        "thinnest": bool(off) or cornea.thinnest_um < cornea.central_thickness_um,
        "centre": not centred,
        "meridian": any(m is not None for m in meridians.values()),
        "cuts": True,
    }
    modelled = comparison.at_surface, comparison.under_flap, comparison.under_cap
    others = [result.option for result in comparison.results.values() if result not in modelled]
    left_out = (f"There is no model of {option.title}: it has no state here." for option in others)
    return (*(NOTES[name] for name, holds in said.items() if holds), *left_out)
