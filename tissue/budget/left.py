"""What is left when a removal has an error: a removal is never less than nothing.

Where the plan removes nothing its error does not act, and an error takes away no more than the removal itself. Far
above nothing both are the plain normal sum; near it the exact distribution is used.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from tissue.ground.vocabulary import Array, Floats, Marks

Z95 = 1.96  # two-sided 95 % point of the normal distribution, as model and publications round it
TAIL = 0.024997895148220435  # Φ(−1.96)
FAR = 5.0  # SDs: an error never cancels a removal that is larger than this
NOTHING_UM = 1e-10  # a removal no larger than this is rounding
LEAST_SD = 1e-9  # stands in for an SD of 0
ENOUGH = 1e-8  # of a search for an end point, as a share of its width
STEPS, OUTERMOST = 80, 8.0  # of that search; SDs that it looks at on either side


class Normal(NamedTuple):
    """A normal distribution; numbers or arrays."""

    mean: Floats
    sd: Floats


def removed_normal(planned_um: Floats, bias_um: Floats, sd_um: Floats) -> Normal:
    """A removal [µm] with its error, before it is limited to nothing at least; exact where the plan takes nothing.

    >>> [float(part) for part in removed_normal(0.0, -12.1, 9.8)]
    [0.0, 0.0]
    """
    some = np.asarray(planned_um) > NOTHING_UM
    mean, sd = np.where(some, planned_um + np.asarray(bias_um), 0.0), np.where(some, sd_um, 0.0)
    return Normal(np.where(sd > 0, mean, np.maximum(mean, 0.0))[()], sd[()])


def held(removed: Normal) -> Normal:
    """Mean and SD of a removal [µm] that is limited to at least nothing.

    E[max(0, X)] = m·Φ(m/s) + s·φ(m/s); E[max(0, X)²] = (m² + s²)·Φ(m/s) + m·s·φ(m/s). Source: a definition
    """
    near = near_nothing(removed)
    if not np.any(near):
        return removed
    from scipy.special import ndtr

    m, s = removed
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.divide(m, s)
        bell, share = _bell(z), ndtr(z)
        mean = m * share + s * bell
        square = (np.square(m) + np.square(s)) * share + m * s * bell
        sd = np.sqrt(np.maximum(0.0, square - np.square(mean)))
    return Normal(np.where(near, mean, m)[()], np.where(near, sd, s)[()])


def chance_within(room: Normal, removed: Normal) -> Array:
    """P(max(0, X) ≤ D) of a removal X and the room D for it, both normal and independent; s > 0.

    P = P(D ≥ 0 and D − X ≥ 0), a normal quadrant with h = d/σ_D, k = (d − m)/σ, ρ = σ_D/σ, σ² = σ_D² + s²:
    P = (Φ(h) + Φ(k) − [h·k < 0])/2 − T(h, (k/h − ρ)/√(1 − ρ²)) − T(k, (h/k − ρ)/√(1 − ρ²)), T Owen's function.

    Source: the bivariate normal distribution, as scipy.special.owens_t documents it
    """
    from scipy.special import ndtr, owens_t

    sd = np.maximum(room.sd, LEAST_SD)
    whole = np.hypot(sd, removed.sd)
    h, k = room.mean / sd, (room.mean - removed.mean) / whole
    tiny = np.finfo(float).tiny
    h, k = np.where(h == 0, tiny, h), np.where(k == 0, tiny, k)
    rho, rest = sd / whole, removed.sd / whole
    with np.errstate(over="ignore"):
        both = owens_t(h, (k / h - rho) / rest) + owens_t(k, (h / k - rho) / rest)
    share = (ndtr(h) + ndtr(k) - (h * k < 0)) / 2.0 - both
    return np.asarray(np.clip(share, 0.0, 1.0))


def density(room: Normal, removed: Normal) -> Array:
    """How fast P(max(0, X) ≤ D) rises with the mean of D [1/µm]: the density of max(0, X) − (D − mean of D) there.

    Φ(−m/s)·φ(h)/σ_D + φ(k)·Φ(x/√…)/σ, x the mean of X where both meet; names as in `chance_within`.
    """
    from scipy.special import ndtr

    sd = np.maximum(room.sd, LEAST_SD)
    (m, s), whole = removed, np.hypot(sd, removed.sd)
    meets = (m * np.square(sd) + room.mean * np.square(s)) / (whole * sd * s)
    nothing = ndtr(-m / s) * _bell(room.mean / sd) / sd
    return np.asarray(nothing + _bell((room.mean - m) / whole) / whole * ndtr(meets))


def levels_at(
    shares: Sequence[float], room: Callable[..., Normal], rate: Floats, parts: Sequence[Array], guesses: Sequence[Array]
) -> list[Array]:
    """The levels at several shares, searched together, see `level_at`.

    Args:
        shares: wanted. room, rate, parts: as there, the same for every share.
        guesses: for each share where its searches begin.
    """
    many = len(shares)
    wanted = np.repeat(shares, guesses[0].size)
    rates = np.tile(np.broadcast_to(rate, guesses[0].shape), many)
    found = level_at(wanted, room, rates, [np.tile(part, many) for part in parts], np.concatenate(guesses))
    return np.split(found, many)


def level_at(share: Array, room: Callable[..., Normal], rate: Array, parts: Sequence[Array], guess: Array) -> Array:
    """The level where P(max(0, X) ≤ room(level)) is a share: by Newton steps on normal scores, halved where they leave.

    Args:
        share: wanted, an entry for each search.
        room: level and what it depends on → the room for the removal.
        rate: how the mean of that room goes with the level, −1 or a thickness [µm].
        parts: mean and SD of each removal, half the width of the search, then what the room hangs on; an entry each.
        guess: where each search begins, in the middle of its width.
    """
    from scipy.special import ndtri

    wanted = ndtri(share)
    level, low, high, going = guess.copy(), guess - parts[2], guess + parts[2], np.arange(guess.size)
    for _ in range(STEPS):
        mean, sd, wide, *more = (part[going] for part in parts)
        at, removed, goes = level[going], Normal(mean, sd), rate[going]
        here = room(at, *more)
        score = ndtri(chance_within(here, removed))
        short = score - wanted[going]
        over = short * np.sign(goes) > 0
        low[going], high[going] = np.where(over, low[going], at), np.where(over, at, high[going])
        with np.errstate(divide="ignore", invalid="ignore"):
            new = at - short * _bell(score) / (density(here, removed) * goes)
        done = np.abs(new - at) <= ENOUGH * wide
        inside = done | ((new > low[going]) & (new < high[going]))
        level[going] = np.where(inside, new, (low[going] + high[going]) / 2.0)
        going = going[~done]
        if not going.size:
            break
    return level


def _bell(z: Floats) -> Array:
    """Density of the standard normal distribution."""
    return np.asarray(np.exp(-np.square(z) / 2.0) / np.sqrt(2.0 * np.pi))


def near_nothing(removed: Normal) -> Marks:
    """Where an error may cancel the whole removal."""
    return np.asarray(removed.mean < FAR * np.asarray(removed.sd))


def _sd_of(*sds: Floats) -> Floats:
    """SD of a sum of independent parts."""
    return np.sqrt(sum(np.square(sd) for sd in sds))


@dataclass(frozen=True, eq=False)
class Left:
    """A thickness less a removal, S − max(0, X) [µm], S and X independent normals.

    planned_um: as planned; taken_um: the planned removal in it. bias_um and sds_um: of the thickness S, an SD for each
    of its errors; taken: bias and SD of the removal X. Numbers or arrays, NaN where there is no figure.

    >>> one = Left(438.0, 0.0, -4.0, (5.0, 5.0), Normal(0.0, 11.2))
    >>> [round(float(end)) for end in one.interval()]
    [420, 448]
    """

    planned_um: Floats
    taken_um: Floats
    bias_um: Floats
    sds_um: Sequence[Floats]
    taken: Normal

    @cached_property
    def removed(self) -> Normal:
        """The removal before it is held at nothing [µm]."""
        return removed_normal(self.taken_um, *self.taken)

    @cached_property
    def normal(self) -> Normal:
        """Mean and SD [µm]."""
        mean, sd = held(self.removed)
        acts = np.where(np.asarray(self.taken_um) > NOTHING_UM, self.taken.mean, 0.0)
        more = np.where(near_nothing(self.removed), mean - self.taken_um, acts)
        return Normal((self.planned_um + (self.bias_um - more))[()], _sd_of(*self.sds_um, sd))

    def interval(self) -> tuple[Floats, Floats]:
        """2.5 % and 97.5 % point [µm]."""
        mean, sd = self.normal
        ends = mean - Z95 * sd, mean + Z95 * sd
        near, start, removed = self._near()
        if not near.any():
            return ends
        width = OUTERMOST * _sd_of(start.sd, removed.sd) + removed.sd
        parts = [np.asarray(part) for part in (*removed, width, *start)]
        guesses = [end[near] for end in np.broadcast_arrays(*ends, near)[:2]]
        exact = levels_at((1.0 - TAIL, TAIL), lambda level, mean, sd: Normal(mean - level, sd), -1.0, parts, guesses)
        low, high = (replaced(near, plain, value) for plain, value in zip(ends, exact, strict=True))
        return low, high

    def over_percent(self, line_um: Floats) -> tuple[Marks, Array]:
        """Where the removal may run out, and there the chance [%] of at least a line [µm]."""
        near, start, removed = self._near(line_um)
        if not near.any():
            return near, np.zeros(0)
        line = np.broadcast_to(line_um, near.shape)[near]
        return near, 100.0 * chance_within(Normal(start.mean - line, start.sd), removed)

    def _near(self, beside: Floats = 0.0) -> tuple[Marks, Normal, Normal]:
        """Where the removal may run out, and there the thickness before it and the removal; in the shape of both."""
        start = self.planned_um + self.taken_um + self.bias_um
        may = near_nothing(self.removed) & np.isfinite(start)
        if not may.any():
            none = np.zeros(0)
            return may, Normal(none, none), Normal(none, none)
        parts = np.broadcast_arrays(may, start, _sd_of(*self.sds_um), *self.removed, beside)[:-1]
        near, *rest = (np.asarray(part) for part in parts)
        start, start_sd, mean, sd = (part[near] for part in rest)
        return near, Normal(start, start_sd), Normal(mean, sd)


def intervals(lefts: Sequence[Left]) -> list[tuple[Array, Array]]:
    """The interval of each of several thicknesses along a line, all searched together.

    Args:
        lefts: Left with a column of removals and as many SDs as the others.
    """
    sizes = [np.size(one.taken_um) for one in lefts]

    def along(*parts: Floats) -> Array:
        return np.concatenate([np.broadcast_to(part, size) for part, size in zip(parts, sizes, strict=True)])

    planned, taken_um, bias, *of_taken = (
        along(*parts)
        for parts in zip(*((one.planned_um, one.taken_um, one.bias_um, *one.taken) for one in lefts), strict=True)
    )
    sds = [along(*parts) for parts in zip(*(one.sds_um for one in lefts), strict=True)]
    ends = Left(planned, taken_um, bias, sds, Normal(*of_taken)).interval()
    low, high = (np.split(end, np.cumsum(sizes)[:-1]) for end in ends)
    return list(zip(low, high, strict=True))


def replaced(near: Marks, plain: Floats, exact: Array) -> Floats:
    """A figure with other values where `near` holds."""
    whole = np.array(np.broadcast_to(plain, near.shape), dtype=float)
    whole[near] = exact
    return whole[()]
