"""The answers of a round on strength, lost suction, enhancements, errors and optics, from outside the tool.

Sources: the printed numbers of the relationships; the table of what is usual after lost suction; the written model;
the normal distribution; sums of the published eyes.
"""

import tomllib

import brute
import numpy as np
import pytest
from helpers import ROOT
from published_eyes import EYES, altered, bed, removed
from round_models import UM, each, model, setting, values_of
from scipy.stats import norm

from tissue.ground.sources import eye_name
from tissue.rounds.kinds import ask
from tissue.rounds.question import NONE

# --- strength ---

RELATIONSHIPS = tomllib.loads((ROOT / "tissue" / "data" / "relationships.toml").read_text("utf-8"))
GRID = 20001


def share_in_front(name, depth_um, CCT, E):
    """Share of a relationship in front of a depth, by the trapezoid rule over its pieces."""
    row = RELATIONSHIPS[name]
    stroma = CCT - E
    um = np.linspace(0.0, stroma, GRID)
    x = um / stroma if row["over"] == "fraction" else um
    density = np.zeros(GRID)
    for start, piece in zip(row["breaks"], row["coefficients"], strict=True):
        density = np.where(x >= start, np.polyval(piece[::-1], x), density)
    inside = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2.0)])
    return np.interp(depth_um - E, um, inside / inside[-1])


def strengths(case, name, credits):
    """Relative strength [%] of surface, flap and lenticule by their definition."""
    v = {**brute.DEFAULTS, **values_of(case)}
    found, CCT, E = model(values_of(case)), v["central_thickness_um"], v["epithelium_um"]
    kept = {}
    for way, g in credits.items():
        cut, r = found[way]["cut_um"], found[way]["removal_central_um"]
        above = g * share_in_front(name, cut, CCT, E)
        kept[way] = 100.0 * (above + 1.0 - share_in_front(name, cut + r, CCT, E))
    return kept


def test_rankings_are_those_of_the_integrals():
    """Source: the printed numbers of the relationships, integrated; a difference near the border of 1 is left out."""
    short = {row["short"]: name for name, row in RELATIONSHIPS.items()}
    usual, looked = {"surface": 0.0, "flap": 0.0, "lenticule": 1.0}, 0
    for case, question in each("ranking"):
        first = strengths(case, "reinstein2013", usual)
        for word in question.choices[:-1]:
            other = strengths(case, short[word], usual)
            pairs = [("surface", "flap"), ("surface", "lenticule"), ("flap", "lenticule")]
            apart = [(first[a] - first[b], other[a] - other[b]) for a, b in pairs]
            if any(abs(abs(new) - 1.0) < 0.15 for _, new in apart):
                continue
            otherwise = any(old * new < 0 or abs(new) < 1.0 for old, new in apart)
            assert otherwise == (word in question.answer), (question.id, word)
            looked += 1
        assert (NONE in question.answer) == (len(question.answer) == 1 and question.answer[0] == NONE)
    assert looked > 50


def test_equal_credits_are_those_of_the_integrals():
    for case, question in each("credits"):
        credit = float(setting(question))
        kept = strengths(case, "reinstein2013", {"flap": credit, "lenticule": credit})
        apart = kept["lenticule"] - kept["flap"]
        place = 2 if abs(apart) < 1.0 else int(apart < 0)
        assert question.answer == question.choices[place], (question.id, apart)


# --- lost suction, and later ---

USUAL = {
    "lenticule 0.05": {"Same plan again"},
    "lenticule 0.44": {"Flap", "Thinner cap", "Thicker cap"},
    "lenticule 1": {"Flap", "Thinner cap", "Thicker cap"},
    "lenticule-side 0.5": {"Side cut again"},
    "cap 0.3": {"Cap cut again", "Cap as a flap", "Flap"},
    "incision 0.5": {"Incision again", "Open by hand", "Cap as a flap", "Flap"},
}


def test_ways_out_are_those_of_the_written_table():
    """Source: J Refract Surg 2020;36:308 (10 %), Acta Ophthalmol 2020, as the model's table has them."""
    case = each("suction")[0][0]
    questions = [ask("suction", case, np.random.default_rng(seed)) for seed in range(24)]
    for question in [*questions, *(question for _, question in each("suction"))]:
        assert set(question.answer) == USUAL[setting(question)], question.id
        assert question.before == "Stopping here and planning again another day remains an option."
    assert {setting(question) for question in questions} == set(USUAL)


def test_second_cuts_leave_the_bed_of_the_written_model():
    """Source: thinner cap C − margin; thicker cap C + thickest of the ring that is cut + margin, outside in by area."""
    for case, question in each("recut"):
        eye = brute.Eye(values_of(case))
        _, lenticule = brute.removals(eye)
        v, (way, done) = eye.values, setting(question).split()
        rim, C = lenticule.a + lenticule.w, v["cap_um"]
        rho = np.linspace(rim * np.sqrt(1.0 - float(done)), rim, 400)[:, np.newaxis]
        ring = lenticule.t(rho, brute.TURNS + eye.A).max() + lenticule.base
        cap = C - 30.0 if way == "thinner-cap" else C + ring + 30.0
        r = lenticule.scale * lenticule.central_um + lenticule.base
        assert question.answer == pytest.approx(v["central_thickness_um"] - cap - r, abs=0.1), question.id


