"""The exact spread of the beds against a published one (tests/published/uncertainty.csv), draws and limits."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import published

from tissue import CapCut, Cornea, Errors, FlapCut, Judgement, Refraction, Treatment, compare
from tissue.budget.spread import bed_variance_percent, below_percent

PLAN = Treatment(Refraction(-6.0))


def spread_of(option="flap", eye=None, flap=None, cap=None, line=250.0, plan=PLAN, **errors):
    cuts = {"flap": flap or FlapCut(), "cap": cap or CapCut()}
    found = compare(eye or Cornea(550.0), plan, judgement=Judgement(line), errors=Errors(**errors), **cuts)
    return found.results[option].spread


def spread_of_row(row):
    """A flap eye with the planned bed of a row: thickness makes up for what flap and ablation take."""
    v = {name: float(row[name]) for name in row if name.endswith("_um")}
    taken = compare(Cornea(550.0), PLAN).results["flap"].budget.removal_central_um
    return spread_of(
        eye=Cornea(v["planned_bed_um"] + 110.0 + taken),
        line=v["line_um"],
        thickness_sd_um=v["sd_thickness_um"],
        flap_sd_um=v["sd_cut_um"],
        flap_bias_um=v["bias_cut_um"],
        ablation_sd_um=v["sd_removal_um"],
    )


@pytest.mark.parametrize("row", list(published("uncertainty")))
def test_published(row):
    value = getattr(spread_of_row(row), row["quantity"])
    assert value == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize(
    ("z", "percent"), [(0.0, 50.0), (1.0, 15.8655), (1.96, 2.49979), (-1.0, 84.1345), (3.0, 0.134990)]
)
def test_tail_of_the_normal_distribution(z, percent):
    # Source: printed tables of the normal distribution
    assert below_percent(z, 1.0, 0.0) == pytest.approx(percent, abs=5e-5)


def test_without_any_error_all_or_nothing():
    assert [below_percent(bed, 0.0, 250.0) for bed in (249.0, 250.0, 251.0)] == [100.0, 0.0, 0.0]
    assert np.isnan(below_percent(np.nan, 5.0, 250.0))


def test_biases_shift_the_bed_each_in_its_direction():
    # C: bias is true − planned: a thicker eye leaves more, a deeper cut or removal less
    budget = compare(Cornea(550.0), PLAN).results
    flap, lenticule = budget["flap"].budget.bed_central_um, budget["lenticule"].budget.bed_central_um
    assert spread_of(thickness_bias_um=3.0).bed_mean_um == pytest.approx(flap + 3.0 - 4.0)
    assert spread_of("lenticule").bed_mean_um == pytest.approx(lenticule + 0.7 + 12.1)
    assert spread_of(ablation_bias_um=5.0, flap_bias_um=0.0).bed_mean_um == pytest.approx(flap - 5.0)


def test_a_measured_cut_keeps_its_spread_and_loses_its_bias():
    # Source: the model
    planned, measured = spread_of(flap=FlapCut(115.0)), spread_of(flap=FlapCut(110.0, flap_measured_um=115.0))
    assert measured.bed_sd_um == planned.bed_sd_um
    assert measured.bed_mean_um - planned.bed_mean_um == pytest.approx(4.0)
    cap = spread_of("lenticule", cap=CapCut(cap_measured_um=120.0))
    assert cap.bed_mean_um - spread_of("lenticule").bed_mean_um == pytest.approx(-0.7)


def draws(option, count=200_000, **errors):
    """Central bed and percent altered of simulated eyes: thickness, cut and removal each with its normal error."""
    rng, e = np.random.default_rng(11), Errors(**errors)
    result = compare(Cornea(550.0), PLAN, errors=e).results[option]
    bias, sd = zip(result.option.cut_error, result.option.removal_error, strict=True)
    T = 550.0 + e.thickness_bias_um + e.thickness_sd_um * rng.standard_normal(count)
    cut = result.budget.cut_um + bias[0] + sd[0] * rng.standard_normal(count)
    r = result.budget.removal_central_um + bias[1] + sd[1] * rng.standard_normal(count)
    return T - cut - r, 100.0 * (cut + r) / T


@pytest.mark.parametrize("option", ["surface", "flap", "lenticule"])
def test_closed_forms_agree_with_simulated_eyes(option):
    """C: 200,000 draws; four standard errors of a 2.5 % point (0.06 SD) and of a share."""
    errors = {"thickness_bias_um": 2.0, "thickness_sd_um": 9.0, "flap_sd_um": 20.0}
    bed, altered = draws(option, **errors)
    found = spread_of(option, line=320.0, **errors)
    assert found.bed_mean_um == pytest.approx(bed.mean(), abs=4.0 * bed.std() / 447.0)
    assert (found.bed_low_um, found.bed_high_um) == pytest.approx(
        tuple(np.percentile(bed, (2.5, 97.5))), abs=0.06 * bed.std() / 2
    )
    below = 100.0 * np.mean(bed < 320.0)
    assert found.bed_below_line_percent == pytest.approx(below, abs=0.45)
    ends = tuple(np.percentile(altered, (2.5, 97.5)))
    assert (found.altered_low_percent, found.altered_high_percent) == pytest.approx(ends, abs=0.03 * altered.std())


def test_chance_for_the_least_bed_uses_its_own_bed():
    eye = Cornea(550.0, 530.0, 1.0, 1.0)
    figures = compare(eye, PLAN).results["flap"]
    shift = figures.budget.bed_central_um - figures.budget.bed_min_um
    assert shift > 5.0
    same = spread_of(line=250.0 + shift, eye=eye).bed_below_line_percent
    assert figures.spread.bed_min_below_line_percent == pytest.approx(same)


sds = st.one_of(st.just(0.0), st.floats(0.01, 60.0))
far = st.one_of(st.just(0.0), st.floats(0.01, 20.0))  # the removal of this plan never runs out under it
errors = st.fixed_dictionaries({"thickness_sd_um": sds, "flap_sd_um": sds, "ablation_sd_um": far})


@settings(max_examples=30)
@given(errors)
def test_interval_of_the_percent_altered_solves_its_equation(e):
    """(p·T̄ − m)² = 1.96²·(σ_cut² + σ_r² + p²·σ_T²) at both ends, the definition of the model."""
    result = compare(Cornea(550.0), PLAN, errors=Errors(**e)).results["flap"]
    m = result.budget.cut_um + result.budget.removal_central_um + 4.0
    for end in (result.spread.altered_low_percent, result.spread.altered_high_percent):
        p = end / 100.0
        spread2 = 1.96**2 * (e["flap_sd_um"] ** 2 + e["ablation_sd_um"] ** 2 + (p * e["thickness_sd_um"]) ** 2)
        assert (p * 550.0 - m) ** 2 == pytest.approx(spread2, rel=1e-6, abs=1e-6)
    assert result.spread.altered_low_percent <= 100.0 * m / 550.0 + 1e-9 <= result.spread.altered_high_percent + 2e-9


@settings(max_examples=30)
@given(errors)
def test_shares_of_the_variance_make_100(e):
    if any(e.values()):
        shares = bed_variance_percent(
            compare(Cornea(550.0), PLAN, errors=Errors(**e)).results["flap"].option, Errors(**e)
        )
        assert sum(shares.values()) == pytest.approx(100.0)


def test_array_equals_scalar():
    rows = [(550.0, 5.0, 4.0), (500.0, 0.0, -3.0), (610.0, 12.0, 0.0)]
    T, sd, bias = np.array(rows).T
    many = vars(spread_of(eye=Cornea(T), thickness_sd_um=sd, flap_bias_um=bias))
    for i, (t, s, b) in enumerate(rows):
        one = vars(spread_of(eye=Cornea(t), thickness_sd_um=s, flap_bias_um=b))
        assert {name: value[i] for name, value in many.items()} == one
