"""A plan in space: its states one after the other, compared with the intact eye at places and as maps."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tissue.budget.comparison import Comparison, Result
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import Array
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.laws.law import Law
from tissue.mechanics.mesh import NoBed
from tissue.mechanics.plan import section_plan
from tissue.mechanics.shape import NUMBERS, PICTURE, Setting, require_limbus
from tissue.mechanics.space.bricks import Rested
from tissue.mechanics.space.columns import FINENESS
from tissue.mechanics.space.eye import BACK_ROWS, ROWS, CutDisc, EyeInSpace, State, eye_in_space
from tissue.mechanics.space.maps import BedMap, Place, Worst, bed_map
from tissue.mechanics.states import BARE, LIFTED, NO_BED, SLACK, SLIDING, TAUT
from tissue.removal.options import HINGE_INSIDE_MM

Strained = tuple[Array, Array, Array, Array]  # weight, stress, strain and place of the points behind the cut

SPACE_STATES = (BARE, LIFTED, TAUT, SLIDING, SLACK)
MESHES = tuple(FINENESS)
LEAST_RING_MM = 0.3
NO_RING = "the cut reaches the limbus"


@dataclass(frozen=True, eq=False)
class SpaceRequest:
    """What is to be solved.

    Args:
        choice: Choice of a linear law.
        setting: Setting; its element size is not used.
        mesh: `fine` or `coarse`.
        states: names of the states.

    Raises:
        EyeError: the fibre law; an unknown mesh or state.
    """

    choice: Choice
    setting: Setting = PICTURE
    mesh: str = "fine"
    states: tuple[str, ...] = SPACE_STATES

    def __post_init__(self) -> None:
        if self.choice.law == "fibre":
            raise EyeError("three_d", "law fibre", "isotropic, transverse")
        if self.mesh not in MESHES:
            raise EyeError("mesh", self.mesh, ", ".join(MESHES))
        for name in self.states:
            if name not in SPACE_STATES:
                raise EyeError("states", name, ", ".join(SPACE_STATES))


@dataclass(frozen=True, eq=False)
class SpaceState:
    """One state of a plan in space, as ratios to the intact eye, or the reason why it has none."""

    centre: Place | None = None
    thinnest: Place | None = None
    worst: Worst | None = None
    map: BedMap | None = None
    why_not: str = ""


@dataclass(frozen=True, eq=False)
class Solved:
    """One step: the name of a state and its SpaceState, or None for the intact eye of a cut.

    unknowns, reaction_ratio: of the intact eye; the force at the equator over pressure times its area.
    """

    name: str
    state: SpaceState | None
    unknowns: int = 0
    reaction_ratio: float = np.nan


def states_in_space(comparison: Comparison, request: SpaceRequest) -> Iterator[Solved]:
    """The states of a plan in space, one solution at a time, so that a reader may stop between any two.

    Args:
        comparison: Comparison of one eye.
        request: SpaceRequest.

    Raises:
        EyeError: a front surface that ends before the limbus.
    """
    shape = section_plan(comparison).shape
    require_limbus(shape, request.setting)
    law = request.choice.law_of(shape, request.setting)
    for disc, there, missing in _by_cut(comparison, request):
        yield from (Solved(name, SpaceState(why_not=words)) for name, words in missing.items())
        if there:
            yield from _of_one_cut(comparison, disc, there, request, law)


def steps_in_space(comparison: Comparison, request: SpaceRequest) -> int:
    """How many steps `states_in_space` has: the states, and the intact eye of each cut."""
    return sum(len(there) + bool(there) + len(missing) for _, there, missing in _by_cut(comparison, request))


def _by_cut(
    comparison: Comparison, request: SpaceRequest
) -> Iterator[tuple[CutDisc, dict[str, tuple[State, float]], dict[str, str]]]:
    """Of each cut its disc, the wanted states that are there, {name: (state, treated radius [mm])}, and the others."""
    for result, states in ((comparison.under_cap, _with_cap), (comparison.under_flap, _with_flap)):
        there, missing = {}, {}
        for name, (own, state) in states(comparison).items():
            if name in request.states and own.available:
                there[name] = state, float(own.option.removal.radius_mm)
            elif name in request.states:
                missing[name] = str(own.why_not)
        yield _disc(comparison, result), there, missing


def _of_one_cut(
    comparison: Comparison, disc: CutDisc, wanted: Mapping[str, tuple[State, float]], request: SpaceRequest, law: Law
) -> Iterator[Solved]:
    """The intact eye and every state of one cut."""
    limbus = request.setting.limbus_mm
    if np.hypot(disc.x_mm, disc.y_mm) + disc.radius_mm > limbus - LEAST_RING_MM:
        yield Solved("intact", None)
        yield from (Solved(name, SpaceState(why_not=NO_RING)) for name in wanted)
        return
    eye = eye_in_space(comparison.cornea, disc, request.setting, FINENESS[request.mesh])
    pressure = request.setting.pressure_kPa
    intact = eye.bricks(State()).solve(law, pressure)
    before = _bed(eye, intact)
    yield Solved("intact", None, intact.bricks.free.shape[1], _reaction(eye, intact, pressure))
    for name, (state, treated) in wanted.items():
        try:
            after = eye.bricks(state).solve(law, pressure)
        except NoBed:
            yield Solved(name, SpaceState(why_not=NO_BED))
            continue
        yield Solved(name, _against(comparison, eye, treated, before, _bed(eye, after)))


def _disc(comparison: Comparison, result: Result) -> CutDisc:
    """CutDisc of an option, about the treatment centre."""
    made, treatment = result.option, comparison.treatment
    centre = float(treatment.centre_x_mm), float(treatment.centre_y_mm)
    return CutDisc(float(made.cut_um) / 1000.0, *centre, float(made.cut_diameter_mm) / 2.0)


def _with_flap(comparison: Comparison) -> dict[str, tuple[Result, State]]:
    """States that belong to the cut of the flap, with the result they are of."""
    lifted = comparison.under_flap
    stays = _behind_hinge(comparison)
    return {LIFTED: (lifted, State(lifted.option.removal.r_um, cap="gone", stays=stays))}


def _with_cap(comparison: Comparison) -> dict[str, tuple[Result, State]]:
    """States that belong to the cut of the cap, with the results they are of; the surface ablation has its depth."""
    bare, capped = comparison.at_surface, comparison.under_cap
    taken, opening = capped.option.removal.r_um, _opening(comparison)
    return {
        BARE: (bare, State(bare.option.removal.r_um, ablates_front=True)),
        TAUT: (capped, State(taken, opening=opening)),
        SLIDING: (capped, State(taken, cap="sliding", opening=opening)),
        SLACK: (capped, State(taken, cap="gone")),
    }


def _opening(comparison: Comparison) -> tuple[float, float]:
    """Middle and half of the arc of the cap's incision [radians]."""
    half = min(float(comparison.cap.incision_mm) / 2.0 / _disc(comparison, comparison.under_cap).radius_mm, np.pi)
    return float(np.radians(comparison.cap.incision_deg)), half


