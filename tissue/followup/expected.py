"""What published rows say about a step between plan and reading: bias, and its spread between centres and between eyes.

A figure of a pool is used as it is shown, rounded to 0.1 µm, 0.01 D or 0.01 µm per dioptre.
"""

from functools import cache
from typing import NamedTuple

import numpy as np

from tissue.eye.reading import noise_um
from tissue.ground.published import SLOPE, pooled, pools, readings, row
from tissue.ground.sources import data
from tissue.ground.vocabulary import Floats
from tissue.removal.options import Errors, Option

PUBLISHED = Errors()  # the defaults are published figures
RISING = ("e02", "e03"), ("e04", "e05")  # gain of the same eyes at 90 and at 30 days
K_CLASSES = (3.0, "k01"), (6.0, "k02"), (np.inf, "k03")  # myopia up to so many dioptres; source of the rows
LAST_REFRACTION_DAYS, DRIFT_FROM_DAYS, YEAR_DAYS = 2555, 365, 365.0


class Figure(NamedTuple):
    """A published error: bias, SD between centres and SD between eyes [µm, D], and the ids of its rows."""

    bias: Floats
    between_sd: Floats
    eye_sd: Floats
    rows: tuple[str, ...] = ()


NOTHING = Figure(0.0, 0.0, 0.0)


def removal_error(option: Option) -> Figure:
    """True minus planned removal of an option [µm].

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> removal_error(plan.under_cap.option)[:3]
    (-12.1, 6.7, 7.2)
    """
    return removal_figure(option.ablates)


def removal_figure(ablates: bool) -> Figure:
    """True minus planned removal [µm], of tissue ablated or cut out."""
    if ablates:  # two series of opposite sign: no bias is assumed, and their distance is the SD between centres
        pool = pools()["stroma-ablation"]
        return Figure(PUBLISHED.ablation_bias_um, round(pool.tau, 1), PUBLISHED.ablation_sd_um, pool.rows)
    pool = pools()["stroma-lenticule"]
    return Figure(-round(pool.mean, 1), round(pool.new_centre_sd, 1), round(pool.eye_sd, 1), pool.rows)


def cut_between_um() -> float:
    """SD between centres of the mean error of a flap or a cap [µm]."""
    return data("followup")["cut_between_centres"]["sd_um"]


def cut_error(option: Option) -> Figure:
    """True minus planned cut of an option [µm]; a measured cut only has its spread between eyes."""
    if option.cut_field is None:
        return Figure(0.0, 0.0, PUBLISHED.epithelium_sd_um)
    cut = option.cut_field.removesuffix("_um")
    bias, sd = getattr(PUBLISHED, f"{cut}_bias_um"), getattr(PUBLISHED, f"{cut}_sd_um")
    planned = ~np.asarray(option.cut_is_measured)
    return Figure(np.where(planned, bias, 0.0)[()], np.where(planned, cut_between_um(), 0.0)[()], sd)


def gain_error() -> Figure:
    """How far the growth of an eye's epithelium may differ from the gain by dioptres [µm].

    >>> gain_error()[:3]
    (0.0, 1.6, 2.9)
    """
    pool = pools()[SLOPE]
    return Figure(0.0, round(pool.tau, 1), pool.eye_sd, pool.rows)


@cache
def gain_days() -> int:
    """Days in which 1 − 1/e of the gain of the epithelium comes about, from gains at 30 and at 90 days.

    (1 − x)/(1 − x³) = their ratio, x = exp(−30/days)

    >>> gain_days()
    19
    """
    ratio = np.mean([row(early).mean / row(late).mean for late, early in RISING])
    x = (np.sqrt(4.0 / ratio - 3.0) - 1.0) / 2.0
    return round(float(-row(RISING[0][1]).days / np.log(x)))


def grown_share(days: Floats) -> Floats:
    """Share of the gain that is reached after this many days [0–1]; 0 before surgery.

    ρ = 1 − exp(−t/19)

    >>> round(float(grown_share(90)), 3)
    0.991
    """
    return -np.expm1(-np.maximum(days, 0.0) / gain_days())


