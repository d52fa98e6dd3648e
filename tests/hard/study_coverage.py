"""How often 95 % intervals of a study hold the truth: `python tests/hard/study_coverage.py LOG REPEATS [PATIENTS…]`.

Cohorts with one or two eyes a patient (70 of 100 have two), fellow eyes correlated by 0, 0.5 and 0.9, normal
differences. Every call adds so many cohorts of each kind to LOG, none it had before, and prints the table of all of
them; with 0 it only prints. A row an interval, a column a number of patients: the least and the greatest share of the
three correlations [%]. With 10,000 cohorts three standard errors are 0.65 of a point, with 2,000 they are 1.5.
"""

import json
import sys
from itertools import count
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
from study_cohorts import BIAS, SD, SHIFT, TRUE_ICC, TRUE_SHARE, drawn, grouped, happened, owners, paired

from tissue.series.statistics import describe
from tissue.series.study.agreement import LIMITS_Z, agreement
from tissue.series.study.comparison import adjusted, between, within
from tissue.series.study.outcomes import share

SEED, PATIENTS, ALIKE = 2013, (5, 10, 20, 50, 200), (0.0, 0.5, 0.9)
FEWEST_EYES = 4  # of a group; cohorts with fewer in one are drawn anew


def intervals(rng, patients, alike):
    """Ends and truth of every interval of one draw, by name; NaN where none is given."""
    owner = owners(rng, patients)
    mean = describe(3.0 + drawn(rng, owner, alike), owner)
    yield "mean of a group", mean.mean_low, mean.mean_high, 3.0
    counted = share(*happened(rng, patients, alike))
    yield "share of eyes", counted.share_low, counted.share_high, 100.0 * TRUE_SHARE
    found = agreement(*paired(rng, patients, alike))
    yield "bias", found.bias_low, found.bias_high, BIAS
    yield "lower limit", found.limit_lower_low, found.limit_lower_high, BIAS - LIMITS_Z * SD
    yield "upper limit", found.limit_upper_low, found.limit_upper_high, BIAS + LIMITS_Z * SD
    yield "slope on the mean", found.slope_low, found.slope_high, 0.0
    yield "ICC", found.icc_low, found.icc_high, TRUE_ICC
    for words, by_patient in (("eyes", False), ("patients", True)):
        values, second, owner = _with_both(rng, patients, alike, by_patient)
        yield f"difference, groups of {words}", *_ends(between(values, second, owner)), SHIFT
        age = rng.normal(size=patients)[owner]
        beside = adjusted(values + 0.5 * age, second, owner, age, "age")
        yield f"the same, adjusted, {words}", *_ends(beside), SHIFT
    owner = np.repeat(np.arange(patients), 2)
    second = np.tile([False, True], patients)
    yield "fellow eyes, paired", *_ends(within(drawn(rng, owner, alike) + SHIFT * second, second, owner)), SHIFT


def _with_both(rng, patients, alike, by_patient):
    """A cohort with some eyes in either group, and with an interval."""
    for _ in count():
        values, second, owner = grouped(rng, patients, alike, by_patient=by_patient)
        if min(second.sum(), (~second).sum()) >= min(FEWEST_EYES, patients // 2):
            if np.isfinite(between(values, second, owner).low):
                return values, second, owner


def _ends(found):
    return found.low, found.high


def covered(repeats, patients, part):
    """How many of the repeats hold the truth: {interval: one for each correlation}."""
    found = {}
    for alike in ALIKE:
        rng, hits = np.random.default_rng([SEED, patients, int(10 * alike), part]), {}
        for _ in range(repeats):
            for name, low, high, truth in intervals(rng, patients, alike):
                hits[name] = hits.get(name, 0) + bool(low <= truth <= high)
        for name, number in hits.items():
            found.setdefault(name, []).append(number)
    return found


def table(lines):
    """The table of all that is in the log."""
    sizes = sorted({line["patients"] for line in lines})
    mine = {size: [line for line in lines if line["patients"] == size] for size in sizes}
    counts = {size: sum(line["repeats"] for line in mine[size]) for size in sizes}
    yield "| interval | " + " | ".join(f"{size} patients ({counts[size]:,})" for size in sizes) + " |"
    yield "|---" * (len(sizes) + 1) + "|"
    for name in lines[0]["hits"]:
        cells = []
        for size in sizes:
            shares = 100.0 * np.sum([line["hits"][name] for line in mine[size]], axis=0) / counts[size]
            cells.append(f"{shares.min():.1f}–{shares.max():.1f}")
        yield f"| {name} | " + " | ".join(cells) + " |"


def main(log, repeats, *sizes):
    log = Path(log)
    lines = [json.loads(line) for line in log.read_text("utf-8").splitlines()] if log.exists() else []
    for patients in map(int, sizes or PATIENTS if int(repeats) else ()):
        part = sum(line["patients"] == patients for line in lines)
        hits = covered(int(repeats), patients, part)
        lines.append({"patients": patients, "repeats": int(repeats), "hits": hits})
        with log.open("a", encoding="utf-8") as file:
            file.write(json.dumps(lines[-1]) + "\n")
    print("\n".join(table(lines)))


if __name__ == "__main__":
    main(*sys.argv[1:])
