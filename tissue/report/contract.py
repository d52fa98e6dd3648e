"""The figures of a comparison under the names that stay put, for machines: plain dictionaries, strict JSON."""

import math
from dataclasses import fields
from typing import Any

import numpy as np

import tissue
from tissue.budget.budget import Budget
from tissue.budget.comparison import Comparison, Result
from tissue.budget.notices import notices
from tissue.budget.spread import Spread
from tissue.entry.eye import Inputs, used
from tissue.eye.refraction import Refraction
from tissue.optics.figures import Optics, optics

SCHEMA = 1
PART = "removal_part_"
REFRACTION = ("sphere_D", "cylinder_D", "axis_deg")


def figures(result: Result) -> dict[str, Any]:
    """Figures of one option by their names, in the order of the interface; numbers or columns, NaN where null.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> round(float(figures(plan.results["flap"])["removal_parts_um"]["blend"]), 1)
    15.6
    """
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


def _names(kind):
    """Field names of a dataclass."""
    return [field.name for field in fields(kind)]


def refraction_figures(measured: Refraction, treated: Refraction) -> dict[str, Any]:
    """Measured refraction in both forms with its power vector, and the treated one at the cornea in minus form."""
    minus, plus, cornea = measured.minus(), measured.plus(), treated.at_cornea().minus()
    found = {name: value for name, value in zip(REFRACTION, _three(minus), strict=True)}
    found |= measured.power_vector()._asdict()
    found["plus"] = dict(zip(REFRACTION, _three(plus), strict=True))
    found["corneal_sphere_D"], found["corneal_cylinder_D"] = cornea.sphere_D, cornea.cylinder_D
    found["corneal_SE_D"] = cornea.power_vector().SE_D
    return found


def _three(refraction):
    """Sphere, cylinder and axis, NaN for the axis where there is no cylinder."""
    axis = np.where(refraction.cylinder_D == 0, np.nan, refraction.axis_deg)[()]
    return refraction.sphere_D, refraction.cylinder_D, axis


def eye_as_dict(inputs: Inputs, comparison: Comparison, typed: str = "") -> dict[str, Any]:
    """One eye: input, refraction, options and notices, ready for strict JSON.

    Args:
        inputs: Inputs of `entry.eye.build`.
        comparison: Comparison of them.
        typed: the refraction as it was written, if it was.
    """
    found = {
        "input": used(inputs, comparison, typed),
        "refraction": refraction_figures(comparison.measured, comparison.treatment.refraction),
        "options": {name: _option(comparison, result) for name, result in comparison.results.items()},
        "notices": [notice._asdict() for notice in notices(comparison)],
    }
    return plain_json(found)


def _option(comparison, result):
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
        "version": tissue.__version__,
        "code": code or None,
        "eyes": {side: eye_as_dict(*eye) for side, eye in eyes.items()},
    }


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
