"""The answers of a round on the arithmetic of a rescue, follow-up, agreement, ranges and the least bed, from outside.

Sources: the written model by brute force; geometry of a disc; the far point; a plain mean and SD (Bland, Altman 1986);
the exponential law with its printed 19 days; sums.
"""

import re

import brute
import numpy as np
import pytest
from round_cases import case_of
from round_models import UM, each, model, setting, treated, values_of

from tissue.rounds.kinds import MAKERS
from tissue.routes.cutting import clock_of


def numbers(question):
    """Every number of what is given, in order."""
    texts = " ".join(row.text for row in question.given).replace("−", "-")
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", texts)]


def test_least_beds_are_those_of_the_written_model():
    for case, question in each("least-bed"):
        found = model(values_of(case))[setting(question)]
        assert question.answer == pytest.approx(found["bed_min_um"], abs=0.5), question.id
        assert question.answer < found["bed_central_um"] - 2.0


def test_tissue_altered_under_a_flap_is_that_of_the_written_model():
    for case, question in each("altered-flap"):
        assert question.answer == pytest.approx(model(values_of(case))["flap"]["altered_percent"], abs=0.02)


def test_the_spread_of_a_bed_is_that_of_the_written_model():
    for case, question in each("bed-sd"):
        assert question.answer == pytest.approx(model(values_of(case))[setting(question)]["bed_sd_um"], abs=1e-6)
        assert question.answer == pytest.approx(np.linalg.norm(numbers(question)), abs=0.1)


def test_a_target_is_taken_off_where_the_far_points_lie():
    """Source: 1/F_cornea = 1/F − d for the eye, for the target and for what is treated."""
    for case, question in each("target"):
        F, aim, d = numbers(question)
        at = [1.0 / (1.0 / power - d / 1000.0) for power in (F, aim)]
        assert 1.0 / question.answer == pytest.approx(1.0 / (at[0] - at[1]) + d / 1000.0, abs=2e-3), question.id
        S, C, _, vertex = treated(case)
        assert d == vertex and (aim == 0 or abs(question.answer) < abs(F))


def rim(case):
    """Radius of the lenticule with its blend, by brute force."""
    eye = brute.Eye(values_of(case))
    _, lenticule = brute.removals(eye)
    return lenticule.a + lenticule.w


def test_a_cut_outside_in_leaves_the_area_of_a_smaller_disc():
    """Source: the area of a disc."""
    for case, question in each("cut-radius"):
        done = float(setting(question))
        left = np.pi * question.answer**2 / (np.pi * rim(case) ** 2)
        assert left == pytest.approx(1.0 - done, abs=1e-6), question.id
    for case, question in each("cut-share"):
        assert question.answer == pytest.approx(100.0 * float(setting(question)), abs=0.5), question.id
        assert question.answer == pytest.approx(100.0 * (1.0 - (numbers(question)[1] / rim(case)) ** 2), abs=0.3)


def test_the_clock_goes_with_the_areas():
    """Source: π·ρ², 2π·ρ·base and width × depth of the four cuts, as the written model has them."""
    for case, question in each("clock"):
        v, eye = {**brute.DEFAULTS, **values_of(case)}, brute.Eye(values_of(case))
        _, lenticule = brute.removals(eye)
        radius, cap = rim(case), float(case.comparison.under_cap.option.cut_diameter_mm) / 2.0
        areas = [np.pi * radius**2, 2.0 * np.pi * radius * lenticule.base / 1000.0, np.pi * cap**2]
        whole = sum(areas) + float(case.comparison.cap.incision_mm) * v["cap_um"] / 1000.0
        done = areas[0] + areas[1] + float(setting(question)) * areas[2]
        assert question.answer == pytest.approx(24.0 * done / whole, abs=1e-3), question.id


