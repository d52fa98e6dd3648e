"""A surgeon's own bias and spread from measured eyes, drawn towards the published ones the more the fewer the eyes."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tissue.followup.expected import (
    NOTHING,
    PUBLISHED,
    Figure,
    cut_between_um,
    gain_error,
    gain_um,
    grown_share,
    refraction_error,
    removal_figure,
)
from tissue.ground.errors import EyeError, as_read, number, require
from tissue.ground.limits import of_kind
from tissue.ground.vocabulary import Array, Floats

LEAST_EYES, LEAST_PATIENTS = 10, 5
PRIOR_PATIENTS = 5  # the published spread between eyes counts like this many patients
GROSS, MAD_TO_SD = 5.0, 1.4826  # SDs from the median that make a gross error; SD by the median absolute deviation
SETTLED_DAYS = 30  # days from which on a gain of the epithelium is counted
MORE_PATIENTS = 5  # the number in "ten more eyes"


class Kind(NamedTuple):
    """One error: the published Figure it is drawn to, whether it has a bias, its unit, and its names in plans."""

    prior: Figure
    has_bias: bool
    unit: str
    bias_name: str = ""
    sd_name: str = ""


@cache
def error_kinds() -> dict[str, Kind]:
    """Every error that can be found from a table, by its id, in order.

    >>> error_kinds()["lenticule"].prior[:3], error_kinds()["cap"].prior[:3]
    ((-12.1, 6.7, 7.2), (-0.7, 3.9, 4.4))
    """
    between = cut_between_um()
    cap = Figure(PUBLISHED.cap_bias_um, between, PUBLISHED.cap_sd_um)
    flap = Figure(PUBLISHED.flap_bias_um, between, PUBLISHED.flap_sd_um)
    thickness = NOTHING._replace(eye_sd=PUBLISHED.thickness_sd_um)
    epithelium = NOTHING._replace(eye_sd=PUBLISHED.epithelium_sd_um)
    return {
        "cap": Kind(cap, True, "um", "cap_bias_um", "cap_sd_um"),
        "flap": Kind(flap, True, "um", "flap_bias_um", "flap_sd_um"),
        "lenticule": Kind(removal_figure(False), True, "um", "lenticule_bias_um", "lenticule_sd_um"),
        "ablation": Kind(removal_figure(True), True, "um", "ablation_bias_um", "ablation_sd_um"),
        "gain": Kind(gain_error(), True, "um", "epithelium_gain_bias_um", "epithelium_gain_sd_um"),
        "refraction": Kind(refraction_error("lenticule", 0) or NOTHING, True, "D"),
        "thickness": Kind(thickness, False, "um", sd_name="thickness_sd_um"),
        "epithelium": Kind(epithelium, False, "um", sd_name="epithelium_sd_um"),
    }


@dataclass(frozen=True, eq=False)
class Own:
    """What a table says about one error [µm, D]; NaN where it does not tell.

    eyes, patients: that count; left_out: which of the eyes given are gross errors. own_bias, own_bias_se: of the table
    alone; bias, bias_se, bias_low, bias_high: with the published bias. eye_sd: between eyes; sd: what a plan counts,
    the doubt of the bias included. fellow_correlation: of the eyes of one patient. inside, of: eyes inside the interval
    that the other patients predict. ten_more_se: of the bias with ten more eyes.
    """

    eyes: int
    patients: int
    left_out: NDArray[np.bool_]
    why_not: str
    own_bias: float = np.nan
    own_bias_se: float = np.nan
    bias: float = np.nan
    bias_se: float = np.nan
    bias_low: float = np.nan
    bias_high: float = np.nan
    eye_sd: float = np.nan
    sd: float = np.nan
    fellow_correlation: float = np.nan
    inside: int | None = None
    of: int | None = None
    ten_more_se: float = np.nan


def gain_beyond_um(gain_um_seen: Floats, days: Floats, SE_D: Floats) -> Floats:
    """How much more the epithelium gained than expected for the dioptres [µm]; any shape.

    gain − ρ·0.94·(−SE)

    Args:
        gain_um_seen: epithelium after less before [µm].
        days: after surgery.
        SE_D: spherical equivalent treated, spectacles, below 0 [D].

    >>> round(float(gain_beyond_um(5.0, 90.0, -4.0)), 2)
    1.27
    """
    return gain_um_seen - grown_share(days) * gain_um(SE_D, "oct")


def gross(values: Array, sd: Floats) -> NDArray[np.bool_]:
    """Which values are gross errors: further from the median than five SD by the median absolute deviation.

    |d − median| > 5·max(1.4826·MAD, σ₀/2)

    Args:
        values: numbers [any unit].
        sd: published SD between eyes σ₀ [the same unit].

    >>> gross(np.array([1.0, 2.0, 3.0, 80.0]), 4.0).tolist()
    [False, False, False, True]
    """
    if not values.size:
        return np.zeros(0, dtype=bool)
    away = np.abs(values - np.median(values))
    return np.asarray(away > GROSS * np.maximum(MAD_TO_SD * np.median(away), np.asarray(sd) / 2.0))


class Cohort(NamedTuple):
    """Eyes by patient: number of eyes and mean of each patient, and the parts of the variance of one eye."""

    eyes: NDArray[np.intp]
    mean: Array
    between_means: float
    within: float
    one_eye: float


def cohort(values: Array, patients: NDArray[np.intp]) -> Cohort:
    """The Cohort of some eyes.

    S² = Σ(d̄ − b)²/(m − 1); w = mean of (fellow difference)²/2; s² = S² + w·(1 − mean 1/k)

    Args:
        values: differences [any unit].
        patients: whole numbers from 0, one for each value.

    >>> cohort(np.array([1.0, 3.0, 6.0]), np.array([0, 0, 1])).one_eye
    8.5
    """
    count = np.bincount(patients)
    mean = np.bincount(patients, values) / count
    apart = np.bincount(patients, np.square(values - mean[patients]))
    pairs = count > 1
    within = float(np.mean(apart[pairs] / (count[pairs] - 1))) if pairs.any() else 0.0
    S2 = float(np.var(mean, ddof=1)) if mean.size > 1 else np.nan
    return Cohort(count, mean, S2, within, S2 + within * (1.0 - float(np.mean(1.0 / count))))


def fellow_correlation(group: Cohort) -> float:
    """Correlation of the two eyes of a patient, 1 − w/s², from 0 to 1; NaN without fellows or where no eye differs.

    >>> fellow_correlation(cohort(np.array([1.0, 1.0, 6.0, 6.0]), np.array([0, 0, 1, 1])))
    1.0
    """
    if group.eyes.max() < 2 or not group.one_eye > 0:
        return np.nan
    return float(np.clip(1.0 - group.within / group.one_eye, 0.0, 1.0))


def drawn_to(bias: Floats, variance: float, prior: Figure) -> tuple[Floats, float]:
    """The mean of a bias and the published one, weighted by how well each is known, with its standard error.

    bias = (b/v + prior/τ²)·se², se² = 1/(1/v + 1/τ²)

    >>> [round(float(part), 3) for part in drawn_to(4.0, 1.0, Figure(0.0, 1.0, 5.0))]
    [2.0, 0.707]
    """
    tau2 = float(np.square(prior.between_sd))
    se2 = 1.0 / (1.0 / variance + 1.0 / tau2)
    return (bias / variance + prior.bias / tau2) * se2, float(np.sqrt(se2))


def own_error(values: ArrayLike, patients: ArrayLike, kind: Kind) -> Own:
    """What the eyes of a table say about one error.

    σ² = (5σ₀² + (m − 1)s²)/(m + 4), v = (S²/s²)·σ²/m, sd = √(σ² + se²), t with m + 4 degrees of freedom

    Args:
        values: one for each eye, as `kind` has them [its unit].
        patients: who each eye belongs to, any names.
        kind: Kind.

    Raises:
        EyeError: a value that is no number, or patients that are not one for each eye.

    >>> rng = np.random.default_rng(3)
    >>> found = own_error(rng.normal(5.0, 5.0, 60), np.repeat(np.arange(30), 2), error_kinds()["cap"])
    >>> found.eyes, found.patients, round(float(found.bias), 1)
    (60, 30, 4.8)
    """
    of_kind(kind=(kind, Kind))
    seen, names = np.atleast_1d(number(values, "values")), _names(patients)
    if seen.shape != names.shape or seen.ndim != 1:
        raise EyeError("patients", f"{names.size} for {seen.size} eyes", "a name for each eye")
    require(np.isfinite(seen), "values", seen, "a number for each eye")
    out = gross(seen, kind.prior.eye_sd)
    kept, who = seen[~out], np.unique(names[~out], return_inverse=True)[1]
    eyes, m = kept.size, int(who.max(initial=-1)) + 1
    if eyes < LEAST_EYES or m < LEAST_PATIENTS:
        accepted = f"{LEAST_EYES} eyes of {LEAST_PATIENTS} patients"
        return Own(eyes, m, out, f"read {eyes} eyes of {m} patients, accepted {accepted}")
    group = cohort(kept, who)
    weight = PRIOR_PATIENTS * np.square(kind.prior.eye_sd) + (m - 1) * group.one_eye
    sd = float(np.sqrt(weight / (m + PRIOR_PATIENTS - 1)))
    plain = Own(eyes, m, out, "", eye_sd=sd, sd=sd, fellow_correlation=fellow_correlation(group))
    return _with_bias(plain, group, kept, who, kind.prior) if kind.has_bias else plain


def _names(patients: ArrayLike) -> NDArray[np.str_]:
    """The patient of each eye, in words."""
    try:
        return np.atleast_1d(np.asarray(patients).astype(str))
    except Exception:  # a foreign object may raise anything when it is asked for its names
        raise EyeError("patients", as_read(patients), "a name for each eye") from None


def _with_bias(plain: Own, group: Cohort, kept: Array, who: NDArray[np.intp], prior: Figure) -> Own:
    """The same Own with its bias."""
    from scipy.special import stdtrit

    m, b, sd = plain.patients, float(np.mean(group.mean)), plain.eye_sd
    # where no patient differs from another the eyes count as independent ones
    share = group.between_means / group.one_eye if group.between_means > 0 else float(np.mean(1.0 / group.eyes))
    v = share * sd**2 / m
    bias, se = drawn_to(b, v, prior)
    reach = stdtrit(m + PRIOR_PATIENTS - 1, 0.975)
    others, others_se = drawn_to((m * b - group.mean) / (m - 1), v * m / (m - 1), prior)
    inside = np.abs(kept - np.asarray(others)[who]) <= reach * np.hypot(sd, others_se)
    return replace(
        plain,
        own_bias=b,
        own_bias_se=float(np.sqrt(v)),
        bias=float(bias),
        bias_se=se,
        bias_low=float(bias - reach * se),
        bias_high=float(bias + reach * se),
        sd=float(np.hypot(sd, se)),
        inside=int(inside.sum()),
        of=plain.left_out.size,
        ten_more_se=drawn_to(b, v * m / (m + MORE_PATIENTS), prior)[1],
    )


def values_for_plan(found: Mapping[str, Own]) -> dict[str, float]:
    """The errors that a plan takes from a table: {name of the interface: value to 0.1 µm}.

    Args:
        found: by id of an error, its Own.
    """
    values = {}
    for id, own in found.items():
        kind = error_kinds()[id]
        if own.why_not or not kind.sd_name:
            continue
        if kind.bias_name:
            values[kind.bias_name] = round(float(own.bias), 1) + 0.0
        values[kind.sd_name] = round(float(own.sd), 1)
    return values
