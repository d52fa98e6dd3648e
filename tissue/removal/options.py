"""The three ways to reach the tissue, in one shape: surface ablation, flap ablation, lenticule extraction."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from functools import cache, cached_property
from typing import Any, NamedTuple, TypeVar

import numpy as np

from tissue.eye.cornea import Cornea
from tissue.ground.errors import given, number
from tissue.ground.limits import keep_reasons, known_words, taken_over
from tissue.ground.sources import data
from tissue.ground.vocabulary import CUT_ORDERS, LENTICULE_FIRST, Flags, Floats
from tissue.removal.removal import Removal, Treatment, removal
from tissue.removal.traits import FLAP, LENTICULE, SURFACE, Traits

T = TypeVar("T")
HINGE_INSIDE_MM = 0.5  # how far inside the flap's edge its hinge lies; not an input, a usual value
USUAL = "reinstein2013"  # the relationship used unless another is chosen
CAP_BEYOND_LENTICULE_MM = 1.0  # default cap diameter less lenticule diameter; source trade


class Error(NamedTuple):
    """A normal error: bias (true − planned) and standard deviation [µm]."""

    bias_um: Floats
    sd_um: Floats


@cache
def _numbers_of(kind: type) -> tuple[str, ...]:
    """Names of the numbers that a constructor takes."""
    return tuple(one.name for one in fields(kind) if not isinstance(one.default, str))


class Given:
    """Values given from outside; each must lie within its physical range, see `limits`.

    reasons: why rows of columns are refused and have no figures; an empty text where none is.

    Raises:
        EyeError: a value outside its range, named with it.
    """

    reasons = ""  # why rows of columns have no figures: no input, and set when the values are taken over

    def __post_init__(self) -> None:
        kind: Any = type(self)
        keep_reasons(self, taken_over(self, _numbers_of(kind)))


@dataclass(frozen=True, eq=False)
class FlapCut(Given):
    """A flap: thickness from the front surface, epithelium included [µm], diameter [mm], hinge [degrees]."""

    flap_um: Floats = 110.0
    flap_diameter_mm: Floats = 9.0
    hinge_deg: Floats = 90.0
    flap_measured_um: Floats | None = None
    rescue_flap_um: Floats | None = None
    enhancement_flap_um: Floats = 90.0


@dataclass(frozen=True, eq=False)
class CapCut(Given):
    """A cap: thickness from the front surface, epithelium included [µm], diameter, incision [mm, degrees]."""

    cap_um: Floats = 120.0
    cap_diameter_mm: Floats | None = None
    cap_measured_um: Floats | None = None
    incision_mm: Floats = 3.0
    incision_deg: Floats = 90.0
    recut_cap_um: Floats | None = None


@dataclass(frozen=True, eq=False)
class Judgement(Given):
    """The user's decisions: the line, the credits, the relationship, the margin, time and order of the cuts."""

    bed_line_um: Floats = 250.0
    cap_credit: Floats = 1.0
    flap_credit: Floats = 0.0
    relationship: str = USUAL
    margin_um: Floats = 30.0
    clock_s: Floats = 24.0
    cut_order: str = LENTICULE_FIRST

    def __post_init__(self) -> None:
        super().__post_init__()
        if str(self.relationship) != USUAL:
            words = known_words(self, "relationship", data("relationships"), USUAL)
            keep_reasons(self, self.reasons, words)
        if str(self.cut_order) != LENTICULE_FIRST:
            keep_reasons(self, self.reasons, known_words(self, "cut_order", CUT_ORDERS, LENTICULE_FIRST))


@dataclass(frozen=True, eq=False)
class Errors(Given):
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


@dataclass(frozen=True, eq=False, kw_only=True)
class Option(Traits):
    """One way to the correction: its traits, and the figures of an eye; numbers or arrays, NaN where not given.

    cut_um: depth of the cut above the removal, as measured where that is known; cut_is_measured: whether it is;
    cut_planned_bias_um: bias of the planned cut. cut_diameter_mm and largest_zone_in_cut_mm: NaN where nothing is cut.
    credit: share of what lies above the cut that counts as loaded. spared_um: depth down to which the uncut stroma
    is not counted.
    """

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


def surface(cornea: Cornea, taken: Removal, errors: Errors) -> Option:
    """Surface ablation: the epithelium comes off and regrows; the stroma below stays loaded.

    Args:
        cornea: Cornea.
        taken: Removal of the ablation.
        errors: Errors.
    """
    epithelium = cornea.epithelium_um
    return Option(
        **vars(SURFACE),
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
        **vars(FLAP),
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
        **vars(LENTICULE),
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
    )


@dataclass(frozen=True, eq=False)
class Setting:
    """The inputs from which every procedure is planned, as in `compare`; a shared removal is worked out once.

    Raises:
        EyeError: zone_mm, reported_ablation_um or reported_lenticule_um that cannot be, when a removal is asked for.
    """

    cornea: Cornea
    treatment: Treatment
    flap: FlapCut
    cap: CapCut
    judgement: Judgement
    errors: Errors

    @cached_property
    def ablation(self) -> Removal:
        """The Removal of an ablation."""
        plan = self.treatment
        return removal(
            self.cornea,
            plan,
            plan.ablation_blend_mm,
            reported_um=plan.reported_ablation_um,
            reported_field="reported_ablation_um",
        )

    @cached_property
    def extracted(self) -> Removal:
        """The Removal of a lenticule, base included."""
        plan = self.treatment
        return removal(
            self.cornea,
            plan,
            plan.lenticule_blend_mm,
            base_um=plan.base_um,
            reported_um=plan.reported_lenticule_um,
            reported_field="reported_lenticule_um",
        )


class Procedure(NamedTuple):
    """A procedure: its traits, and the function that gives its Option of a Setting."""

    traits: Traits
    option: Callable[[Setting], Option]


PROCEDURES = (
    Procedure(SURFACE, lambda plan: surface(plan.cornea, plan.ablation, plan.errors)),
    Procedure(FLAP, lambda plan: flap(plan.cornea, plan.ablation, plan.errors, plan.flap, plan.judgement.flap_credit)),
    Procedure(
        LENTICULE,
        lambda plan: lenticule(plan.cornea, plan.extracted, plan.errors, plan.cap, plan.judgement.cap_credit),
    ),
)  # in the order of every table and picture


def procedures() -> dict[str, Traits]:
    """The Traits of every procedure by name, in order.

    >>> [traits.title for traits in procedures().values()]
    ['surface ablation', 'flap ablation', 'lenticule extraction']
    """
    return {one.traits.name: one.traits for one in PROCEDURES}


class Every(Mapping[str, T]):
    """One item for each procedure by its name, in order, whichever procedures there are.

    Args:
        of: function of the Traits of one.

    >>> dict(Every(lambda traits: traits.above))
    {'surface': 'epithelium', 'flap': 'flap', 'lenticule': 'cap'}
    """

    def __init__(self, of: Callable[[Traits], T]) -> None:
        self.of = of

    def __getitem__(self, name: str) -> T:
        return self.of(procedures()[name])

    def __iter__(self) -> Iterator[str]:
        return iter(procedures())

    def __len__(self) -> int:
        return len(PROCEDURES)


def first_name(trait: str) -> str:
    """Name of the first procedure that has a trait.

    >>> first_name("keeps_cap")
    'lenticule'
    """
    return next(name for name, traits in procedures().items() if getattr(traits, trait))


def options_of(plan: Setting) -> tuple[Option, ...]:
    """The Option of every procedure, in order.

    Raises:
        EyeError: as the removals of the Setting.
    """
    return tuple(one.option(plan) for one in PROCEDURES)