def test_with_the_cap_first_the_clock_is_asked_in_that_order_and_no_way_that_no_source_says():
    """Source: areas of the four cuts as above; that no published source says what is usual then."""
    case = case_of(sphere_D=-6.0, central_thickness_um=560.0, cut_order="cap-first")
    cuts, asked = clock_of(case.comparison), set()
    for seed in range(12):
        question = MAKERS["clock"](case, np.random.default_rng(seed))
        share = float(setting(question)) * cuts.swept_mm2[1]
        expected = 24.0 * (cuts.swept_mm2[0] + share) / sum(cuts.swept_mm2)
        assert question.answer == pytest.approx(expected) and question.prompt.startswith("The cap is cut first.")
        of_ways = MAKERS["suction"](case, np.random.default_rng(seed))
        asked |= {setting(of_ways).split()[0]} if of_ways else set()
    assert asked == {"incision"}


def test_second_caps_lie_under_the_ring_of_the_written_model():
    for case, question in each("new-cap"):
        eye = brute.Eye(values_of(case))
        _, lenticule = brute.removals(eye)
        rho = np.linspace(rim(case) * np.sqrt(1.0 - float(setting(question))), rim(case), 400)[:, np.newaxis]
        ring = lenticule.t(rho, brute.TURNS + eye.A).max() + lenticule.base
        assert question.answer == pytest.approx(eye.values["cap_um"] + ring + 30.0, abs=0.1), question.id


def test_the_thickest_flap_keeps_the_margin_everywhere_over_the_old_cut():
    """Source: the written model: least of cap + lenticule − ablation over the ring that is cut, less the margin."""
    for case, question in each("rescue-flap")[::2]:
        eye = brute.Eye(values_of(case))
        ablation, lenticule = brute.removals(eye)
        rho = np.linspace(rim(case) * np.sqrt(1.0 - float(setting(question))), rim(case), 600)[:, np.newaxis]
        turns = brute.TURNS + eye.A
        room = lenticule.t(rho, turns) + lenticule.base - ablation.t(rho, turns)
        assert question.answer == pytest.approx(eye.values["cap_um"] + room.min() - 30.0, abs=0.3), question.id


def test_growth_follows_the_law_of_19_days():
    """Source: the printed pool, 0.94 µm a dioptre, and 1 − exp(−t/19)."""
    for case, question in each("gain"):
        S, C, *_ = treated(case)
        wanted = 0.94 * -(S + C / 2.0) * (1.0 - np.exp(-float(setting(question)) / 19.0))
        assert question.answer == pytest.approx(wanted, abs=0.02), question.id


def test_what_was_taken_is_the_fall_and_what_has_grown():
    for _, question in each("achieved"):
        before, after, grown = numbers(question)
        assert question.answer == pytest.approx(before - after + grown, abs=0.06), question.id


def test_an_account_leaves_nothing_over():
    """Source: a sum: what is planned is measured, not removed, grown back, another device, or unexplained."""
    for case, question in each("account"):
        planned, *parts = numbers(question)
        assert planned == pytest.approx(sum(parts) + question.answer, abs=0.3), question.id
        way = setting(question).split()[0]
        assert planned == pytest.approx(model(values_of(case))[way]["removal_central_um"], abs=0.11)


def test_agreement_is_a_mean_and_two_standard_deviations():
    """Source: Bland, Altman 1986; NumPy."""
    for _, question in each("agreement-bias"):
        first, second = np.reshape(numbers(question), (-1, 2)).T
        assert len(first) == 5 and question.answer == pytest.approx(np.mean(second - first), abs=1e-9)
    alike = 0
    for (_, one), (_, other) in zip(each("agreement-bias"), each("agreement-limit"), strict=True):
        first, second = np.reshape(numbers(one), (-1, 2)).T
        d = second - first
        assert other.answer == pytest.approx(np.mean(d) + 1.96 * np.std(d, ddof=1), abs=1e-4), other.id
        alike += 1
    assert alike > 10


def test_an_order_is_said_only_where_the_whole_range_lies_on_one_side():
    """Source: the definition; the figures as they are given."""
    for _, question in each("range-order"):
        flap, *ends = numbers(question)
        place = 0 if max(ends) < flap else 1 if min(ends) > flap else 2
        assert question.answer == question.choices[place], question.id
    for _, question in each("range-width"):
        taut, slack = numbers(question)
        assert question.answer == pytest.approx(slack - taut, abs=0.11) and question.answer > 0
        assert abs(question.answer) > UM
