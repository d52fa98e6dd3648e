"""The three ways to reach the tissue, in one shape: surface ablation, flap ablation, lenticule extraction."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tissue.errors import given, number
from tissue.eye.cornea import Cornea
from tissue.removal.removal import Removal, Treatment, removal
from tissue.vocabulary import Flags, Floats

CAP_BEYOND_LENTICULE_MM = 1.0  # default cap diameter less lenticule diameter; source trade


class Error(NamedTuple):
    """A normal error: bias (true − planned) and standard deviation [µm]."""

    bias_um: Floats
    sd_um: Floats


@dataclass(frozen=True, eq=False)
class FlapCut:
    """A flap: thickness from the front surface, epithelium included [µm], diameter [mm], hinge [degrees]."""

    flap_um: Floats = 110.0
    flap_diameter_mm: Floats = 9.0
    hinge_deg: Floats = 90.0
    flap_measured_um: Floats | None = None
    rescue_flap_um: Floats | None = None
    enhancement_flap_um: Floats = 90.0


@dataclass(frozen=True, eq=False)
class CapCut:
    """A cap: thickness from the front surface, epithelium included [µm], diameter, incision [mm, degrees]."""

    cap_um: Floats = 120.0
    cap_diameter_mm: Floats | None = None
    cap_measured_um: Floats | None = None
    incision_mm: Floats = 3.0
    incision_deg: Floats = 90.0
    recut_cap_um: Floats | None = None


@dataclass(frozen=True, eq=False)
class Judgement:
    """What the user decides: the line, the credits, the relationship, the margin and the clock."""

    bed_line_um: Floats = 250.0
    cap_credit: Floats = 1.0
    flap_credit: Floats = 0.0
    relationship: str = "reinstein2013"
    margin_um: Floats = 30.0
    clock_s: Floats = 24.0


@dataclass(frozen=True, eq=False)
class Errors:
    """Measurement and cutting errors [µm]: bias is true − planned; sources in the field list."""

    thickness_bias_um: Floats = 0.0
    thickness_sd_um: Floats = 5.0
    epithelium_sd_um: Floats = 4.6
    flap_bias_um: Floats = 4.0
    flap_sd_um: Floats = 5.0
    cap_bias_um: Floats = -0.7
    cap_sd_um: Floats = 4.4
    ablation_bias_um: Floats = 0.0
    ablation_sd_um: Floats = 11.2
    lenticule_bias_um: Floats = -12.1
    lenticule_sd_um: Floats = 9.8
    epithelium_gain_bias_um: Floats = 0.0
    epithelium_gain_sd_um: Floats = 3.3


@dataclass(frozen=True, eq=False)
class Option:
    """One way to the correction; numbers or arrays, NaN where not given.

    name: `surface`, `flap` or `lenticule`. cut_um: depth of the cut above the removal, as measured where that
    is known; cut_is_measured: whether it is; cut_planned_bias_um: bias of the planned cut. cut_diameter_mm and
    largest_zone_in_cut_mm: NaN where nothing is cut.
    credit: share of what lies above the cut that counts as loaded. spared_um: depth down to which the uncut stroma
    is not counted.
    title: the name in words; cut_field, blend_field, diameter_field: the inputs that set them, None where there is
    none; least_cut_um: thinnest cut that may be asked for [µm]. share_validated: whether the percent of tissue
    altered was studied for this procedure. ablates: whether tissue is ablated rather than cut out.
    """

    name: str
    title: str
    cut_um: Floats
    cut_planned_um: Floats
    removal: Removal
    credit: Floats
    spared_um: Floats
    cut_error: Error
    removal_error: Error
    cut_is_measured: Flags = False
    cut_diameter_mm: Floats = np.nan
    largest_zone_in_cut_mm: Floats = np.nan
    cut_planned_bias_um: Floats = np.nan
    share_validated: bool = False
    ablates: bool = True
    blend_field: str = "ablation_blend_mm"
    cut_field: str | None = None
    diameter_field: str | None = None
    least_cut_um: float = np.nan


def surface(cornea: Cornea, taken: Removal, errors: Errors) -> Option:
    """Surface ablation: the epithelium comes off and regrows; the stroma below stays loaded.

    Args:
        cornea: Cornea.
        taken: Removal of the ablation.
        errors: Errors.
    """
    epithelium = cornea.epithelium_um
    return Option(
        name="surface",
        title="surface ablation",
        cut_um=epithelium,
        cut_planned_um=epithelium,
        removal=taken,
        credit=0.0,
        spared_um=epithelium,
        cut_error=Error(0.0, errors.epithelium_sd_um),
        cut_planned_bias_um=0.0,
        removal_error=Error(errors.ablation_bias_um, errors.ablation_sd_um),
    )


def flap(cornea: Cornea, taken: Removal, errors: Errors, cut: FlapCut, credit: Floats) -> Option:
    """Flap ablation: the flap is laid back; the usual argument counts it as not loaded (credit 0).

    Args:
        cornea: Cornea.
        taken: Removal of the ablation.
        errors: Errors.
        cut: FlapCut.
        credit: share of the flap counted as loaded [0–1].
    """
    planned, measured = number(cut.flap_um), number(cut.flap_measured_um)
    depth = given(measured, planned)
    diameter = number(cut.flap_diameter_mm)
    return Option(
        name="flap",
        title="flap ablation",
        cut_um=depth,
        cut_planned_um=planned[()],
        cut_is_measured=~np.isnan(measured)[()],
        removal=taken,
        credit=number(credit)[()],
        spared_um=depth,
        cut_error=Error(np.where(np.isnan(measured), errors.flap_bias_um, 0.0)[()], errors.flap_sd_um),
        cut_planned_bias_um=errors.flap_bias_um,
        removal_error=Error(errors.ablation_bias_um, errors.ablation_sd_um),
        cut_diameter_mm=diameter[()],
        largest_zone_in_cut_mm=diameter - 0.3,
        share_validated=True,
        cut_field="flap_um",
        diameter_field="flap_diameter_mm",
        least_cut_um=60.0,
    )


def lenticule(cornea: Cornea, taken: Removal, errors: Errors, cut: CapCut, credit: Floats) -> Option:
    """Lenticule extraction: the cap stays in place; the usual argument counts it as loaded (credit 1).

    Args:
        cornea: Cornea.
        taken: Removal of the lenticule, base included.
        errors: Errors.
        cut: CapCut.
        credit: share of the cap counted as loaded [0–1].
    """
    planned, measured = number(cut.cap_um), number(cut.cap_measured_um)
    diameter = given(cut.cap_diameter_mm, 2.0 * taken.radius_mm + CAP_BEYOND_LENTICULE_MM)
    return Option(
        name="lenticule",
        title="lenticule extraction",
        cut_um=given(measured, planned),
        cut_planned_um=planned[()],
        cut_is_measured=~np.isnan(measured)[()],
        removal=taken,
        credit=number(credit)[()],
        spared_um=cornea.epithelium_um,
        cut_error=Error(np.where(np.isnan(measured), errors.cap_bias_um, 0.0)[()], errors.cap_sd_um),
        cut_planned_bias_um=errors.cap_bias_um,
        removal_error=Error(errors.lenticule_bias_um, errors.lenticule_sd_um),
        cut_diameter_mm=diameter,
        largest_zone_in_cut_mm=diameter - 0.2,
        ablates=False,
        blend_field="lenticule_blend_mm",
        cut_field="cap_um",
        diameter_field="cap_diameter_mm",
        least_cut_um=80.0,
    )


def three_options(
    cornea: Cornea, treatment: Treatment, flap_cut: FlapCut, cap_cut: CapCut, judgement: Judgement, errors: Errors
) -> tuple[Option, Option, Option]:
    """The three options of one plan, in the order surface, flap, lenticule.

    Raises:
        EyeError: zone_mm, reported_ablation_um or reported_lenticule_um that cannot be.
    """
    ablation = removal(
        cornea,
        treatment,
        treatment.ablation_blend_mm,
        reported_um=treatment.reported_ablation_um,
        reported_field="reported_ablation_um",
    )
    extracted = removal(
        cornea,
        treatment,
        treatment.lenticule_blend_mm,
        base_um=treatment.base_um,
        reported_um=treatment.reported_lenticule_um,
        reported_field="reported_lenticule_um",
    )
    return (
        surface(cornea, ablation, errors),
        flap(cornea, ablation, errors, flap_cut, judgement.flap_credit),
        lenticule(cornea, extracted, errors, cap_cut, judgement.cap_credit),
    )
