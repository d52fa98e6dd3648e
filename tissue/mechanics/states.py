"""The six states of one eye under pressure, compared with the intact eye; the stress of each as grids for a picture."""

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.budget.comparison import Comparison
from tissue.ground.limits import of_kind, one_number
from tissue.ground.vocabulary import Array
from tissue.mechanics.body import CLOSED, INTACT_CLOSED, Bodies, Loaded, bodies
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.laws.law import Law
from tissue.mechanics.mesh import NoBed, Section, division, meshed_section
from tissue.mechanics.plan import SectionPlan, section_plan
from tissue.mechanics.shape import PICTURE, Setting
from tissue.mechanics.solve import Field
from tissue.mechanics.stress_free import StressFree, intact_shape, load_from

STATES = ("intact", "surface", "flap", "lenticule_taut", "lenticule_sliding", "lenticule_slack")
INTACT, BARE, LIFTED, TAUT, SLIDING, SLACK = STATES
INTACT_UNDER_FLAP = "intact_flap"  # the intact eye with the elements of the flap
INTACT_OF = {LIFTED: INTACT_UNDER_FLAP, CLOSED: INTACT_CLOSED}  # compared with these; the others with the intact eye
NO_BED = "no stroma is left behind the depth of the cut, where the figures are taken"


@dataclass(frozen=True, eq=False)
class StressMap:
    """In-plane stress of the cornea on two grids, in front of and behind the cut.

    r_mm, z_mm, stress_kPa: a pair of arrays each, shape (rows + 1, columns + 1), rows from front to back and columns
    from the axis to the limbus; z from the front of the intact apex backwards. The two grids meet at the cut, where
    the stress may jump. Tissue that carries nothing has stress 0.
    """

    r_mm: tuple[Array, ...]
    z_mm: tuple[Array, ...]
    stress_kPa: tuple[Array, ...]


def stress_map(loaded: Loaded, name: str) -> StressMap:
    """StressMap of one state.

    Args:
        loaded: Loaded.
        name: of the state.
    """
    piece = loaded.bodies.pieces[name]
    part = piece.section
    corners = np.zeros((part.quads.shape[1], 4))
    corners[piece.present] = _at_corners(loaded.field, piece.elements)
    kept = ~part.sclera
    columns = int(part.column[kept].max()) + 2
    grids = [grid[:, :columns] for grid in part.grids]
    stress = []
    for number, grid in enumerate(grids):
        chosen = kept & (part.layer == number)
        means = _node_means(part.quads[:, chosen].T, corners[chosen], piece.present[chosen], part.points_mm.shape[1])
        stress.append(means[grid])
    r, z = part.points_mm
    return StressMap(tuple(r[grid] for grid in grids), tuple(z[grid] for grid in grids), tuple(stress))


def _at_corners(field: Field, elements: slice) -> Array:
    """In-plane stress at the corners of elements [kPa]: the bilinear function nearest to the quadrature points."""
    x, y = field.solid.displacement.X
    at_points = np.stack([np.ones_like(x), x, y, x * y], axis=1)
    at_corners = np.array([[1, 0, 0, 0], [1, 1, 0, 0], [1, 1, 1, 1], [1, 0, 1, 0]], float)
    return field.stress_kPa[elements] @ (at_corners @ np.linalg.pinv(at_points)).T


def _node_means(quads: NDArray[np.intp], corners: Array, present: NDArray[np.bool_], size: int) -> Array:
    """Mean over the elements of one layer that are there and meet at a node; 0 where none is."""
    total, count = np.zeros(size), np.zeros(size)
    np.add.at(total, quads[present], corners[present])
    np.add.at(count, quads[present], 1.0)
    return total / np.maximum(count, 1.0)


@dataclass(frozen=True, eq=False)
class Figures:
    """One state within the central 1 mm radius, as ratios to the intact eye; NaN where a figure does not apply.

    bed_stress_ratio, bed_strain_ratio: mean in-plane stress and strain behind the cut and the removal, over the
    mean behind the same cut in the intact eye; for a surface ablation behind the depth of the cap, draped.
    mean_strain_ratio: mean strain of all stroma that still carries, over that of the whole intact stroma.
    cap_stress_ratio: stress in front of the cut. load_share_percent: the part of the in-plane load carried there.
    closing_strain_percent, closing_strain_other_percent: how much too long the cap is on the meridian of its lenticule
    and across it; negative: too short. apex_ratio: movement of the back of the apex.
    """

    bed_stress_ratio: float
    bed_strain_ratio: float
    mean_strain_ratio: float
    cap_stress_ratio: float
    load_share_percent: float
    closing_strain_percent: float
    closing_strain_other_percent: float
    apex_ratio: float


