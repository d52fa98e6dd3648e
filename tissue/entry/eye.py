"""From the values of an eye, or columns of them, to what the arithmetic takes; and back to every value used."""

import dataclasses
from collections.abc import Mapping
from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison, compare
from tissue.entry.checks import is_given
from tissue.entry.fields import Field, fields
from tissue.entry.notation import read_refraction
from tissue.entry.own_errors import NO_OWN, OwnErrors
from tissue.entry.own_map.maps import own_map
from tissue.entry.own_map.names import EPITHELIUM, THICKNESS
from tissue.eye.cornea import KERATOMETER, Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.ground.errors import given
from tissue.ground.vocabulary import REFRACTION, Floats
from tissue.removal.options import CapCut, Errors, FlapCut, Judgement
from tissue.removal.removal import Treatment

AXIS_WITHOUT_CYLINDER = 180.0
TREATED = ("treated_sphere_D", "treated_cylinder_D", "treated_axis_deg")


@dataclasses.dataclass(frozen=True, eq=False)
class Inputs:
    """What `compare` takes, with the side (OD, OS; empty for columns of eyes), the values as given and own errors."""

    side: str
    values: dict[str, Any]
    own: OwnErrors
    cornea: Cornea
    measured: Refraction
    treatment: Treatment
    flap: FlapCut
    cap: CapCut
    judgement: Judgement
    errors: Errors
    pupil: Pupil

    def compare(self) -> Comparison:
        """The three options of this eye, see `tissue.budget.comparison.compare`."""
        return compare(
            self.cornea,
            self.treatment,
            self.measured,
            self.flap,
            self.cap,
            self.judgement,
            self.errors,
            self.pupil,
        )


def filled(values: dict[str, Any]) -> dict[str, Any]:
    """Every name of the interface with the given value or its default; NaN or an empty text where it has neither.

    Args:
        values: what was given by name [unit of the name], numbers, texts or columns of them.

    >>> float(filled({"zone_mm": 6.0})["zone_mm"]), float(filled({})["zone_mm"]), str(filled({})["profile"])
    (6.0, 6.5, 'munnerlyn')
    """
    return {name: _filled(field, values.get(name)) for name, field in fields().items()}


def _filled(field: Field, value: Any) -> Any:
    plain = np.float64(np.nan if field.default is None else field.default) if field.is_number else field.default or ""
    if value is None:
        return plain
    if field.is_number:
        return given(value, plain)
    return np.where(is_given(value), value, plain).astype(str)[()]


def build(values: dict[str, Any], side: str = "", own: OwnErrors = NO_OWN) -> Inputs:
    """The objects of the arithmetic from the values of an eye, defaults put in.

    Call `checks.faults` first: this function checks nothing again.

    Args:
        values: what was given by name [unit of the name], numbers, texts or columns of them.
        side: OD or OS.
        own: OwnErrors that stand in for the errors that are not given.
    Raises:
        EyeError: a value that the arithmetic refuses, named with its limit.

    >>> eye = build({"sphere_D": -6.0, "central_thickness_um": 548.0, "mean_K_D": 43.25, "target_D": -0.5}, "OD")
    >>> round(float(eye.cornea.radius_mm), 3), round(float(eye.treatment.refraction.sphere_D), 3)
    (7.803, -5.432)
    """
    known = filled(own.values | _given(values))
    known["radius_mm"] = _radius(known)
    measured = _refraction(known, "")
    known["refraction"] = _treated(known, measured)
    maps = own_map(values)
    if maps is not None and maps.epithelium is not None and not is_given(values.get("epithelium_um")).any():
        known["epithelium_um"] = maps.epithelium.central_um
    return Inputs(
        side=side,
        values=values,
        own=own,
        cornea=Cornea(**_named(Cornea, known), own_map=maps),
        measured=measured,
        treatment=Treatment(**_named(Treatment, known)),
        flap=FlapCut(**_named(FlapCut, known)),
        cap=CapCut(**_named(CapCut, known)),
        judgement=Judgement(**_named(Judgement, known)),
        errors=Errors(**_named(Errors, known)),
        pupil=Pupil(**_named(Pupil, known)),
    )


