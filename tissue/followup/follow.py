"""The follow-up of an eye: what its readings say about the tissue taken, the growth of the epithelium and the bed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tissue.budget.comparison import Comparison, Result
from tissue.budget.spread import Z95, below_percent
from tissue.eye.reading import METHODS, Reading
from tissue.followup.expected import gain_um, grown_share, method_difference
from tissue.ground.limits import of_kind, one_word, shape_together
from tissue.ground.vocabulary import Array, Floats
from tissue.removal.options import Option

PARTS = ("thickness", "epithelium", "cut", "removal", "growth", *METHODS)  # of the state of an eye, in order
LINEAR = {  # each thickness is the sum of these parts
    "thickness_um": {"thickness": 1.0, "removal": -1.0},
    "epithelium_um": {"epithelium": 1.0},
    "cut_um": {"cut": 1.0},
    "bed_um": {"thickness": 1.0, "cut": -1.0, "removal": -1.0},
}
WITH_EPITHELIUM, BY_METHOD = ("thickness_um", "epithelium_um", "cut_um"), ("thickness_um", "bed_um")  # devices differ
SEEN_WITH = "oct"  # today's layers use this method's gain of epithelium


class Estimate(NamedTuple):
    """Mean and standard deviation [µm]."""

    mean_um: Floats
    sd_um: Floats


@dataclass(frozen=True, eq=False)
class State:
    """What is known about an eye: mean [µm, shape (…, parts)] and covariance [µm², (…, parts, parts)] of PARTS."""

    mean: Array
    covariance: Array

    def along(self, factors: Array, more: Floats = 0.0) -> Estimate:
        """Estimate of a sum of parts with these factors [parts], plus a constant [µm]."""
        variance = np.einsum("i,...ij,j->...", factors, self.covariance, factors)
        return Estimate((self.mean @ factors + more)[()], np.sqrt(np.maximum(variance, 0.0))[()])

    def of(self, part: str) -> Estimate:
        """Estimate of one part.

        >>> round(float(State(np.arange(9.0), np.eye(9)).of("removal").mean_um), 1)
        3.0
        """
        return self.along(one_of(part))


@dataclass(frozen=True, eq=False)
class Ledger:
    """Account of one reading of thickness after surgery [µm]: planned minus four parts is what was measured."""

    planned_um: Floats
    not_removed: Estimate
    grown_back: Estimate
    method: Estimate
    unexplained: Estimate
    measured_um: Floats


@dataclass(frozen=True, eq=False)
class Follow:
    """The follow-up of one eye, or of a column of eyes.

    done: Result of the option that was done. before_by: method of the thickness before surgery, None where unknown.
    prior, known: State by the plan's errors, and after the readings. ledgers: a Ledger for each reading that has one,
    else None.
    """

    comparison: Comparison
    done: Result
    before_by: str | None
    readings: tuple[Reading, ...]
    prior: State
    known: State
    ledgers: tuple[Ledger | None, ...]


def one_of(part: str) -> Array:
    """Factors [parts] that pick one part of the state.

    >>> one_of("cut").tolist()
    [0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    """
    return np.array([float(name == part) for name in PARTS])


def treated_SE_D(comparison: Comparison) -> Floats:
    """Spherical equivalent treated, in the spectacle plane [D]."""
    treated = comparison.treatment.refraction
    return treated.sphere_D + treated.cylinder_D / 2.0


def state(means: Sequence[Floats], sds: Sequence[Floats], cut_is_epithelium: bool) -> State:
    """The State of independent parts; where nothing is cut, the epithelium counts as the cut.

    Args:
        means, sds: of PARTS [µm], each a number or an array over eyes.
        cut_is_epithelium: whether what lies above the removal is the epithelium.
    """
    mean = np.stack(np.broadcast_arrays(*(np.asarray(m, dtype=float) for m in means)), axis=-1)
    variance = np.square(np.stack(np.broadcast_arrays(*(np.asarray(s, dtype=float) for s in sds)), axis=-1))
    covariance = variance[..., None] * np.eye(len(PARTS))
    if cut_is_epithelium:
        covariance[..., 1, 2] = covariance[..., 2, 1] = covariance[..., 2, 2] = covariance[..., 1, 1]
    return State(mean, covariance)


def state_weights(reading: Reading, name: str) -> tuple[Array, Floats]:
    """How a thickness of a reading depends on the state: factors in the order of PARTS, and the share of the gain.

    Args:
        reading: Reading.
        name: one of THICKNESSES.

    >>> factors, share = state_weights(Reading(-1, "oct", thickness_um=548.0), "thickness_um")
    >>> factors.tolist(), float(share)
    ([1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0], 0.0)
    """
    parts, share = dict(LINEAR[name]), grown_share(reading.days) if name in WITH_EPITHELIUM else 0.0
    if not reading.after:
        parts.pop("removal", None)
    if name in BY_METHOD:
        parts[reading.method] = 1.0
    parts["growth"] = float(share)
    return np.array([parts.get(part, 0.0) for part in PARTS]), share


def planned_state(comparison: Comparison, option: Option, before_by: str | None) -> State:
    """The State by the plan and its errors, before any reading.

    Args:
        comparison: Comparison.
        option: Option that was done.
        before_by: method of the thickness before surgery, None where unknown.
    """
    errors, cornea = comparison.errors, comparison.cornea
    taken, cut = option.removal_error, option.cut_error
    differences = [method_difference(method, before_by) for method in METHODS]
    means = [
        cornea.central_thickness_um + errors.thickness_bias_um,
        cornea.epithelium_um,
        option.cut_um + cut.bias_um,
        option.removal.central_um + taken.bias_um,
        errors.epithelium_gain_bias_um,
        *(one.bias for one in differences),
    ]
    sds = [errors.thickness_sd_um, errors.epithelium_sd_um, cut.sd_um, taken.sd_um, errors.epithelium_gain_sd_um]
    sds += [np.hypot(one.between_sd, one.eye_sd) for one in differences]
    return state(means, sds, option.cut_field is None)


def design(readings: Sequence[Reading], SE_D: Floats) -> tuple[Array, Array, Array, Array]:
    """What every thickness of the readings depends on.

    Args:
        readings: Readings.
        SE_D: spherical equivalent treated [D].

    Returns:
        factors (rows, parts); the gain by dioptres [µm] of each row, shape (…, rows); noise SD of each row [µm];
        the measured values [µm], shape (…, rows).
    """
    found = [(one, name, *state_weights(one, name)) for one in readings for name in one.thicknesses]
    if not found:
        return np.zeros((0, len(PARTS))), np.zeros((*np.shape(SE_D), 0)), np.zeros(0), np.zeros(0)
    gains = [np.asarray(share * gain_um(SE_D, one.method), dtype=float) for one, _, _, share in found]
    values = [np.asarray(getattr(one, name), dtype=float) for one, name, _, _ in found]
    return (
        np.array([factors for _, _, factors, _ in found]),
        np.stack(np.broadcast_arrays(*gains), axis=-1),
        np.array([one.noise_um for one, *_ in found]),
        np.stack(np.broadcast_arrays(*values), axis=-1),
    )


def conditioned(prior: State, factors: Array, gains_um: Array, noise_um: Array, values_um: Array) -> State:
    """The State given the readings: the conditional normal distribution of the prior.

    m′ = m + SHᵀ(HSHᵀ + R)⁻¹(y − Hm), S′ = S − SHᵀ(HSHᵀ + R)⁻¹HS

    Args:
        prior: State.
        factors, gains_um, noise_um, values_um: as `design` gives them.
    """
    if not len(factors):
        return prior
    S, H = prior.covariance, factors
    SH = S @ H.T
    whole = H @ SH + np.diag(np.square(noise_um))
    short = values_um - gains_um - prior.mean @ H.T
    gain = np.swapaxes(np.linalg.solve(whole, np.swapaxes(SH, -1, -2)), -1, -2)
    return State(prior.mean + np.einsum("...ij,...j->...i", gain, short), S - gain @ np.swapaxes(SH, -1, -2))


def follow(comparison: Comparison, done: str, readings: Sequence[Reading], before_by: str | None = None) -> Follow:
    """The follow-up of an eye from its readings.

    Args:
        comparison: Comparison of the plan.
        done: name of the option that was done.
        readings: Readings, any order.
        before_by: method of the thickness before surgery; None where it is not one of METHODS.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> from tissue.eye.reading import Reading
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> seen = follow(plan, "lenticule", [Reading(90, "oct", thickness_um=462.0)], "oct")
    >>> [round(float(part), 1) for part in seen.known.of("removal")]
    [93.1, 5.2]
    """
    of_kind(comparison=(comparison, Comparison), readings=(readings, Sequence))
    for one in readings:
        of_kind(reading=(one, Reading))
    one_word(done, "done", comparison.results)
    if before_by is not None:
        one_word(before_by, "before_by", METHODS)
    shape_together(comparison.cornea, comparison.treatment, *readings)
    result, readings = comparison.results[done], tuple(readings)
    prior = planned_state(comparison, result.option, before_by)
    known = conditioned(prior, *design(readings, treated_SE_D(comparison)))
    ledgers = tuple(_ledger(comparison, result.option, known, one) for one in readings)
    return Follow(comparison, result, before_by, readings, prior, known, ledgers)


def _ledger(comparison: Comparison, option: Option, known: State, reading: Reading) -> Ledger | None:
    """The Ledger of a reading; None before surgery or without a thickness."""
    if not reading.after or reading.thickness_um is None:
        return None
    share, r = grown_share(reading.days), option.removal.central_um
    gain = gain_um(treated_SE_D(comparison), reading.method)
    taken, device = known.of("removal"), known.of(reading.method)
    back = known.along(share * one_of("growth"), share * gain)
    rest = known.along(share * one_of("growth") - one_of("removal") + one_of(reading.method))
    measured = comparison.cornea.central_thickness_um - reading.thickness_um
    not_removed = Estimate(r - taken.mean_um, taken.sd_um)
    unexplained = r - not_removed.mean_um - back.mean_um - device.mean_um - measured
    return Ledger(r, not_removed, back, device, Estimate(unexplained, rest.sd_um), measured)


class Bed(NamedTuple):
    """A bed with its spread [µm], the chance that it is below the line [%], and the least bed [µm]."""

    mean_um: Floats
    sd_um: Floats
    low_um: Floats
    high_um: Floats
    below_line_percent: Floats
    min_um: Floats


def bed_today(found: Follow) -> Bed:
    """The Bed by all readings; the least bed changes with the central one.

    b = T − c − r

    Args:
        found: Follow.
    """
    figures, line = found.done.budget, found.comparison.judgement.bed_line_um
    mean, sd = found.known.along(one_of("thickness") - one_of("cut") - one_of("removal"))
    least = figures.bed_min_um + mean - figures.bed_central_um
    return Bed(mean, sd, mean - Z95 * sd, mean + Z95 * sd, below_percent(mean, sd, line), least)


def bed_planned(found: Follow) -> Bed:
    """The Bed of the plan, as it was before a reading."""
    sure, least = found.done.spread, found.done.budget.bed_min_um
    ends = sure.bed_low_um, sure.bed_high_um
    return Bed(sure.bed_mean_um, sure.bed_sd_um, *ends, sure.bed_below_line_percent, least)


def layer_estimates(found: Follow) -> dict[str, Estimate | None]:
    """Estimates [µm] by name: thickness, epithelium, removal and cut as surgery met them, and today's layers.

    Today's epithelium and cut are those of the latest reading, as OCT sees them; cuts are None where nothing is cut.

    Args:
        found: Follow.
    """
    known = found.known
    share = grown_share(max((one.days for one in found.readings), default=0.0))
    grown, gain = share * one_of("growth"), share * gain_um(treated_SE_D(found.comparison), SEEN_WITH)
    cut = found.done.option.cut_field is not None
    return {
        "thickness_before_um": known.of("thickness"),
        "epithelium_before_um": known.of("epithelium"),
        "removal_um": known.of("removal"),
        "cut_um": known.of("cut") if cut else None,
        "epithelium_um": known.along(one_of("epithelium") + grown, gain),
        "cut_today_um": known.along(one_of("cut") + grown, gain) if cut else None,
    }


@dataclass(frozen=True, eq=False)
class ReserveToday:
    """The bed above the user's line [µm] by all readings, and the room that a thin flap would have.

    flap_least_um: thinnest flap under today's epithelium. room_um: what a thin flap and the margin leave inside the
    cap; None where there is no cap.
    """

    planned_um: Floats
    mean_um: Floats
    sd_um: Floats
    low_um: Floats
    high_um: Floats
    flap_least_um: Floats
    room_um: Floats | None


def reserve_today(found: Follow) -> ReserveToday:
    """The ReserveToday of a Follow.

    Args:
        found: Follow.
    """
    plan, option = found.comparison, found.done.option
    line, bed, today = plan.judgement.bed_line_um, bed_today(found), layer_estimates(found)
    skin, cap = today["epithelium_um"], today["cut_today_um"]
    assert skin is not None  # every eye has an epithelium
    room = None
    if not option.ablates and cap is not None:
        room = cap.mean_um - Z95 * cap.sd_um - plan.flap.enhancement_flap_um - plan.judgement.margin_um
    return ReserveToday(
        found.done.budget.bed_central_um - line,
        bed.mean_um - line,
        bed.sd_um,
        bed.low_um - line,
        bed.high_um - line,
        skin.mean_um + Z95 * skin.sd_um,
        room,
    )