@dataclass(frozen=True, eq=False)
class State:
    """One state: its Figures, mean bed stress [kPa] and picture, or why there are none."""

    figures: Figures | None
    bed_stress_kPa: float
    map: StressMap | None
    why_not: str = ""


@dataclass(frozen=True, eq=False)
class Model:
    """The solids of a SectionPlan, ready for any relationship.

    faces: the intact eye with both faces of the cap's cut, which the fibre law needs; None where no cap closes.
    """

    plan: SectionPlan
    sections: dict[str, Section]
    setting: Setting
    kept: dict[str, float]
    missing: dict[str, str]
    faces: Section | None = None
    shapes: dict[Law, StressFree] = field(default_factory=dict)

    @cached_property
    def bodies(self) -> Bodies:
        """All sections as one body, as drawn; for the linear laws."""
        return bodies(self.sections, self.setting, self.kept)

    def stress_free(self, law: Law) -> StressFree | None:
        """StressFree of the intact eye by a law, worked out once; None by a linear law.

        Raises:
            EyeError: no such shape was found.
        """
        if not law.linear and law not in self.shapes:
            self.shapes[law] = intact_shape(self.sections, law, self.setting)
        return self.shapes.get(law)

    def load(self, law: Law) -> tuple[Loaded, dict[str, str]]:
        """The sections under pressure, a Loaded, and why some cannot be, {name: words}."""
        shape = self.stress_free(law)
        if shape is None:
            return self.bodies.load(law), {}
        both = {} if self.faces is None else {INTACT_CLOSED: self.faces}
        return load_from(shape, self.sections | both, law, self.setting, self.kept)


def mechanics(
    comparison: Comparison,
    choice: Choice | None = None,
    setting: Setting = PICTURE,
    flap_kept: float = 0.0,
    back: tuple[float, float] | None = None,
) -> dict[str, State]:
    """The six states of one eye, {name: State}.

    Args:
        comparison: Comparison of one eye.
        choice: Choice of the law; the default one where None.
        setting: Setting.
        flap_kept: share of its stiffness that the flap keeps [0–1].
        back: radius [mm] and asphericity of the back surface, in place of the thickness law.

    Raises:
        EyeError: a front surface that ends before the limbus.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> from tissue.mechanics import SLIDER
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-3.0)))
    >>> found = mechanics(plan, setting=SLIDER)
    >>> bool(found["lenticule_taut"].figures.bed_stress_ratio < found["lenticule_slack"].figures.bed_stress_ratio)
    True
    """
    of_kind(choice=(choice, Choice | None), setting=(setting, Setting))
    plan = section_plan(comparison, back)
    law = (choice or Choice()).law_of(plan.shape, setting)
    return states(model(plan, setting, flap_kept), law)


def model(plan: SectionPlan, setting: Setting = PICTURE, flap_kept: float = 0.0) -> Model:
    """Model of a SectionPlan: the eye divided and put together for all states at once.

    Args:
        plan: SectionPlan.
        setting: Setting.
        flap_kept: share of its stiffness that the flap keeps [0–1].

    Raises:
        EyeError: a share outside 0 to 1; a front surface that ends before the limbus; flap and cap behind the cornea.
    """
    of_kind(plan=(plan, SectionPlan), setting=(setting, Setting))
    flap_kept = one_number(flap_kept, "flap_kept", 0.0, 1.0)
    divided = division(plan.shape, (plan.flap, plan.lenticule, plan.surface), setting)
    missing = {name: plan.missing[name.split("_")[0]] for name in STATES if name.split("_")[0] in plan.missing}
    sections = {}
    for name, (cut, how) in _wanted(plan).items():
        if name in missing or (name == INTACT_UNDER_FLAP and LIFTED in missing):
            continue
        try:
            sections[name] = meshed_section(plan.shape, cut, divided, setting, **how)
        except NoBed:
            missing[name] = NO_BED
    if not sections:
        thickness = 1000.0 * plan.shape.central_thickness_mm
        raise NoBed("central_thickness_um", f"{thickness:g}", "a cornea thicker than flap or cap")
    kept = {LIFTED: flap_kept, SLACK: 0.0}
    faces = None
    if SLIDING in sections:
        faces = meshed_section(plan.shape, plan.lenticule, divided, setting, taken=False, sliding=True)
    return Model(plan, sections, setting, kept, missing, faces)


