"""The answers of a round against arithmetic from outside: the written model by brute force, matrices, integrals.

Sources: the written model (`brute.py` holds it without the tool); Munnerlyn, Koons, Marshall 1988 (Z²/3 a dioptre);
vertex distance F/(1 − dF); a turned cylinder as the difference of two power matrices, of size 2·C·sin of the turn; the
printed numbers of the relationships; the table of what is usual after lost suction; sums of the published eyes.
"""

import brute
import numpy as np
import pytest
from map_trials import by_brute_force, trial
from round_cases import case_of
from round_models import UM, each, matrix, matrix_of, model, setting, treated, values_of

from tissue.entry.plan_file import Plan
from tissue.rounds.about.least import least_bed
from tissue.rounds.about.removal import thumb_rule_um
from tissue.rounds.cases import cases_of
from tissue.rounds.kinds import ask

# --- refraction ---


def test_spherical_equivalent_is_the_mean_of_the_two_meridians():
    for case, question in each("equivalent"):
        assert question.answer == pytest.approx(np.trace(matrix(*treated(case)[:3])) / 2.0, abs=1e-9)


def test_the_other_form_is_the_same_matrix_with_the_other_sign():
    for case, question in each("transpose"):
        assert np.allclose(matrix_of(question.answer), matrix(*treated(case)[:3]), atol=1e-9)
        assert np.sign(question.answer.cylinder_D) == (1.0 if question.spelling == "plus" else -1.0)
        assert question.given[0].text != question.answer_words


def test_the_meridian_is_the_direction_of_the_greatest_eigenvalue():
    """Source: linear algebra: powers of a thin astigmatic lens are the eigenvalues of its matrix."""
    for case, question in each("meridian"):
        powers, directions = np.linalg.eigh(matrix(*treated(case)[:3]))
        x, y = directions[:, np.argmax(np.abs(powers))]
        apart = np.degrees(np.arctan2(y, x)) - question.answer
        assert (apart + 90.0) % 180.0 - 90.0 == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("spectacles", "cornea"), [(-10.0, -8.929), (-8.0, -7.30)])
def test_published_powers_at_the_cornea(spectacles, cornea):
    """Source: worked examples of vertex distance, 12 mm."""
    case = case_of(sphere_D=spectacles, central_thickness_um=560.0)
    answer = ask("vertex", case, np.random.default_rng(1)).answer
    assert answer == pytest.approx(cornea, abs=0.005)


def test_power_at_the_cornea_by_where_the_far_point_lies():
    """Source: the far point stays where it is: 1/F_cornea = 1/F − d."""
    for case, question in each("vertex"):
        S, C, _, d = treated(case)
        F = max(S, S + C, key=abs)
        assert 1.0 / question.answer == pytest.approx(1.0 / F - d / 1000.0, abs=1e-9)


def test_a_slip_leaves_the_difference_of_the_two_matrices():
    for case, question in each("slip"):
        S, C, A, _ = treated(case)
        S, C, A = (S + C, -C, A + 90.0) if C > 0 else (S, C, A)
        typed = {
            "cylinder": matrix(S, -C, A),
            "axis": matrix(S, C, A + 90.0),
            "sphere": matrix(-S, C, A),
            "form": matrix(S + C, C, A),
        }[setting(question)]
        assert np.allclose(matrix_of(question.answer), matrix(S, C, A) - typed, atol=1e-9)


@pytest.mark.parametrize("kind", ["turn-share", "turn-left"])
def test_a_turn_leaves_twice_the_sine_of_the_cylinder(kind):
    """Source: closed form 2·C·sin τ, and the difference of the two matrices."""
    for case, question in each(kind):
        S, C, A, _ = treated(case)
        turn = float(setting(question))
        if kind == "turn-share":
            assert question.answer == pytest.approx(200.0 * np.sin(np.radians(turn)), abs=1e-9)
            assert abs(3.5 * turn - question.answer) <= question.tolerance  # what the reason of the tolerance says
            continue
        assert np.allclose(matrix_of(question.answer), matrix(S, C, A) - matrix(S, C, A + turn), atol=1e-9)
        assert abs(question.answer.cylinder_D) == pytest.approx(2.0 * abs(C) * np.sin(np.radians(turn)), abs=1e-9)


