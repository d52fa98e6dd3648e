"""The figures of a comparison under stable names, for machines: plain dictionaries, strict JSON."""

import math
from dataclasses import fields
from typing import Any

import numpy as np

from tissue.budget.budget import Budget
from tissue.budget.comparison import Comparison, Result
from tissue.budget.notices import guard_of, notices
from tissue.budget.spread import Spread
from tissue.entry.eye import Inputs, used, written_down
from tissue.eye.refraction import PowerVector, Refraction
from tissue.eye.slips import Guard, size_of
from tissue.ground.limits import of_kind
from tissue.ground.vocabulary import REFRACTION, VERSION, Floats
from tissue.optics.figures import Optics, optics
from tissue.optics.paraxial import minus_form

SCHEMA = 1
PART = "removal_part_"


def figures(result: Result) -> dict[str, Any]:
    """Figures of one option by their names, in the order of the interface; numbers or columns, NaN where null.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> round(float(figures(plan.under_flap)["removal_parts_um"]["blend"]), 1)
    15.6
    """
    of_kind(result=(result, Result))
    found: dict[str, Any] = {"available": result.available, "why_not": result.why_not}
    for name in _names(Budget):
        value = getattr(result.budget, name)
        if name.startswith(PART):
            part = name.removeprefix(PART).removesuffix("_um")
            found.setdefault("removal_parts_um", {})[part] = value
        else:
            found[name] = value
        if name == "healed_thickness_um":
            found |= {field: getattr(result.strength, field) for field in _names(type(result.strength))}
            found |= {field: getattr(result.spread, field) for field in _names(Spread)}
    return found


def _names(kind: type) -> list[str]:
    """Field names of a dataclass."""
    return [field.name for field in fields(kind)]


def refraction_figures(measured: Refraction, treated: Refraction) -> dict[str, Any]:
    """Measured refraction in both forms with its power vector, and the treated one at the cornea in minus form."""
    minus, plus, cornea = measured.minus(), measured.plus(), treated.at_cornea().minus()
    found: dict[str, Any] = dict(zip(REFRACTION, _three(minus), strict=True))
    found |= measured.power_vector()._asdict()
    found["plus"] = dict(zip(REFRACTION, _three(plus), strict=True))
    found["corneal_sphere_D"], found["corneal_cylinder_D"] = cornea.sphere_D, cornea.cylinder_D
    found["corneal_SE_D"] = cornea.power_vector().SE_D
    return found


def _three(refraction: Refraction) -> tuple[Floats, Floats, Floats]:
    """Sphere, cylinder and axis, NaN for the axis where there is no cylinder."""
    axis = np.where(refraction.cylinder_D == 0, np.nan, refraction.axis_deg)[()]
    return refraction.sphere_D, refraction.cylinder_D, axis


def eye_as_dict(
    inputs: Inputs, comparison: Comparison, typed: str = "", fellow: Comparison | None = None
) -> dict[str, Any]:
    """One eye: input, refraction, options, notices and where own errors come from, ready for strict JSON.

    Args:
        inputs: Inputs of `entry.eye.build`.
        comparison: Comparison of them.
        typed: the refraction as it was written, if it was.
        fellow: Comparison of the other eye of the plan, where there is one.
    """
    on_map, maps = _of_maps(inputs, comparison)
    found = {
        "input": written_down(used(inputs, comparison, typed)),
        "refraction": refraction_figures(comparison.measured, comparison.treatment.refraction),
        "options": {name: _option(comparison, one) | on_map.get(name, {}) for name, one in comparison.results.items()},
        "notices": [notice._asdict() for notice in notices(comparison, fellow)],
        "guard": guard_figures(guard_of(comparison, fellow), comparison.measured.vertex_mm),
        "errors_source": inputs.own.source,
    }
    return plain_json(found | maps)


def _of_maps(inputs: Inputs, comparison: Comparison) -> tuple[dict[str, Any], dict[str, Any]]:
    """What a map adds to each option by name, and to the eye; nothing in an eye without one."""
    if comparison.cornea.own_map is None:
        return {}, {}
    from tissue.report.map_json import map_as_dict, options_on_map  # imported here: most eyes have no map

    return options_on_map(comparison), {"map": map_as_dict(inputs, comparison.cornea)}


def _option(comparison: Comparison, result: Result) -> dict[str, Any]:
    """Figures of one option with its optics; no optics where the option is not available."""
    found = figures(result)
    eye = optics(comparison.cornea, comparison.treatment, result.option, comparison.pupil)
    found["optics"] = {name: getattr(eye, name) for name in _names(Optics)} if result.available else None
    return found


def plan_as_dict(code: str, eyes: dict[str, tuple[Inputs, Comparison, str]]) -> dict[str, Any]:
    """A whole plan.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, (Inputs, Comparison, refraction as typed).
    """
    return {
        "schema": SCHEMA,
        "version": VERSION,
        "code": code or None,
        "eyes": {
            side: eye_as_dict(inputs, comparison, typed, fellow_of(side, eyes))
            for side, (inputs, comparison, typed) in eyes.items()
        },
    }


def fellow_of(side: str, eyes: dict[str, Any]) -> Comparison | None:
    """The Comparison of the other eye of a plan, or None.

    Args:
        side: of the one eye.
        eyes: by side, (Inputs, Comparison, refraction as typed).
    """
    return next((eye[1] for other, eye in eyes.items() if other != side), None)


def guard_figures(found: Guard, vertex_mm: Floats) -> dict[str, Any]:
    """What the treated refraction leaves, as a refraction and as a power vector, and the slips that explain it.

    Args:
        found: Guard.
        vertex_mm: vertex distance of the refraction [mm].
    """
    return {"residual": residual_figures(found.residual, vertex_mm), "names": list(found.names)}


def residual_figures(vector: PowerVector, vertex_mm: Floats = 12.0) -> dict[str, Any]:
    """A difference of two refractions: minus form, power vector and its length [D, degrees]; no axis without cylinder.

    >>> from tissue.eye.slips import less
    >>> from tissue import Refraction
    >>> left = residual_figures(less(Refraction(-6.0, -3.75, 10.0), Refraction(-6.0, -3.75, 100.0)))
    >>> [round(float(left[name]), 2) for name in ("sphere_D", "cylinder_D", "axis_deg", "size_D")]
    [3.75, -7.5, 10.0, 3.75]
    """
    found = dict(zip(REFRACTION, _three(minus_form(vector, vertex_mm)), strict=True))
    return found | vector._asdict() | {"size_D": size_of(vector)}


def plain_json(value: Any) -> Any:
    """Plain Python for strict JSON: NaN, infinity and empty text become None.

    >>> plain_json({"a": np.float64("nan"), "b": np.bool_(True), "c": ["", 1]})
    {'a': None, 'b': True, 'c': [None, 1]}
    """
    if isinstance(value, dict):
        return {key: plain_json(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain_json(part) for part in value]
    if isinstance(value, np.generic | np.ndarray):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return None if value == "" else value