def _given(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values without those that are not given."""
    return {name: value for name, value in values.items() if value is not None and is_given(value).any()}


def _named(kind: type, known: Mapping[str, Any]) -> dict[str, Any]:
    """The values that the dataclass has fields for."""
    return {field.name: known[field.name] for field in dataclasses.fields(kind) if field.init and field.name in known}


def _radius(known: Mapping[str, Any]) -> Floats:
    """Front radius [mm]: 337.5/K where a K was given."""
    return given(KERATOMETER / known["mean_K_D"], known["radius_mm"])


def _refraction(known: Mapping[str, Any], prefix: str) -> Refraction:
    sphere, cylinder, axis = (known[prefix + name] for name in ("sphere_D", "cylinder_D", "axis_deg"))
    return Refraction(sphere, cylinder, given(axis, AXIS_WITHOUT_CYLINDER), known["vertex_mm"])


def written_residual(text: str, comparison: Comparison) -> Refraction:
    """The residual Refraction written in a text, at the vertex plane of the measured refraction.

    Raises:
        EyeError: a text that cannot be read.

    >>> eye = build({"sphere_D": -6.0, "central_thickness_um": 548.0}).compare()
    >>> float(written_residual("-0.75 -0.25 x 90", eye).cylinder_D)
    -0.25
    """
    sphere, cylinder, axis = read_refraction(text, field="residual")
    return Refraction(sphere, cylinder, given(axis, AXIS_WITHOUT_CYLINDER), comparison.measured.vertex_mm)


def _treated(known: Mapping[str, Any], measured: Refraction) -> Refraction:
    """The treated refraction where it was given, otherwise the measured one minus the target."""
    planned, wanted = _refraction(known, "treated_"), measured.less(known["target_D"])
    own = ~np.isnan(known["treated_sphere_D"])
    names = REFRACTION
    triple = {name: np.where(own, getattr(planned, name), getattr(wanted, name)) for name in names}
    return Refraction(**triple, vertex_mm=known["vertex_mm"])


def used(inputs: Inputs, comparison: Comparison, refraction: str = "") -> dict[str, Any]:
    """Every name of the interface with the value that is used, rules applied; NaN or an empty text where there is none.

    Args:
        inputs: Inputs of `build`.
        comparison: Comparison of them.
        refraction: the refraction as it was written, if it was.

    >>> eye = build({"sphere_D": -6.0, "central_thickness_um": 548.0})
    >>> all_used = used(eye, eye.compare())
    >>> [float(all_used[name]) for name in ("ablation_blend_mm", "cap_diameter_mm", "base_um", "treated_sphere_D")]
    [0.5, 7.5, 15.0, -6.0]
    """
    cornea, treatment = comparison.cornea, comparison.treatment
    known, treated = filled(inputs.own.values | _given(inputs.values)), treatment.refraction
    known |= {name: getattr(cornea, name) for name in ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm", "radius_mm")}
    if cornea.own_map is not None:
        known |= {name: getattr(cornea, name) for name in ("central_thickness_um", "epithelium_um")}
    known |= {name: getattr(treatment, name) for name in ("ablation_blend_mm", "lenticule_blend_mm", "base_um")}
    known |= dict(zip(TREATED, (treated.sphere_D, treated.cylinder_D, treated.axis_deg), strict=True))
    known["mean_K_D"] = given(known["mean_K_D"], cornea.mean_K_D)
    known["target_asphericity"] = given(known["target_asphericity"], cornea.asphericity)
    known["cap_diameter_mm"] = comparison.under_cap.option.cut_diameter_mm
    for axis, cylinder in (("axis_deg", "cylinder_D"), ("treated_axis_deg", "treated_cylinder_D")):
        known[axis] = np.where(known[cylinder] == 0, np.nan, known[axis])[()]
    known["refraction"] = refraction
    return known


def written_down(values: dict[str, Any]) -> dict[str, Any]:
    """The values used that are written down, see `Field.is_said`.

    >>> written_down({"zone_mm": 6.5, "cut_order": "lenticule-first"})
    {'zone_mm': 6.5}
    """
    return {name: value for name, value in values.items() if fields()[name].is_said(value)}


OF_A_MAP = {THICKNESS: ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm"), EPITHELIUM: ("epithelium_um",)}


def not_given(values: dict[str, Any]) -> list[str]:
    """Names of the interface that take a default, a rule or an own error, in the order of the form.

    >>> "zone_mm" in not_given({"sphere_D": -6.0}), "sphere_D" in not_given({"sphere_D": -6.0})
    (True, False)
    """
    other = {"radius_mm": "mean_K_D", "mean_K_D": "radius_mm"}
    mapped = {name for of, names in OF_A_MAP.items() if of in values for name in names}
    return [
        name
        for name, field in fields().items()
        if field.default_words
        and name not in mapped
        and not is_given(values.get(name)).any()
        and not (name in other and is_given(values.get(other[name])).any())
    ]