# --- depth ---


def test_the_least_bed_of_an_eye_with_a_map_is_that_of_brute_force():
    """Source: the written model's removal on the formula that the readings of the map were made of."""
    asked_of = 0
    for seed in range(8):
        one = trial(seed)
        case = cases_of(Plan("", {one.side: one.with_maps()}, {}), "an eye", "made up")[0]
        question = least_bed(case, np.random.default_rng(seed))
        if question is not None:
            asked_of += 1
            assert question.answer == pytest.approx(by_brute_force(one)[setting(question)][0], abs=0.4), seed
    assert asked_of >= 2


def test_beds_are_those_of_the_written_model():
    for case, question in each("bed"):
        wanted = model(values_of(case))[setting(question)]["bed_central_um"]
        assert question.answer == pytest.approx(wanted, abs=UM), question.id


def test_a_thicker_flap_leaves_the_bed_of_the_written_model():
    for case, question in each("thick-flap")[::2]:
        values = values_of(case)
        cut = values.get("flap_measured_um", values.get("flap_um", 110.0))
        wanted = model(values | {"flap_measured_um": cut + float(setting(question))})
        assert question.answer == pytest.approx(wanted["flap"]["bed_central_um"], abs=UM), question.id


def test_tissue_altered_is_that_of_the_written_model():
    for case, question in each("altered"):
        wanted = model(values_of(case))
        apart = wanted["lenticule"]["altered_percent"] - wanted["flap"]["altered_percent"]
        assert question.answer == pytest.approx(apart, abs=0.02), question.id


@pytest.mark.parametrize(("zone", "depth"), [(3.0, 12.0), (6.0, 48.0)])
def test_the_thumb_rule_gives_its_printed_depths(zone, depth):
    """Source: Munnerlyn, Koons, Marshall 1988: 4 D over 3 and 6 mm."""
    assert thumb_rule_um(zone, 4.0) == pytest.approx(depth)


def test_thumb_rule_and_what_the_surfaces_take_over_it():
    """Source: Z²/3 for a dioptre; the surfaces of the written model."""
    for kind in ("thumb", "thumb-apart"):
        for case, question in each(kind):
            eye = brute.Eye(values_of(case))
            rule = -min(eye.along, eye.across) * eye.Z**2 / 3.0
            wanted = rule if kind == "thumb" else brute.Tissue(eye, eye.Z, 0.0).plain_um - rule
            assert question.answer == pytest.approx(wanted, abs=UM), question.id


def test_a_wider_zone_costs_what_the_written_model_says():
    for case, question in each("zone"):
        eye = brute.Eye(values_of(case))
        ablation, _ = brute.removals(eye)
        wider = brute.Tissue(eye, eye.Z + float(setting(question)), ablation.w, scale=ablation.scale)
        cost = ablation.scale * (wider.deepest_um - ablation.deepest_um)
        assert question.answer == pytest.approx(cost, abs=UM), question.id


def test_the_deepest_place_is_that_of_the_written_model():
    words = set()
    for case, question in each("deepest"):
        eye = brute.Eye(values_of(case))
        ablation, _ = brute.removals(eye)
        distance = np.hypot(ablation.deepest_x, ablation.deepest_y)
        if distance < 0.2:
            assert question.answer.startswith("at the"), question.id
        elif eye.C == 0.0:
            assert question.answer.startswith("on a ring"), question.id
        else:
            found = np.degrees(np.arctan2(ablation.deepest_y, ablation.deepest_x))
            said = float(question.answer.split("along ")[1].rstrip("°"))
            assert (found - said + 90.0) % 180.0 - 90.0 == pytest.approx(0.0, abs=1.0), question.id
        words.add(question.answer.split()[0])
    assert words == {"at", "off", "on"}