def gain_um(SE_D: Floats, method: str) -> Floats:
    """How much thicker the epithelium is once it has settled [µm], by the dioptres treated.

    Args:
        SE_D: spherical equivalent treated, spectacles [D].
        method: one of METHODS.

    >>> [round(float(gain_um(SE, method)), 2) for SE, method in ((-4.0, "oct"), (-4.0, "vhf"), (2.0, "oct"))]
    [3.76, 7.68, -5.98]
    """
    myopia, hyperopia = row("e10"), row("e11")
    slope = myopia.mean / -myopia.SE_D if method == "vhf" else pools()[SLOPE].mean
    thinner = round(hyperopia.mean / hyperopia.SE_D, 2)
    return np.where(np.asarray(SE_D) > 0, thinner * SE_D, round(slope, 2) * -np.asarray(SE_D))[()]


def gain_rows(SE_D: float, method: str) -> tuple[str, ...]:
    """Ids of the rows behind `gain_um` for one eye."""
    if SE_D > 0:
        return ("e11",)
    return ("e10",) if method == "vhf" else pools()[SLOPE].rows


def offset(method: str) -> Figure:
    """A method minus ultrasound [µm]: the difference, and its SD between series.

    >>> offset("oct")[:2], offset("scheimpflug")[:2], offset("vhf")[:2]
    ((-9.8, 5.6), (3.7, 9.5), (-11.2, 5.6))
    """
    if method == "ultrasound":
        return NOTHING
    if method == "vhf":  # one series; it is given the disagreement of the other optical method
        return Figure(-row("m07").mean, round(pools()["offset-oct"].tau, 1), 0.0, ("m07",))
    pool = pools()[f"offset-{method}"]
    return Figure(-round(pool.mean, 1), round(pool.tau, 1), 0.0, pool.rows)


@cache
def method_eye_sd_um() -> float:
    """How far two methods differ from eye to eye [µm]: the printed SD without the noise of both.

    >>> method_eye_sd_um()
    5.2
    """
    noise = np.hypot(noise_um("scheimpflug"), noise_um("oct"))
    return round(float(np.sqrt(row("m08").sd ** 2 - noise**2)), 1)


def method_difference(method: str, before: str | None) -> Figure:
    """The method after surgery minus the one before [µm].

    Args:
        method: one of METHODS.
        before: one of METHODS; None where it is not known.

    >>> [round(float(part), 2) for part in method_difference("oct", "ultrasound")[:3]]
    [-9.8, 5.6, 5.2]
    """
    if before is None:
        return Figure(0.0, float(data("followup")["method_before_unknown"]["sd_um"]), 0.0)
    if method == before:
        return NOTHING
    one, other = offset(method), offset(before)
    between = np.hypot(one.between_sd, other.between_sd)
    return Figure(one.bias - other.bias, between, method_eye_sd_um(), one.rows + other.rows)


def refraction_error(procedure: str, days: float) -> Figure | None:
    """Refraction after surgery minus the target [D]; None where nothing is published for it.

    Args:
        procedure: name of an option.
        days: since surgery.

    >>> [round(float(part), 2) for part in refraction_error("lenticule", 730)[:3]]
    [-0.24, 0.09, 0.4]
    """
    series = [one for one in readings() if one.quantity == "SE_less_target" and one.procedure == procedure]
    if not series or days > LAST_REFRACTION_DAYS:
        return None
    pool, drift = pools()["refraction-lenticule"], pools()["drift"]  # one series has no disagreement of its own
    bias = round(pooled(pool.id, series).mean, 2)
    years = max(0.0, days - DRIFT_FROM_DAYS) / YEAR_DAYS
    between = np.hypot(round(pool.new_centre_sd, 2), round(drift.tau, 2) * years)
    ids = tuple(one.id for one in series) + (drift.rows if years > 0 else ())
    return Figure(bias + round(drift.mean, 2) * years, between, round(pool.eye_sd, 2), ids)


def K_error(SE_D: float) -> Figure | None:
    """Fall of K minus its mean for the dioptres of myopia treated [D], with its SD between eyes; None without myopia.

    >>> [round(float(part), 3) for part in K_error(-4.0)[:3]]
    [-3.2, 0.0, 0.68]
    """
    if SE_D >= 0:
        return None
    of_class = row(next(id for under, id in K_CLASSES if -SE_D < under))
    return Figure(of_class.mean * SE_D, 0.0, of_class.sd * -SE_D, (of_class.id,))
