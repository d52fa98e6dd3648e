"""Columns of outcomes, as a map of columns names them, and the counts made from them."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tissue.entry.notation import shown
from tissue.series.finished import Series
from tissue.series.statistics import FEWEST, SHARE, error_of_means, half_interval, numbered
from tissue.series.tables.header import LARGEST_FACTOR, OUTCOMES, map_document
from tissue.series.wrong import TableError

UNITS = {
    "achieved_SE_D": "D",
    "UDVA_logMAR": "logMAR",
    "CDVA_logMAR": "logMAR",
    "K_D": "D",
    "thickness_um": "µm",
    "measured_bed_um": "µm",
    "complication": "",
}
WORDS = {
    "achieved_SE_D": "Achieved spherical equivalent",
    "UDVA_logMAR": "UDVA",
    "CDVA_logMAR": "CDVA",
    "K_D": "K",
    "thickness_um": "Thickness",
    "measured_bed_um": "Measured bed",
    "complication": "Complication",
}
ACUITY = ("logMAR", "decimal", "20/x", "6/x")
WITHIN_D = (0.5, 1.0)
NONE = ("", "0", "no", "none", "false")


class Outcome(NamedTuple):
    """A column that holds an outcome: its name, the factor to our unit, and how an acuity is written there."""

    column: str
    factor: float = 1.0
    written: str = "logMAR"


def read_outcomes(path: str) -> dict[str, Outcome]:
    """The table `outcomes` of a map file: {name of an outcome: Outcome}; empty where there is none.

    Raises:
        TableError: it cannot be read, or an entry is no outcome.
    """
    return outcomes_of(map_document(path), path)


def outcomes_of(document: dict[str, Any], path: str) -> dict[str, Outcome]:
    """The table `outcomes` among the tables of a map file, see `read_outcomes`.

    Raises:
        TableError: an entry is no outcome.
    """
    given = document.get(OUTCOMES, {})
    if not isinstance(given, dict):
        raise TableError(f"{path}: {OUTCOMES}: read {shown(given)}, accepted a table of columns")
    found = {name: _outcome(f"{path}: {OUTCOMES}.{shown(name)}", name, entry) for name, entry in given.items()}
    return {name: found[name] for name in UNITS if name in found}


def _outcome(where: str, name: str, entry: Any) -> Outcome:
    """One entry of the table."""
    if name not in UNITS:
        raise TableError(f"{where}: read that name, accepted {', '.join(UNITS)}")
    entry = {"name": entry} if isinstance(entry, str) else entry
    keys = {"name", "written"} if name.endswith("_logMAR") else {"name", "factor"}
    if not isinstance(entry, dict) or not isinstance(entry.get("name"), str) or set(entry) - keys:
        raise TableError(
            f"{where}: read {shown(entry)}, accepted a column's name, or a table of {', '.join(sorted(keys))}"
        )
    written, factor = entry.get("written", "logMAR"), entry.get("factor", 1.0)
    if written not in ACUITY:
        raise TableError(f"{where}: read written {shown(written)}, accepted {', '.join(ACUITY)}")
    if isinstance(factor, bool) or not isinstance(factor, int | float) or not 0 < factor <= LARGEST_FACTOR:
        raise TableError(f"{where}: read factor {shown(factor)}, accepted a number above 0, up to 1000000")
    return Outcome(entry["name"], float(factor), written)


def values_of(series: Series, name: str, outcome: Outcome) -> NDArray[np.float64]:
    """An outcome as numbers in our unit, NaN where missing or no number; a complication is 1 or 0.

    Args:
        series: Series.
        name: of the outcome.
        outcome: its column.
    """
    if name == "complication":
        column = series.texts.distinct(outcome.column)
        return np.array([_happened(text) for text in column.distinct])[column.index]
    if outcome.written in ("20/x", "6/x"):
        column = series.texts.distinct(outcome.column)
        return np.array([_of_fraction(text, outcome.written[:-2]) for text in column.distinct])[column.index]
    numbers = series.numbers(outcome.column)
    if outcome.written == "decimal":
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.where(numbers > 0.0, -np.log10(numbers), np.nan)
    return numbers * outcome.factor


def _happened(text: str) -> float:
    """1 where a complication is written, otherwise 0; an empty cell counts as none.

    >>> [_happened(text) for text in ("", "No", "1", "haze")]
    [0.0, 0.0, 1.0, 1.0]
    """
    return 0.0 if text.strip().casefold() in NONE else 1.0


def _of_fraction(text: str, metres: str) -> float:
    """logMAR of an acuity as a fraction, NaN where it is none.

    >>> round(_of_fraction("20/40", "20"), 4), _of_fraction("20/20", "20"), _of_fraction("6/x", "6")
    (0.301, 0.0, nan)
    """
    before, _, after = text.replace(" ", "").replace(",", ".").partition("/")
    try:
        value = float(after)
    except ValueError:
        return np.nan
    return float(np.log10(value / float(metres))) + 0.0 if before == metres and 0.0 < value < 1e6 else np.nan


class Share(NamedTuple):
    """A share of eyes [%] with its 95 % interval; NaN where it cannot be given."""

    share_percent: float
    share_low: float
    share_high: float


def share(happened: NDArray, patients: NDArray | None = None) -> Share:
    """The Share of the eyes with the outcome, NaN left out; without an interval under five patients.

    Exact binomial; where eyes of a patient are alike with as many eyes as independent ones would tell as much
    (Korn and Graubard), where all eyes or none have it with as many as there are patients. That number is estimated:
    with fellow eyes the interval is approximate.

    Args:
        happened: 1, 0 or NaN, shape (eyes,).
        patients: who each eye belongs to; every eye its own where None.

    Source: clopper1934, korn1998

    >>> [round(float(end), 2) for end in share(np.array([1.0, 0.0, 0.0, 0.0, 0.0, np.nan]))]
    [20.0, 0.51, 71.64]
    """
    kept = np.isfinite(happened)
    known, owners = happened[kept], numbered(np.arange(len(happened)) if patients is None else patients)[kept]
    owners = numbered(owners)
    if not len(known):
        return Share(np.nan, np.nan, np.nan)
    part = float(np.mean(known))
    if owners.max() + 1 < FEWEST:
        return Share(100.0 * part, np.nan, np.nan)
    low, high = _binomial(part, _counted_eyes(known, owners))
    return Share(100.0 * part, 100.0 * low, 100.0 * high)


def _counted_eyes(known: NDArray, owners: NDArray) -> float:
    """How many independent eyes would tell as much about a share as these eyes do; never more than there are."""
    eyes, people, part = len(known), int(owners.max()) + 1, float(np.mean(known))
    if people == eyes:
        return float(eyes)
    found = error_of_means(known, [(slice(None), 1.0)], owners)
    if part in (0.0, 1.0) or found is None:
        return float(people)
    error, df = found
    wider = half_interval(1.0, df) / half_interval(1.0, eyes - 1)
    for_one = error**2 * (eyes - 1) * wider**2 / (part * (1.0 - part))  # design effect
    return eyes / max(1.0, for_one)


def _binomial(part: float, eyes: float) -> tuple[float, float]:
    """The exact 95 % interval of a share of so many independent eyes, a whole number or not."""
    from scipy.special import betaincinv

    with_it, without = part * eyes, (1.0 - part) * eyes
    low = float(betaincinv(with_it, without + 1.0, 1.0 - SHARE)) if part > 0.0 else 0.0
    high = float(betaincinv(with_it + 1.0, without, SHARE)) if part < 1.0 else 1.0
    return low, high
