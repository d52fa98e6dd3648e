"""Statistics of a series against SciPy, a NIST StRD set and the trade's definitions."""

import tracemalloc

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from tissue.command.command import main
from tissue.series.demo import demo_rows
from tissue.series.finished import load_series
from tissue.series.report import summary_rows
from tissue.series.run import run
from tissue.series.statistics import (
    describe,
    described,
    fellow_pairs,
    mean,
    one_eye_each,
    sd,
)


def log_relative_error(value, certified):
    """Digits that agree: −log10(|value − certified|/|certified|), 15 where all do."""
    return 15.0 if value == certified else -np.log10(abs(value - certified) / abs(certified))


@pytest.mark.parametrize(
    "name, data, middle, spread",
    [
        ("NumAcc1", [10000001, 10000003, 10000002], 10000002.0, 1.0),
        ("NumAcc2", [1.2, *[1.1, 1.3] * 500], 1.2, 0.1),
    ],
)
def test_nist_univariate(name, data, middle, spread):
    """NIST StRD univariate, certified values; the sets and values from memory (M). At least 12 digits."""
    assert log_relative_error(mean(np.array(data, dtype=float)), middle) >= 12
    assert log_relative_error(sd(np.array(data, dtype=float)), spread) >= 12


def test_against_scipy():
    values = np.random.default_rng(4).normal(300.0, 40.0, 501)
    found, expected = describe(values), stats.describe(values)
    assert found.mean == pytest.approx(expected.mean, rel=1e-14)
    assert found.sd == pytest.approx(np.sqrt(expected.variance), rel=1e-14)
    assert (found.least, found.greatest) == expected.minmax
    assert found.median == stats.scoreatpercentile(values, 50)


def test_an_eye_a_patient_has_the_usual_interval():
    """SciPy's t interval of a mean; two equal eyes a patient tell nothing more than one. At 1e-12."""
    values = np.random.default_rng(5).normal(300.0, 30.0, 23)
    theirs = stats.ttest_1samp(values, 0.0).confidence_interval()
    found, doubled = describe(values), describe(np.repeat(values, 2), np.repeat(np.arange(23), 2))
    assert (found.mean_low, found.mean_high) == pytest.approx(theirs, rel=1e-12)
    assert (doubled.mean_low, doubled.mean_high) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("patients, known", [(4, False), (5, True)])
def test_under_five_patients_a_mean_has_no_interval(patients, known):
    owners = np.repeat(np.arange(patients), 2)
    found = describe(np.arange(2.0 * patients), owners)
    assert np.isfinite(found.mean) and np.isfinite(found.mean_low) == np.isfinite(found.mean_high) == known


def test_very_many_patients_have_the_interval_of_large_samples():
    """The error by clusters of statsmodels, which corrects nothing for few of them: alike to 1 in 10,000."""
    rng = np.random.default_rng(8)
    patients = np.repeat(np.arange(12_000), rng.integers(1, 3, 12_000))
    values = rng.normal(300.0, 20.0, 12_000)[patients] + rng.normal(0.0, 5.0, len(patients))
    line = sm.OLS(values, np.ones(len(values))).fit(
        cov_type="cluster", cov_kwds={"groups": patients, "use_correction": False}
    )
    found = describe(values, patients)
    assert (found.mean_high - found.mean_low) / 2.0 == pytest.approx(1.959964 * line.bse[0], rel=3e-4)


def test_a_column_takes_no_more_memory_than_a_few_of_it():
    values, owners = np.random.default_rng(9).normal(300.0, 20.0, 50_000), np.arange(50_000)
    tracemalloc.start()
    described(values, owners)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 10 * values.nbytes


def test_fellow_eyes_and_one_eye_each():
    patients, sides = ["a", "a", "b", "c", "c"], ["OD", "OS", "OD", "OS", "OD"]
    right, left = fellow_pairs(patients, sides)
    values = np.array([1.0, 3.0, 9.0, 4.0, 5.0])
    assert (values[right] - values[left]).tolist() == [-2.0, 1.0]
    kept = one_eye_each(patients)
    assert kept.sum() == 3 and sorted(np.array(patients)[kept]) == ["a", "b", "c"]


def test_summary_of_groups(tmp_path):
    source, target, summary = (tmp_path / name for name in ("in.csv", "out.csv", "sum.csv"))
    source.write_text("\n".join(demo_rows(200, seed=1)) + "\n")
    assert main(["series", str(source), str(target), "--summary", str(summary), "--by", "surgeon"]) == 0
    series = load_series(target)
    rows = {(row[0], row[1]): row[2:] for row in summary_rows(series, "surgeon")}
    mine = np.array(series.texts["surgeon"]) == "A"
    beds = series.numbers("flap_bed_central_um")[mine]
    found = rows["surgeon A", "flap_bed_central_um"]
    assert found[0] == mine.sum() and found[2] == pytest.approx(beds.mean()) and found[4] == np.median(beds)
    assert ("right less left eye", "flap_bed_central_um") in rows
    assert summary.read_text().startswith("group,measure,eyes,patients,mean,sd,")


def test_summary_needs_its_column(tmp_path, capsys):
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text("\n".join(demo_rows(4, seed=1)) + "\n")
    run(source, target)
    assert main(["series", str(source), str(target), "--summary", str(tmp_path / "s.csv"), "--by", "clinic"]) == 2
    assert "--by: read clinic" in capsys.readouterr().err