def test_reserves_are_beds_less_the_line():
    for case, question in each("reserve"):
        wanted = model(values_of(case))[setting(question)]["bed_central_um"] - 250.0
        assert question.answer == pytest.approx(wanted, abs=UM), question.id


def test_beds_after_a_second_correction_are_those_of_the_written_model():
    """Source: surface and thin flap leave the bed, a turned cap takes t, a deeper lenticule t and its base."""
    eyes = {case for case, _ in each("second")[::5]}
    more = [(case, ask("second", case, np.random.default_rng(seed))) for case in eyes for seed in (1, 2, 4)]
    ways = {_second_bed(case, question) for case, question in [*each("second"), *more]}
    assert {"surface", "cap-to-flap", "deeper-lenticule"} <= ways


def _second_bed(case, question):
    """The way of a question on an enhancement, its bed compared."""
    values = values_of(case)
    first = model(values)["lenticule"]
    way, power = setting(question).split()
    kept = {name: values[name] for name in ("zone_mm", "profile", "asphericity") if name in values}
    again = brute.Eye(kept | {"sphere_D": float(power), "radius_mm": first["radius_after_mm"]})
    ablation, lenticule = brute.removals(again)
    taken = {"cap-to-flap": ablation.central_um, "deeper-lenticule": lenticule.central_um + lenticule.base}
    assert question.answer == pytest.approx(first["bed_central_um"] - taken.get(way, 0.0), abs=UM), question.id
    return way


# --- errors and optics ---


def test_chances_are_those_of_the_normal_distribution():
    for case, question in each("chance"):
        way, apart = setting(question).split()
        found = model(values_of(case))[way]
        line = round(found["bed_mean_um"] + float(apart) * found["bed_sd_um"])
        wanted = 100.0 * norm.cdf(line, found["bed_mean_um"], found["bed_sd_um"])
        assert f"under {line} µm" in question.prompt
        assert question.answer == pytest.approx(wanted, abs=0.3), question.id


def test_K_after_is_that_of_the_written_model():
    for case, question in each("K-after"):
        wanted = model(values_of(case))["surface"]["K_after_D"]
        assert question.answer == pytest.approx(wanted, abs=1e-6), question.id


def test_asphericity_rises_or_falls_as_the_heights_of_the_front_say():
    """The front before and the tissue of two spheres or two parabolas, fitted by their fourth powers.

    Source: the series of a conic, s = c·x²/2 + (1 + Q)·c³·x⁴/8.
    """
    x = np.linspace(-0.8, 0.8, 401)
    for case, question in each("asphericity"):
        eye = brute.Eye(values_of(case))
        Q, c1, c2 = eye.values["asphericity"], eye.c1, (eye.cu + eye.cv) / 2.0
        K = {"munnerlyn": 1.0, "parabolic": 0.0}[setting(question)]
        before, one, other = (
            c * x**2 / (1.0 + np.sqrt(1.0 - k * c**2 * x**2)) for c, k in ((c1, 1.0 + Q), (c1, K), (c2, K))
        )
        fourth = np.polynomial.Polynomial.fit(x, before + other - one, 10).convert().coef[4]
        change = 8.0 * fourth / c2**3 - 1.0 - Q
        place = 2 if abs(change) < 0.01 else int(change > 0)
        assert question.answer == question.choices[place], (question.id, change)


# --- published eyes ---


def test_the_eyes_that_break_a_rule_do_so_by_their_own_numbers():
    """Source: rows of the published eyes: thickness less cut less depth, and its share."""

    def over(eye):
        return float(EYES[eye]["rsb_reported_um"] or bed(eye)) > 300.0

    def below_40(eye):
        return float(EYES[eye]["pta_reported_pct"] or altered(eye)) < 40.0

    def index_below_28(eye):
        return EYES[eye]["procedure"] == "lenticule" and bool(EYES[eye]["depth_um"]) and removed(eye) < 28.0

    def ectatic(eye):
        return "ectasia" in EYES[eye]["outcome"]

    breaks = {
        "bed_over_300": lambda eye: over(eye) and ectatic(eye),
        "altered_under_40": lambda eye: below_40(eye) and ectatic(eye),
        "index_under_28": lambda eye: index_below_28(eye) and ectatic(eye),
        "surface_is_spared": lambda eye: EYES[eye]["procedure"] == "surface" and ectatic(eye),
        "low_correction": lambda eye: abs(float(EYES[eye]["sphere_D"])) < 2.0,
    }
    seen = set()
    for case, question in each("rule"):
        rule = setting(question)
        eyes = {eye_name(eye).capitalize(): eye for eye in EYES}
        assert set(question.answer) == {name for name in question.choices if breaks[rule](eyes[name])}
        assert 0 < len(question.answer) < len(question.choices) and case.reported
        seen.add(rule)
    assert len(seen) >= 2
