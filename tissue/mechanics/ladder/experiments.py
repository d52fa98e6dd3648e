"""The published experiments repeated on the base eye: cuts alone, planned treatments, a rise of pressure.

Every experiment is a function of a Case and a Choice that gives {state: value}, in the unit of the case.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, replace
from functools import cache
from typing import Any

import numpy as np

from tissue.budget.comparison import compare
from tissue.eye.cornea import Cornea
from tissue.eye.refraction import Refraction
from tissue.ground.vocabulary import TRUE_MINUS, Array
from tissue.mechanics.body import Loaded, bodies
from tissue.mechanics.ladder.cases import Case, Value, Written, cases
from tissue.mechanics.laws.choice import Choice, under
from tissue.mechanics.laws.law import Law
from tissue.mechanics.mesh import Cut, Section, division, meshed_section
from tissue.mechanics.plan import SectionPlan, section_plan
from tissue.mechanics.shape import PICTURE
from tissue.mechanics.states import State, model, states
from tissue.mechanics.stress_free import intact_shape, load_from
from tissue.removal.options import CapCut
from tissue.removal.removal import Treatment

BACK = (6.5, -0.3)  # radius [mm] and asphericity of the base eye's back surface
KERF_MM = 0.03  # width of the ring that stands for a side cut alone
RISE_MMHG = (15.0, 15.5)  # of the experiment with cuts alone
BUTTON_MMHG = (10.0, 30.0)  # of the experiment with donor buttons
BACK_RADIUS_MM = 1.5  # radius within which the curvature of the back surface is fitted


@cache
def base_plan(power_D: float = -6.0, given_back: bool = True) -> SectionPlan:
    """SectionPlan of the base eye; the power is at the cornea, nothing is added."""
    treatment = Treatment(
        Refraction(power_D, vertex_mm=0.0), profile="conic", ablation_blend_mm=0.0, lenticule_blend_mm=0.0, base_um=0.0
    )
    cornea = Cornea(550.0, radius_mm=7.8, asphericity=-0.2)
    return section_plan(compare(cornea, treatment, cap=CapCut(130.0, 7.6)), BACK if given_back else None)


@cache
def cut_sections(kind: str, depth_um: float, diameter_mm: float) -> tuple[dict[str, Section], dict[str, float]]:
    """Sections `intact` and `cut` of the base eye and what the cut leaves: a flap, a side cut, or faces that slide."""
    shape, radius = base_plan().shape, diameter_mm / 2.0
    cut = Cut(depth_um / 1000.0, radius, lambda r: 0.0 * np.asarray(r, float), (radius - KERF_MM,))
    divided = division(shape, (cut,), PICTURE)
    whole = meshed_section(shape, cut, divided, PICTURE)
    made = {
        "flap": whole,
        "side cut": replace(whole, inside=whole.column == divided.column_at(radius) - 1),
        "sliding": meshed_section(shape, cut, divided, PICTURE, sliding=True),
    }[kind]
    return {"intact": whole, "cut": made}, {} if kind == "sliding" else {"cut": 0.0}


def cut_alone(case: Case, choice: Choice) -> dict[str, float]:
    """Change by a cut alone [%] of what the case measures."""
    sections, kept = cut_sections(case.experiment, case.depth_um, case.diameter_mm)
    at_rest, raised = _loaded(sections, kept, choice.law_of(base_plan().shape, PICTURE), case.measure)
    layer = None if case.measure == "mean strain" else 1

    def measured(name: str) -> float:
        if case.measure == "stress behind":
            return at_rest.mean(name, at_rest.field.stress_kPa, layer)
        before, after = (one.mean(name, one.field.strain, layer) for one in (at_rest, raised))
        return after - before

    return {"cut": 100.0 * (measured("cut") / measured("intact") - 1.0)}


def _loaded(sections: dict[str, Section], kept: dict[str, float], law: Law, measure: str) -> tuple[Loaded, Loaded]:
    """Sections before and after the rise of pressure; before alone where only the stress counts."""
    pressures = RISE_MMHG[:1] if measure == "stress behind" else RISE_MMHG
    settings = [under(PICTURE, pressure) for pressure in pressures]
    if law.linear:
        made = [bodies(sections, setting, kept).load(law) for setting in settings]
    else:
        shape = intact_shape(sections, law, PICTURE)
        made = [load_from(shape, sections, law, setting, kept)[0] for setting in settings]
    return made[0], made[-1]


def planned(case: Case, choice: Choice) -> dict[str, float]:
    """Change of the stress of the bed by a planned treatment [%], by states."""
    found = _states(case.power_D, choice)
    there = {name: found[name].figures for name in case.states if name in found}
    return {name: 100.0 * (figures.bed_stress_ratio - 1.0) for name, figures in there.items() if figures}


def _states(power_D: float, choice: Choice) -> dict[str, State]:
    """States of the base eye under a plan."""
    plan = base_plan(power_D)
    return states(model(plan, PICTURE), choice.law_of(plan.shape, PICTURE), pictures=False)


def ordered(case: Case, choice: Choice) -> dict[str, list[str]]:
    """Names of the treatments from the least mean strain to the greatest, for each state of the cap."""
    found = _states(case.power_D, choice)
    strain = {name: state.figures.mean_strain_ratio for name, state in found.items() if state.figures}
    made, names = {}, case.value if isinstance(case.value, list) else []
    for cap in case.states:
        named = {name: strain[cap if name == "lenticule" else name] for name in names}
        made[cap] = sorted(named, key=named.__getitem__)
    return made


def back_surface(case: Case, choice: Choice) -> dict[str, float]:
    """Sign of what the back surface does: 1 where the vertex moves forward, or where the centre grows steeper."""
    plan = base_plan(case.power_D)
    made = model(plan, PICTURE)
    loaded, _ = made.load(choice.law_of(plan.shape, PICTURE))
    still = _back(loaded, "intact")
    return {name: float(np.sign(_change(_back(loaded, name), still, case.measure))) for name in case.states}


def _back(loaded: Loaded, name: str) -> tuple[Array, Array]:
    """r and z [mm] of the back surface of a state under pressure, out to where its curvature is fitted."""
    piece = loaded.bodies.pieces[name]
    row = np.searchsorted(piece.kept, piece.section.grids[1][-1])
    mesh = loaded.field.solid.displacement.mesh.p[:, piece.nodes]
    r, z = (mesh + loaded.moved_mm(name))[:, row]
    return r[r <= BACK_RADIUS_MM], z[r <= BACK_RADIUS_MM]


def _change(after: tuple[Array, Array], before: tuple[Array, Array], measure: str) -> float:
    """How far the vertex moves forward, or by how much the curvature grows; z runs backward."""
    if measure == "vertex":
        return before[1][0] - after[1][0]
    bends = [np.polynomial.polynomial.polyfit(r**2, z, 2)[1] for r, z in (after, before)]
    return bends[0] - bends[1]


def apex_rise(case: Case, choice: Choice) -> dict[str, float]:
    """Rise of the front of the apex between the pressures of the buttons [µm/mmHg]."""
    plan = base_plan(given_back=False)
    setting = replace(PICTURE, boundary="fixed limbus")
    part = {"intact": model(plan, setting).sections["intact"]}
    law = choice.law_of(plan.shape, setting)
    shape = intact_shape(part, law, setting)
    front = part["intact"].grids[0][0, 0]
    low, high = (load_from(shape, part, law, under(setting, mmHg), {})[0] for mmHg in BUTTON_MMHG)
    rise = low.moved_mm("intact")[1, front] - high.moved_mm("intact")[1, front]
    return {"intact": 1000.0 * rise / (BUTTON_MMHG[1] - BUTTON_MMHG[0])}


def closing(case: Case, choice: None) -> dict[str, list[str]]:
    """Powers from the least closing strain to the greatest."""
    strain = {f"{power:g} D".translate(TRUE_MINUS): base_plan(power).closing_percent[0] for power in case.powers_D}
    return {"cap": sorted(strain, key=strain.__getitem__)}


EXPERIMENTS: dict[str, Callable[[Case, Any], Mapping[str, Value]]] = {
    "flap": cut_alone,
    "side cut": cut_alone,
    "sliding": cut_alone,
    "plan": planned,
    "order": ordered,
    "posterior": back_surface,
    "apex rise": apex_rise,
    "closing": closing,
}


def fresh_runs(names: Iterable[str] | None = None) -> dict[str, list[Written]]:
    """What the laws give now, {id: [values of a Run]}, as it is written to the file.

    Args:
        names: ids of the cases; all where None.
    """
    return {name: _computed(cases()[name]) for name in names or cases()}


def _computed(case: Case) -> list[dict[str, Any]]:
    """The values of every choice and state of a case."""
    made = []
    for choice in case.choices():
        law = {field.name: getattr(choice, field.name, None) for field in fields(Choice)}
        found = EXPERIMENTS[case.experiment](case, choice)
        made += [law | {"state": state, "value": value} for state, value in found.items()]
    return made