def _wanted(plan: SectionPlan) -> dict[str, Any]:
    """Cut and kind of section of every state, and of the intact eye with the elements of the flap."""
    return {
        "intact": (plan.lenticule, {"taken": False}),
        INTACT_UNDER_FLAP: (plan.flap, {"taken": False}),
        BARE: (plan.surface, {}),
        LIFTED: (plan.flap, {}),
        "lenticule_taut": (plan.lenticule, {}),
        "lenticule_sliding": (plan.lenticule, {"sliding": True}),
        "lenticule_slack": (plan.lenticule, {}),
    }


def states(made: Model, law: Law, pictures: bool = True) -> dict[str, State]:
    """The states of a Model, {name: State}: six, and by the fibre law a cap closed with its own length.

    Args:
        made: Model.
        law: see mechanics/laws/law.py.
        pictures: whether the stress maps are wanted.
    """
    loaded, why_not = made.load(law)
    missing, found = {**why_not, **made.missing}, {}
    for name in STATES if law.linear else (*STATES, CLOSED):
        if name in missing:
            found[name] = State(None, np.nan, None, missing[name])
        else:
            bed = loaded.mean(name, loaded.field.stress_kPa, 1)
            picture = stress_map(loaded, name) if pictures else None
            found[name] = State(state_figures(made.plan, loaded, name), bed, picture)
    return found


def state_figures(plan: SectionPlan, loaded: Loaded, name: str) -> Figures:
    """Figures of one state.

    Args:
        plan: SectionPlan.
        loaded: Loaded.
        name: of the state.
    """
    intact = INTACT_OF.get(name, INTACT)
    field = loaded.field

    def ratio(values: Array, layer: int | None = None) -> float:
        return loaded.mean(name, values, layer) / loaded.mean(intact, values, layer)

    cap, bed = loaded.force(name, 0), loaded.force(name, 1)
    without_cap = name == BARE
    closing = plan.closing_percent if name in (TAUT, SLIDING, SLACK) else (np.nan, np.nan)
    return Figures(
        bed_stress_ratio=ratio(field.stress_kPa, 1),
        bed_strain_ratio=ratio(field.strain, 1),
        mean_strain_ratio=ratio(field.strain),
        cap_stress_ratio=np.nan if without_cap else ratio(field.stress_kPa, 0),
        load_share_percent=np.nan if without_cap else 100.0 * cap / (cap + bed),
        closing_strain_percent=closing[0],
        closing_strain_other_percent=closing[1],
        apex_ratio=loaded.apex_mm(name) / loaded.apex_mm(intact) if loaded.linear else np.nan,
    )


def runs(made: Model, laws: dict[str, Law], pictures: Sequence[str] = ()) -> dict[str, dict[str, State]]:
    """The states by several laws, {name: {state: State}}.

    Args:
        made: Model.
        laws: {name: law}.
        pictures: names of those whose stress maps are wanted.
    """
    return {name: states(made, law, name in pictures) for name, law in laws.items()}


def spread_of_runs(found: dict[str, dict[str, State]]) -> dict[str, dict[str, tuple[float, float]]]:
    """Least and greatest of every figure over runs, {state: {figure: (least, greatest)}}.

    Args:
        found: runs.
    """
    first = next(iter(found.values()))
    by_state = {state: [run[state].figures for run in found.values()] for state in first}
    return {
        state: {field.name: _range(figures, field.name) for field in fields(Figures)}
        for state, figures in by_state.items()
        if None not in figures
    }


def _range(found: Sequence[Figures | None], name: str) -> tuple[float, float]:
    """Least and greatest of one figure."""
    values = [getattr(each, name) for each in found]
    return min(values), max(values)