def _behind_hinge(comparison: Comparison) -> Callable[[Array, Array], NDArray[np.bool_]]:
    """Whether a place lies behind the chord of the flap's hinge, where the flap stays."""
    disc, towards = _disc(comparison, comparison.under_flap), np.radians(float(comparison.flap.hinge_deg))
    chord = disc.radius_mm - HINGE_INSIDE_MM
    return lambda x, y: (x - disc.x_mm) * np.cos(towards) + (y - disc.y_mm) * np.sin(towards) > chord


def _bed(eye: EyeInSpace, rested: Rested) -> tuple[list[Array], Strained]:
    """Mean stress and strain behind the cut, and volume, of every corneal column of cells; of the points themselves."""
    count = BACK_ROWS * len(eye.grid.cells)
    weight, stress, strain = (a[-count:] for a in (rested.bricks.weight, rested.stress_kPa, rested.strain))
    shape = (BACK_ROWS, len(eye.grid.cells), -1)
    volume = weight.reshape(shape).sum(axis=(0, 2))
    means = [(weight * values).reshape(shape).sum(axis=(0, 2)) / volume for values in (stress, strain)]
    return means, (weight, stress, strain, rested.bricks.points_mm[-count:])


def _against(
    comparison: Comparison,
    eye: EyeInSpace,
    treated_mm: float,
    before: tuple[list[Array], Strained],
    after: tuple[list[Array], Strained],
) -> SpaceState:
    """SpaceState of a solved state against the intact eye of the same cut; treated_mm: radius of the treated disc."""
    cornea, treatment = comparison.cornea, comparison.treatment
    ratios = [now / then for now, then in zip(after[0], before[0], strict=True)]
    cells = eye.grid.cells[~eye.grid.sclera]
    x, y = (axis[cells].mean(axis=1) for axis in (eye.grid.x_mm, eye.grid.y_mm))
    made = bed_map(x, y, *(ratio[~eye.grid.sclera] for ratio in ratios))
    centre = float(treatment.centre_x_mm), float(treatment.centre_y_mm)
    thinnest = float(cornea.thinnest_x_mm), float(cornea.thinnest_y_mm)
    return SpaceState(
        centre=_place(before[1], after[1], centre, NUMBERS["central_radius_mm"]),
        thinnest=_place(before[1], after[1], thinnest, NUMBERS["thinnest_radius_mm"]),
        worst=made.worst(centre, treated_mm),
        map=made,
    )


def _place(before: Strained, after: Strained, at: tuple[float, float], radius: float) -> Place:
    """Ratios of the means behind the cut within a radius of a place."""
    ratios = []
    for quantity in (1, 2):
        means = []
        for weight, *values, points in (after, before):
            near = weight * (np.hypot(points[..., 0] - at[0], points[..., 1] - at[1]) <= radius)
            means.append(np.sum(near * values[quantity - 1]) / np.sum(near))
        ratios.append(float(means[0] / means[1]))
    return Place(*ratios)


def _reaction(eye: EyeInSpace, rested: Rested, pressure_kPa: float) -> float:
    """The force that holds the equator, over pressure times the area within it."""
    first = (eye.grid.size - len(eye.grid.spokes)) * ROWS
    last = eye.grid.size * ROWS
    inner: Array = rested.bricks.nodes_mm[first + ROWS - 1 : last : ROWS]
    area = np.pi * np.mean(np.hypot(inner[:, 0], inner[:, 1]) / eye.grid.wider) ** 2
    return float(abs(rested.reaction.reshape(-1, 3)[first:last, 2].sum()) / (pressure_kPa * area))
