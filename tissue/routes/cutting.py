"""The laser's order of cuts over time: four cuts, each sweeping an area at one fixed pitch."""

from dataclasses import dataclass
from itertools import accumulate
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.budget.comparison import Comparison
from tissue.ground.errors import number, require
from tissue.ground.limits import one_word
from tissue.ground.vocabulary import CAP, CUT, CUT_ORDERS, INCISION, SIDE, STAGES, Floats
from tissue.removal.options import Option

UM_PER_MM = 1000.0


def stage_number(stage: str, order: tuple[str, ...] = STAGES) -> int:
    """Place of a stage in an order of cuts, 0 to 3.

    Raises:
        EyeError: a word that is no stage.

    >>> stage_number("cap"), stage_number("cap", CUT_ORDERS["cap-first"])
    (2, 0)
    """
    one_word(stage, "stage", STAGES)
    return order.index(stage)


def share_done(done: Floats) -> Floats:
    """The share of a cut that is done [–], any shape, held to 0 to 1.

    Raises:
        EyeError: a share outside 0 to 1, or none.
    """
    done = number(done)
    require((done >= 0.0) & (done <= 1.0), "done", done, "0 to 1, the share of that cut's area")
    return done[()]


def done_percent(done: Floats) -> str:
    """A share that is done [0–1] in percent, rounded down to a tenth: 9.9 % is not written as the limit of 10 %.

    >>> done_percent(0.5), done_percent(0.099), done_percent(0.09999)
    ('50', '9.9', '9.9')
    """
    return f"{np.floor(1000.0 * float(done) + 1e-6) / 10.0:g}"


@dataclass(frozen=True, eq=False)
class Clock:
    """The four cuts of an extraction in their order; numbers or arrays.

    swept_mm2: area that each cut sweeps [mm²], one item for each stage in that order. total_s: time of all four [s].
    The refraction is not among the fields: the time of a cut is proportional to its area. Source: common practice.
    """

    lenticule_radius_mm: Floats
    cap_radius_mm: Floats
    swept_mm2: tuple[Floats, ...]
    total_s: Floats
    order: tuple[str, ...] = STAGES

    @property
    def shares(self) -> tuple[Floats, ...]:
        """Share of the whole time that each stage takes [–], one item for each stage, summing to 1."""
        whole = sum(self.swept_mm2)
        return tuple(area / whole for area in self.swept_mm2)

    @property
    def ends_s(self) -> tuple[Floats, ...]:
        """When each stage ends [s], one item for each stage."""
        ends = tuple(end * self.total_s for end in accumulate(self.shares))
        return (*ends[:-1], self.total_s)

    @property
    def begins_s(self) -> tuple[Floats, ...]:
        """When each stage begins [s], one item for each stage."""
        return (0.0 * self.ends_s[0], *self.ends_s[:-1])

    def seconds(self, stage: str, done: Floats) -> Floats:
        """Time on the clock [s] when a share of a stage is done.

        Args:
            stage: one of STAGES.
            done: share of that stage's area [–], any shape.
        """
        number_, done = stage_number(stage, self.order), share_done(done)
        begin, end = self.begins_s[number_], self.ends_s[number_]
        return np.asarray(begin + done * (end - begin))[()]

    def moment(self, seconds: Floats) -> tuple[int | NDArray[np.int_], Floats]:
        """Number of the stage in the order (0 to 3) and the share of it that is done [–] at a time [s], any shape.

        Raises:
            EyeError: a time outside the clock.
        """
        s = number(seconds)
        require(
            (s >= 0.0) & (s <= self.total_s),
            "seconds",
            s,
            f"0 to {np.max(self.total_s):g} s, the time of the four cuts",
        )
        begins: Any = self.begins_s
        ends: Any = self.ends_s
        stage: Any = sum((s >= end).astype(int) for end in ends[:-1])
        begin, end = np.choose(stage, begins), np.choose(stage, ends)
        return stage[()], np.clip((s - begin) / (end - begin), 0.0, 1.0)[()]

    def reached_mm(self, stage: str, done: Floats) -> Floats:
        """Radius that a spiral cut has reached [mm]; NaN for a side cut and the incision, which have none.

        Outside in ρ_max·√(1 − f), inside out ρ_max·√f

        Args:
            stage: one of STAGES.
            done: share f of the spiral's area [–], any shape.
        """
        _, f = stage_number(stage), share_done(done)
        if stage == CUT:
            return self.lenticule_radius_mm * np.sqrt(1.0 - f)
        if stage == CAP:
            return self.cap_radius_mm * np.sqrt(f)
        return np.nan * self.lenticule_radius_mm * f


def clock(option: Option, incision_mm: Floats, total_s: Floats, order: tuple[str, ...] = STAGES) -> Clock:
    """The Clock of a lenticule extraction.

    Swept area: lenticule π·ρ_l², its side cut 2π·ρ_l·B, cap π·ρ_c², incision its width × C.

    Args:
        option: Option of the extraction.
        incision_mm: width of the incision [mm].
        total_s: time of the four cuts [s].
        order: the four stages as they are cut.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> [round(float(share), 3) for share in clock(plan.under_cap.option, 3.0, 24.0).shares]
    [0.425, 0.004, 0.566, 0.005]
    """
    taken = option.removal
    rho, cap = number(taken.radius_mm), number(option.cut_diameter_mm) / 2.0
    base, depth = number(taken.base_um) / UM_PER_MM, number(option.cut_um) / UM_PER_MM
    areas = (np.pi * rho**2, 2.0 * np.pi * rho * base, np.pi * cap**2, number(incision_mm) * depth)
    swept = dict(zip(STAGES, areas, strict=True))
    return Clock(rho[()], cap[()], tuple(swept[stage][()] for stage in order), number(total_s)[()], order)


def clock_of(comparison: Comparison) -> Clock:
    """The Clock of the lenticule extraction of a plan.

    Args:
        comparison: Comparison; its eyes are cut in one order.

    Raises:
        EyeError: a column of orders.
    """
    option, judgement = comparison.under_cap.option, comparison.judgement
    one_word(judgement.cut_order, "cut_order", CUT_ORDERS)
    return clock(option, comparison.cap.incision_mm, judgement.clock_s, CUT_ORDERS[judgement.cut_order])


@dataclass(frozen=True, eq=False)
class CutSoFar:
    """What is cut in the tissue when the laser stops; radii about the treatment centre.

    lenticule_inner_mm, lenticule_outer_mm: closed annulus of the lenticule cut [mm]; equal where none is cut yet.
    side_done, incision_done: share of the side cut and of the incision [–]. cap_radius_mm: disc of the cap cut [mm].
    """

    lenticule_inner_mm: Floats
    lenticule_outer_mm: Floats
    side_done: Floats
    cap_radius_mm: Floats
    incision_done: Floats


def cut_so_far(cuts: Clock, stage: str, done: Floats) -> CutSoFar:
    """What is cut when the laser stops in a stage.

    Args:
        cuts: Clock.
        stage: one of STAGES; those before it in the order are done.
        done: share of that stage [–], any shape.
    """
    at, f = stage_number(stage, cuts.order), share_done(done)
    share = {name: f if at == i else float(at > i) + 0.0 * f for i, name in enumerate(cuts.order)}
    return CutSoFar(
        lenticule_inner_mm=cuts.reached_mm(CUT, share[CUT]),
        lenticule_outer_mm=cuts.lenticule_radius_mm,
        side_done=share[SIDE],
        cap_radius_mm=cuts.reached_mm(CAP, share[CAP]),
        incision_done=share[INCISION],
    )
