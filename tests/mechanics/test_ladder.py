"""The ladder of published experiments: complete, computed, and with verdicts that can fail."""

from dataclasses import replace

import numpy as np
import pytest
from ladder_cases import differences
from scipy.integrate import solve_bvp

from tissue.ground.sources import keys
from tissue.mechanics.ladder.cases import cases, judged, kept_runs
from tissue.mechanics.ladder.shear_lag import lost_share
from tissue.report.ladder import VERDICTS, ladder_report, ladder_table, said

IDS = (
    "flap-90 flap-160 side-cut-90 side-cut-160 delamination-90 delamination-160 cuts-flap cuts-cap patients-surface "
    "patients-flap patients-lenticule apex-rise posterior-vertex posterior-centre posterior-power loss-order "
    "donor-loss-order microfolds-order sheep-flap curvature-change"
).split()
JUDGING = {"agrees", "disagrees", "fails", "passes", "good", "bad", "safe", "unsafe", "suitable", "pass", "fail"}


def test_no_case_speaks_of_another_by_its_key():
    said_of_all = " ".join(f"{case.published} {case.metric} {case.population} {case.note}" for case in cases().values())
    assert not [name for name in cases() if name in said_of_all]


def test_every_case_is_there_with_a_source_a_note_and_its_runs():
    assert list(cases()) == IDS
    assert set(kept_runs()) == set(IDS)
    for name, case in cases().items():
        assert case.source in keys() and case.note and case.metric and case.population
        assert bool(kept_runs()[name]) == (case.comparison != "none")


def test_no_word_of_judgement():
    text = ladder_table(kept_runs())
    assert not JUDGING & {word.strip(".,;:()").lower() for word in text.split()}
    assert not JUDGING & {word for words in VERDICTS.values() for word in words.split()}


@pytest.mark.parametrize("name", [name for name in IDS if cases()[name].comparison != "none"])
def test_what_is_kept_is_what_the_laws_give(name):
    # the linear laws by one relationship, and the fibre law where nothing else is run; all of it in tests/hard
    laws = {run.law for run in kept_runs()[name]}
    wanted = {"relationship": "nambiar2023", "law": "transverse" if "transverse" in laws else laws.pop()}

    def one(run):
        plain = run.shear_ratio in (None, 47.0) and run.set in (None, "donor")
        return plain and run.law == wanted["law"] and run.relationship in (None, wanted["relationship"])

    assert differences(name, one) == []


def test_verdicts_by_value():
    # C: inside, above and below the range; without a range the difference alone
    case, made = cases()["apex-rise"], {"relationship": None, "shear_ratio": None, "shear_relationship": None}
    made |= {"law": "fibre", "set": "donor", "state": "intact"}
    for value, verdict, off in (
        (0.55, "inside", 0.0),
        (0.486, "inside", 0.0),
        (0.4, "below", -0.086),
        (0.6, "above", 0.015),
    ):
        run = judged(case, made | {"value": value})
        assert run.verdict == verdict and run.difference == pytest.approx(off, abs=1e-9) and run.fitted
    assert not judged(case, made | {"value": 0.5, "set": "soft"}).fitted
    assert judged(cases()["flap-90"], made | {"value": 12.0}).verdict == "no-spread"
    assert judged(cases()["flap-90"], made | {"value": 12.0}).difference == 3.0
    assert judged(case, made | {"value": None}).verdict == "not-computed"


def test_verdicts_by_sign_and_order():
    made = {"law": "isotropic", "relationship": "uniform", "shear_ratio": None, "shear_relationship": None}
    made |= {"set": None, "state": "flap"}
    assert judged(cases()["posterior-centre"], made | {"value": 1.0}).verdict == "other-sign"
    assert judged(cases()["posterior-power"], made | {"value": 1.0}).verdict == "same-sign"
    order = cases()["loss-order"]
    assert judged(order, made | {"value": ["surface", "lenticule", "flap"]}).verdict == "same-order"
    assert judged(order, made | {"value": ["lenticule", "surface", "flap"]}).verdict == "other-order"
    assert order.value == ["surface", "lenticule", "flap"]


def test_failures_stand_in_the_open():
    # what no law reproduces is shown as that: the side cut, the back of the vertex, one of two opposite findings
    runs = kept_runs()
    assert all(run.value < 0.5 * cases()["side-cut-160"].value for run in runs["side-cut-160"])
    assert {run.verdict for run in runs["posterior-vertex"]} == {"other-sign"}
    opposite = [{run.verdict for run in runs[name]} for name in ("posterior-centre", "posterior-power")]
    assert opposite in ([{"other-sign"}, {"same-sign"}], [{"same-sign"}, {"other-sign"}])
    assert "fitted to this" in " ".join(said(cases()["apex-rise"], runs["apex-rise"]))


def test_json_has_the_names_of_the_interface():
    report = ladder_report(kept_runs())
    case = {"id", "published", "metric", "population", "n", "value", "low", "high", "spread_kind", "comparison"}
    run = {"law", "relationship", "shear_ratio", "shear_relationship", "set", "state", "value", "difference"}
    assert set(report) == {"schema", "cases"}
    assert all(set(one) == case | {"source", "status", "note", "runs"} for one in report["cases"])
    assert all(set(each) == run | {"verdict", "fitted"} for one in report["cases"] for each in one["runs"])


@pytest.mark.parametrize("ratio", [47.0, 300.0, 1000.0])
def test_side_cut_in_closed_form(ratio):
    # the same two discs by SciPy's boundary-value solver: w'' + w'/ρ − w/ρ² = 3(1 − ν²)/(k·t₁·t₂)·w, edge free
    radius, front, back, poisson = 4.5, 0.107, 0.39, 0.49
    m = 3.0 * (1.0 - poisson**2) / (ratio * front * back)
    r = np.linspace(1e-4, radius, 4001)

    def slope(rho, y):
        return np.stack([y[1], m * y[0] + y[0] / rho**2 - y[1] / rho])

    def ends(first, last):
        return np.array([first[0] - r[0] * first[1], last[1] + poisson * last[0] / radius - 1.0])

    found = solve_bvp(slope, ends, r, np.stack([r, np.ones_like(r)]), tol=1e-8, max_nodes=200000)
    assert found.success
    at_centre = (1.0 + poisson) * found.sol(1e-3)[1]
    assert lost_share(ratio, radius, front, back, poisson) == pytest.approx(at_centre, rel=2e-3)


def test_a_softer_layer_loses_more():
    shares = lost_share(np.array([2.98, 47.0, 300.0, 1000.0, 1e9]), 4.5, 0.107, 0.39, 0.49)
    assert np.all(np.diff(shares) > 0) and shares[-1] == pytest.approx(1.0, abs=1e-4)


def test_a_changed_figure_is_found(monkeypatch):
    runs = kept_runs()
    wrong = {**runs, "cuts-cap": tuple(replace(run, value=run.value + 0.1) for run in runs["cuts-cap"])}
    monkeypatch.setattr("ladder_cases.kept_runs", lambda: wrong)
    assert differences("cuts-cap", lambda run: run.relationship == "uniform")
