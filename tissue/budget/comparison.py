"""Everything about one eye, or a column of eyes: every option side by side."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np

from tissue.budget.budget import KEPT_WITHOUT_FIGURES, Budget, budget, deepest_off_centre, extremes, nothing_to_treat
from tissue.budget.left import intervals
from tissue.budget.place import Place
from tissue.budget.spread import VOLUME, Spread, least_left, spread, stays_left, volume_interval
from tissue.budget.strength.strength import band, relationships, relative_strength
from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.ground.limits import all_reasons, of_kind, shape_together
from tissue.ground.vocabulary import Array, Flags, Floats, Words
from tissue.removal.options import CapCut, Errors, FlapCut, Judgement, Option, Setting, options_of
from tissue.removal.removal import Treatment

SHOWN = {
    "removed, µm": "removal_central_um",
    "bed, µm": "bed_central_um",
    "least bed, µm": "bed_min_um",
    "PTA, %": "altered_percent",
}  # of the small table
NOT_THERE = (
    "there is nothing to treat",
    "no bed is left at the thinnest place",
    "a value that its bed needs is not given",
)
Kept = TypeVar("Kept", Budget, Spread)


@dataclass(frozen=True, eq=False)
class Strength:
    """Relative strength of an option [%]: by relationship, and the band of the 2013 reconstructions."""

    strength_percent: dict[str, Floats]
    strength_low_percent: Floats
    strength_high_percent: Floats


@dataclass(frozen=True, eq=False)
class Result:
    """One option with its figures; NaN where a figure cannot be given."""

    option: Option
    available: Flags
    why_not: Words
    budget: Budget
    strength: Strength
    spread: Spread


@dataclass(frozen=True, eq=False, repr=False)
class Comparison:
    """An eye as measured and planned, and the Result of every option by name."""

    cornea: Cornea
    measured: Refraction
    treatment: Treatment
    flap: FlapCut
    cap: CapCut
    judgement: Judgement
    errors: Errors
    pupil: Pupil
    results: dict[str, Result]

    @property
    def at_surface(self) -> Result:
        """The Result of the first option in which nothing is cut above the removal."""
        return next(one for one in self.results.values() if not one.option.cuts)

    @property
    def under_flap(self) -> Result:
        """The Result of the first option in which a flap is laid back."""
        return next(one for one in self.results.values() if one.option.lifts_flap)

    @property
    def under_cap(self) -> Result:
        """The Result of the first option in which a cap stays: the one that a rescue or a second act starts from."""
        return next(one for one in self.results.values() if one.option.keeps_cap)

    def to_frame(self, index: Any = None) -> Any:
        """A pandas DataFrame with one row for each eye: every figure of every option by its name in a series.

        Args:
            index: of the rows; numbers from 0 where None.

        >>> plan = compare(Cornea(np.array([548.0, 500.0])), Treatment(Refraction(-6.0)))
        >>> plan.to_frame(["first", "second"])[["flap_bed_central_um", "lenticule_bed_central_um"]].round(1)
                flap_bed_central_um  lenticule_bed_central_um
        first                 333.4                     323.9
        second                285.4                     275.9
        """
        import pandas as pd

        named = {
            f"{name}_{figure}": value for name, one in self.results.items() for figure, value in _named(one).items()
        }
        shape = np.broadcast_shapes((1,), *(np.shape(value) for value in named.values()))
        return pd.DataFrame({name: np.broadcast_to(value, shape) for name, value in named.items()}, index=index)

    def __repr__(self) -> str:
        """A small table: of one eye its figures, of many the medians."""
        eyes = np.broadcast_shapes((1,), *(np.shape(one.budget.bed_min_um) for one in self.results.values()))[0]
        lines = [f"{'one eye' if eyes == 1 else f'{eyes} eyes, medians':24}" + "".join(f"{head:>16}" for head in SHOWN)]
        for one in self.results.values():
            cells = (f"{np.nanmedian(getattr(one.budget, figure)):>16.1f}" for figure in SHOWN.values())
            known = bool(np.any(np.isfinite(one.budget.bed_min_um)))
            lines.append(f"{one.option.title:24}" + ("".join(cells) if known else " not available"))
        return "\n".join(lines)


def _named(one: Result) -> dict[str, Any]:
    """The figures of one option by their names in a series, in its order."""
    found: dict[str, Any] = {"available": one.available, "why_not": one.why_not}
    for field in fields(one.budget):
        found[field.name.replace("removal_part_", "removal_parts_")] = getattr(one.budget, field.name)
        if field.name == "healed_thickness_um":
            by_relationship = one.strength.strength_percent.items()
            found |= {f"strength_{name}_percent": value for name, value in by_relationship}
            found |= {name: getattr(one.strength, name) for name in ("strength_low_percent", "strength_high_percent")}
            found |= {inner.name: getattr(one.spread, inner.name) for inner in fields(one.spread)}
    return found


def compare(
    cornea: Cornea,
    treatment: Treatment,
    measured: Refraction | None = None,
    flap: FlapCut = FlapCut(),
    cap: CapCut = CapCut(),
    judgement: Judgement = Judgement(),
    errors: Errors = Errors(),
    pupil: Pupil = Pupil(),
) -> Comparison:
    """Every option of one plan side by side.

    Args:
        cornea: Cornea as measured.
        treatment: Treatment as planned.
        measured: measured Refraction; the treated one where None.
        flap, cap: FlapCut and CapCut.
        judgement, errors, pupil: settings; defaults of the interface.

    A row of a column that is outside its physical range has no figures; `why_not` of its results says why.

    Raises:
        EyeError: an impossible value of one eye, named with its limit.

    >>> eye = Cornea(548.0, 543.0, -0.6, -0.5, radius_mm=337.5 / 43.25)
    >>> plan = compare(eye, Treatment(Refraction(-6.0, -1.25, 170.0)))
    >>> [int(round(float(r.budget.bed_central_um))) for r in plan.results.values()]
    [371, 314, 304]
    """
    of_kind(cornea=(cornea, Cornea), treatment=(treatment, Treatment), measured=(measured, Refraction | None))
    of_kind(flap=(flap, FlapCut), cap=(cap, CapCut), judgement=(judgement, Judgement), errors=(errors, Errors))
    of_kind(pupil=(pupil, Pupil))
    shape_together(cornea, treatment, treatment.refraction, flap, cap, judgement, errors, pupil, measured or pupil)
    options = options_of(Setting(cornea, treatment, flap, cap, judgement, errors))
    found = extremes(cornea, options)
    given = (cornea, treatment, flap, cap, judgement, errors, pupil, *(() if measured is None else (measured,)))
    removals = {id(option.removal): option.removal for option in options}  # options with one removal have its reasons
    refused = all_reasons(*(part.reasons for part in (*given, *removals.values())))
    results = {
        option.name: _result(cornea, treatment, judgement, errors, option, place, refused=refused)
        for option, place in zip(options, found, strict=True)
    }
    measured = treatment.refraction if measured is None else measured
    return Comparison(cornea, measured, treatment, flap, cap, judgement, errors, pupil, results)


def _result(
    cornea: Cornea,
    treatment: Treatment,
    judgement: Judgement,
    errors: Errors,
    option: Option,
    place: tuple[Place, Place],
    *,
    refused: Words = "",
) -> Result:
    """Result of one option; its figures are NaN where the option is not available, or the row is refused.

    place: where its bed is least, and where its removal is greatest. refused: why rows are refused.
    """
    figures = budget(cornea, treatment, option, *place)
    available, why_not = availability(option, least_known(figures), refused)
    sure = spread(cornea, option, errors, figures.bed_central_um, figures.bed_min_um, judgement.bed_line_um)
    return Result(
        option=option,
        available=available,
        why_not=why_not,
        budget=kept_where(available, figures, KEPT_WITHOUT_FIGURES),
        strength=strengths(cornea, option, available & np.logical_not(deepest_off_centre(option))),
        spread=kept_where(available, sure),
    )


def least_known(figures: Budget) -> Floats:
    """The least bed [µm], or that of the centre where a map does not cover the treated disc."""
    return np.where(np.isnan(figures.bed_min_um), figures.bed_central_um, figures.bed_min_um)[()]


def availability(option: Option, bed_min_um: Floats, refused: Words = "") -> tuple[Flags, Words]:
    """Whether an option leaves a bed and has something to treat, and the words where it does not.

    refused: why rows are refused whatever the option.
    """
    nothing, gone = nothing_to_treat(option), np.asarray(bed_min_um <= 0)[()]
    missing = np.isnan(bed_min_um)
    why_not = np.select([nothing, gone, missing], NOT_THERE, "")[()]
    if isinstance(refused, str):
        return np.logical_not(nothing | gone | missing), why_not
    out = refused != ""
    return np.logical_not(nothing | gone | missing | out), np.where(out, refused, why_not)


def kept_where(kept: Flags, figures: Kept, always: Sequence[str] = ()) -> Kept:
    """The figures with NaN where `kept` is false, the fields named in `always` apart."""
    if np.ndim(kept) == 0 and kept:
        return figures
    names = [field.name for field in fields(figures) if field.name not in always]
    return replace(figures, **{name: np.where(kept, getattr(figures, name), np.nan)[()] for name in names})


def strengths(cornea: Cornea, option: Option, known: Flags = True) -> Strength:
    """Strength of an option by every relationship, with the band; NaN where `known` is false."""
    depths = (cornea.central_thickness_um, cornea.epithelium_um, option.cut_um, option.removal.central_um)
    low, high = band(*depths, option.credit)
    by_relationship: dict[str, Floats] = {
        name: np.where(known, relative_strength(relationship, *depths, option.credit), np.nan)[()]
        for name, relationship in relationships().items()
    }
    return Strength(by_relationship, np.where(known, low, np.nan)[()], np.where(known, high, np.nan)[()])


def closed_interval(comparison: Comparison, name: str, figure: str) -> tuple[Floats, Floats]:
    """95 % interval of a figure of CLOSED, without draws; NaN where the option has no figures.

    A figure that is another thickness less the same removal has its own errors: the uncut stroma those of what is
    spared, the healed thickness that of the thickness alone. The bed with the planned cut has that cut's bias, the
    least bed on a map of the eye's own that of a reading too.

    Args:
        comparison: Comparison of one eye or of a column of eyes.
        name: of the option.
        figure: one of CLOSED.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> [round(float(end), 2) for end in closed_interval(plan, "flap", "removal_volume_mm3")]
    [1.33, 3.08]
    """
    result, errors = comparison.results[name], comparison.errors
    option, sure, figures = result.option, result.spread, result.budget
    if figure == VOLUME:
        low, high = (np.where(result.available, end, np.nan)[()] for end in volume_interval(option))
        return low, high
    if figure == "altered_percent":
        return sure.altered_low_percent, sure.altered_high_percent
    if figure == "bed_percent":
        return 100.0 - sure.altered_high_percent, 100.0 - sure.altered_low_percent
    if figure == "bed_min_um":
        return least_left(comparison.cornea, option, errors, figures.bed_min_um).interval()
    return stays_left(option, errors, figure, getattr(figures, figure)).interval()


def bed_ends(comparison: Comparison, taken_um: Mapping[str, Array]) -> dict[str, tuple[Array, Array]]:
    """How far the 95 % interval of a bed lies under and over it where a removal is taken [µm], both counted upwards.

    Args:
        comparison: Comparison of one eye.
        taken_um: by option, the removal as planned at several places.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> [[round(float(v), 1) for v in end] for end in bed_ends(plan, {"flap": np.array([0.0, 100.0])})["flap"]]
    [[-17.9, -30.0], [9.9, 22.0]]
    """
    if not taken_um:
        return {}
    at_centre = {name: stays_left(comparison.results[name].option, comparison.errors, "bed_central_um", 0.0)
                 for name in taken_um}  # fmt: skip
    beds = [replace(at_centre[name], taken_um=taken) for name, taken in taken_um.items()]
    return dict(zip(taken_um, intervals(beds), strict=True))
