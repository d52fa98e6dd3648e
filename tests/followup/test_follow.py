"""The follow-up of an eye against the same normals worked out another way, and against eyes drawn from them."""

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import multivariate_normal, norm

from tissue import Cornea, Errors, Refraction, Treatment, compare
from tissue.eye.reading import METHODS, Reading
from tissue.followup.follow import PARTS, bed_planned, bed_today, follow, layer_estimates, one_of, reserve_today
from tissue.followup.strips import strips

SE, CCT = -4.5, 548.0
OFFSET = {"ultrasound": (0.0, 0.0), "oct": (-9.8, 5.6), "scheimpflug": (3.7, 9.5), "vhf": (-11.2, 5.6)}  # C, from rows
NOISE = {"oct": 1.3, "vhf": 0.74, "scheimpflug": 2.5, "ultrasound": 8.3}  # P, Chen 2012, Reinstein 2006, Marsich 2000
READINGS = (
    Reading(-20, "scheimpflug", thickness_um=553.0),
    Reading(30, "oct", thickness_um=461.0, epithelium_um=56.0, cut_um=126.0, bed_um=334.0),
    Reading(120, "scheimpflug", thickness_um=478.0),
    Reading(200, "vhf", thickness_um=462.0, epithelium_um=60.0, sd_um=1.1),
)


def plan(sphere=SE, **errors):
    return compare(Cornea(CCT), Treatment(Refraction(sphere)), errors=Errors(**errors))


def by_hand(comparison, done, readings, before):
    """Mean and covariance of T, E, c, r, u and the differences of three devices, by the information in each reading.

    The equations of the design written out a second time: precision S⁻¹ + HᵀR⁻¹H, no gain matrix.
    """
    e, option = comparison.errors, comparison.results[done].option
    r0, cut = float(option.removal.central_um), float(option.cut_um)
    cut_sd = {"surface": e.epithelium_sd_um, "flap": e.flap_sd_um, "lenticule": e.cap_sd_um}[done]
    cut_bias = {"surface": 0.0, "flap": e.flap_bias_um, "lenticule": e.cap_bias_um}[done]
    r = (e.lenticule_bias_um, e.lenticule_sd_um) if done == "lenticule" else (e.ablation_bias_um, e.ablation_sd_um)
    devices = [d for d in METHODS if d != before]
    mean = [CCT + e.thickness_bias_um, 53.0, cut + cut_bias, r0 + r[0], e.epithelium_gain_bias_um]
    sd = [e.thickness_sd_um, e.epithelium_sd_um, cut_sd, r[1], e.epithelium_gain_sd_um]
    for d in devices:
        mean.append(OFFSET[d][0] - OFFSET[before][0])
        sd.append(np.sqrt(OFFSET[d][1] ** 2 + OFFSET[before][1] ** 2 + 5.2**2))
    precision, pull = np.diag(1 / np.square(sd)), np.array(mean) / np.square(sd)
    for one in readings:
        rho = 1 - np.exp(-one.days / 19) if one.days >= 0 else 0.0
        gain = (1.92 if one.method == "vhf" else 0.94) * -SE
        where = {d: 5 + i for i, d in enumerate(devices)}
        for name, parts in {
            "thickness_um": {0: 1, 3: -1 if one.days >= 0 else 0, 4: rho, where.get(one.method): 1},
            "epithelium_um": {1: 1, 4: rho},
            "cut_um": {2: 1, 4: rho},
            "bed_um": {0: 1, 2: -1, 3: -1, where.get(one.method): 1},
        }.items():
            if (value := getattr(one, name)) is None:
                continue
            h = np.array([float(parts.get(i, 0)) for i in range(len(mean))])
            noise = one.sd_um or NOISE[one.method]
            precision = precision + np.outer(h, h) / noise**2
            pull = pull + h * (value - (rho * gain if name != "bed_um" else 0.0)) / noise**2
    covariance = np.linalg.inv(precision)
    return covariance @ pull, covariance, devices


@pytest.mark.parametrize("done", ["flap", "lenticule"])
@pytest.mark.parametrize("before", ["ultrasound", "oct", "scheimpflug"])
def test_the_state_is_that_of_the_information_form(done, before):
    """To 0.01 µm."""
    comparison = plan()
    found = follow(comparison, done, READINGS, before)
    mean, covariance, devices = by_hand(comparison, done, READINGS, before)
    for i, part in enumerate(("thickness", "epithelium", "cut", "removal", "growth", *devices)):
        assert found.known.of(part) == pytest.approx((mean[i], np.sqrt(covariance[i, i])), abs=0.01)
    b = np.array([1.0, 0, -1, -1, 0, 0, 0, 0])
    bed = bed_today(found)
    assert (bed.mean_um, bed.sd_um) == pytest.approx((b @ mean, np.sqrt(b @ covariance @ b)), abs=0.01)
    assert bed.below_line_percent == pytest.approx(100 * norm.cdf((250 - b @ mean) / np.sqrt(b @ covariance @ b)))


def test_the_state_is_the_peak_of_the_normals():
    """Mode of prior times likelihood by scipy's multivariate_normal and a general search."""
    found = follow(plan(), "lenticule", READINGS[1:2], "ultrasound")
    keep = [i for i, part in enumerate(PARTS) if found.prior.covariance[i, i] > 0]
    prior = multivariate_normal(found.prior.mean[keep], found.prior.covariance[np.ix_(keep, keep)])
    rho, gain = 1 - np.exp(-30 / 19), 0.94 * 4.5

    def lost(x):
        T, E, c, r, u, oct_ = x[:6]
        seen = T - r + rho * (gain + u) + oct_, E + rho * (gain + u), c + rho * (gain + u), T - c - r + oct_
        return -prior.logpdf(x) - norm.logpdf([461.0, 56.0, 126.0, 334.0], seen, 1.3).sum()

    best = minimize(lost, found.prior.mean[keep], method="BFGS", options={"gtol": 1e-8})
    assert best.x[:6] == pytest.approx(found.known.mean[[*range(5), PARTS.index("oct")]], abs=0.01)


def test_on_the_surface_the_cut_is_the_epithelium():
    found = follow(plan(), "surface", [Reading(-3, "oct", epithelium_um=61.0)], "oct")
    assert found.known.of("cut") == found.known.of("epithelium")
    assert found.known.of("epithelium").mean_um > 59.0
    assert layer_estimates(found)["cut_um"] is None and layer_estimates(found)["cut_today_um"] is None
    assert reserve_today(found).room_um is None


def test_without_a_thickness_nothing_moves():
    """A refraction alone says nothing of tissue: the bed of today is that of the plan."""
    found = follow(plan(), "lenticule", [Reading(90, "oct", SE_D=-0.25)], "oct")
    assert bed_today(found)[:5] == pytest.approx(bed_planned(found)[:5], abs=1e-9)


@pytest.mark.parametrize("done", ["surface", "flap", "lenticule"])
@pytest.mark.parametrize("before", [None, *METHODS])
def test_the_account_closes(done, before):
    """planned − not removed − grown back − method − unexplained = measured, to 0.01 µm and better."""
    readings = READINGS if done != "surface" else (READINGS[0], Reading(90, "oct", thickness_um=470.0), READINGS[2])
    found = follow(plan(), done, readings, before)
    assert found.ledgers[0] is None
    for one, ledger in zip(found.readings[1:], found.ledgers[1:], strict=True):
        parts = (ledger.not_removed, ledger.grown_back, ledger.method, ledger.unexplained)
        assert ledger.planned_um - sum(p.mean_um for p in parts) == pytest.approx(ledger.measured_um, abs=1e-9)
        assert ledger.measured_um == CCT - one.thickness_um
        assert all(p.sd_um >= 0 for p in parts)


def test_the_same_device_before_and_after_has_no_part_in_the_account():
    found = follow(plan(), "lenticule", [Reading(90, "OCT".lower(), thickness_um=462.0)], "oct")
    assert found.ledgers[0].method == (0.0, 0.0)


def test_a_precise_reading_is_believed_and_a_poor_one_is_not():
    """The spread falls with each reading, and a reading without noise would fix what it measures."""
    sds = [follow(plan(), "lenticule", READINGS[:n], "ultrasound").known.of("removal").sd_um for n in range(1, 5)]
    assert sds == sorted(sds, reverse=True) and sds[0] > 9.7
    sure = follow(plan(), "lenticule", [Reading(90, "oct", bed_um=321.0, sd_um=0.1)], "oct")
    assert bed_today(sure)[:2] == pytest.approx((321.0, 0.1), abs=0.02)


def test_a_column_of_eyes_is_each_eye():
    """Numbers and arrays take one path."""
    rng = np.random.default_rng(4)
    CCTs, thick = rng.uniform(500, 580, 7), rng.uniform(420, 500, 7)

    def one(cct, y):
        comparison = compare(Cornea(cct), Treatment(Refraction(-5.0)))
        return follow(
            comparison, "flap", [Reading(40, "oct", thickness_um=y), Reading(90, "vhf", bed_um=y - 110)], None
        )

    many, single = bed_today(one(CCTs, thick)), [bed_today(one(*pair)) for pair in zip(CCTs, thick, strict=True)]
    for i, bed in enumerate(single):
        assert [np.broadcast_to(part, 7)[i] for part in many] == pytest.approx([float(p) for p in bed], abs=1e-9)


@pytest.mark.parametrize(("done", "before"), [("lenticule", "ultrasound"), ("flap", None), ("surface", "oct")])
def test_intervals_hold_the_truth_of_eyes_drawn_from_the_errors(done, before):
    """40,000 eyes with errors as the plan has them: 95 of 100 intervals of bed, removal and layers hold the truth."""
    rng, count, comparison = np.random.default_rng(11), 40_000, plan()
    prior = follow(comparison, done, (), before).prior
    x = rng.multivariate_normal(prior.mean, prior.covariance, count, method="eigh")
    T, E, c, r, u = x.T[:5]
    device, rho = x[:, PARTS.index("oct")], 1 - np.exp(-60 / 19)
    grown, cut = rho * (0.94 * 4.5 + u), {} if done == "surface" else {"cut_um": c + rho * (0.94 * 4.5 + u)}
    seen = {"thickness_um": T - r + grown + device, "epithelium_um": E + grown} | cut
    readings = [Reading(60, "oct", **{name: y + rng.normal(0, 1.3, count) for name, y in seen.items()})]
    found = follow(comparison, done, readings, before)
    bed = bed_today(found)
    for truth, (mean, sd) in ((T - c - r, bed[:2]), (r, found.known.of("removal")), (E, found.known.of("epithelium"))):
        assert 100 * np.mean(np.abs(truth - mean) <= 1.96 * sd) == pytest.approx(95.0, abs=0.5)


def test_a_strip_is_the_sum_of_its_parts():
    """Thickness after extraction by OCT, ultrasound before: published figures of the pools, written out; to 0.01."""
    comparison = plan()
    found = follow(comparison, "lenticule", [Reading(90, "oct", thickness_um=460.0)], "ultrasound")
    one, rho = strips(found)[0]["thickness_um"], 1 - np.exp(-90 / 19)
    r0 = float(comparison.results["lenticule"].option.removal.central_um)
    assert one.expected == pytest.approx(CCT - (r0 - 12.1) + rho * 0.94 * 4.5 - 9.8, abs=0.01)
    assert one.between_sd == pytest.approx(np.sqrt(6.7**2 + (rho * 1.6) ** 2 + 5.6**2), abs=0.01)
    assert one.eye_sd == pytest.approx(np.sqrt(5**2 + 7.2**2 + (rho * 2.9) ** 2 + 5.2**2 + 1.3**2), abs=0.01)
    sd = np.hypot(one.between_sd, one.eye_sd)
    assert (one.low, one.high) == pytest.approx((one.expected - 1.96 * sd, one.expected + 1.96 * sd))
    assert one.place_percent == pytest.approx(100 * norm.cdf((460 - one.expected) / sd), abs=1e-6)
    assert (one.series, one.eyes) == (2, 130)


def test_a_strip_does_not_follow_the_errors_of_the_plan():
    """The strip is of published eyes: a surgeon's own bias moves the bed, not the strip."""
    own = follow(plan(lenticule_bias_um=3.0), "lenticule", READINGS, "oct")
    plain = follow(plan(), "lenticule", READINGS, "oct")
    assert strips(own)[1]["thickness_um"].expected == strips(plain)[1]["thickness_um"].expected
    assert own.known.of("removal").mean_um > plain.known.of("removal").mean_um


def strip_of(done="lenticule", sphere=SE, days=90, target=0.0, **measured):
    name = next(iter(measured))
    return strips(follow(plan(sphere), done, [Reading(days, "oct", **measured)], "oct"), target)[0][name]


def test_K_falls_by_the_printed_share():
    """.98 ± .60, .80 ± .17 and .77 ± .11 D a dioptre under 3, under 6 and above (IOVS 2012;53:1492, P)."""
    for sphere, share, sd in ((-2.5, 0.98, 0.60), (-3.0, 0.80, 0.17), (-5.99, 0.80, 0.17), (-6.0, 0.77, 0.11)):
        one = strip_of(sphere=sphere, K_D=40.0)
        assert one.expected == pytest.approx(337.5 / 7.8 + share * sphere, abs=1e-6)
        assert one.eye_sd == pytest.approx(-sd * sphere)
    assert strip_of(sphere=2.0, K_D=45.0) is None


def test_refraction_lies_about_the_target():
    """Extraction −.20, flap −.10, −.04 D a year from the first on; nothing for the surface or after seven years."""
    assert strip_of(SE_D=-0.5, target=-0.5).expected == pytest.approx(-0.70)
    assert strip_of("flap", SE_D=-0.5).expected == pytest.approx(-0.10)
    late = strip_of(SE_D=-0.5, days=365 * 4)
    assert late.expected == pytest.approx(-0.20 - 0.12) and late.between_sd == pytest.approx(np.hypot(0.09, 0.06))
    assert strip_of("surface", SE_D=-0.5) is None and strip_of(SE_D=-0.5, days=2556) is None
    assert strip_of("flap", SE_D=0.0).series == 1


def test_published_means_lie_in_the_strips_of_their_eyes():
    """Mean fall of series that no pool of the strip holds: r03 (ultrasound), r04 (vhf), r06 (flap); P."""
    for done, method, SE_, less in (("lenticule", "ultrasound", -4.78, 13.12), ("lenticule", "vhf", -7.81, 23.2),
                                    ("flap", "ultrasound", -4.72, 13.20)):  # fmt: skip
        comparison = plan(SE_)
        r0 = float(comparison.results[done].option.removal.central_um)
        seen = Reading(90, method, thickness_um=CCT - (r0 - less))
        one = strips(follow(comparison, done, [seen], method))[0]["thickness_um"]
        assert 10.0 < one.place_percent < 90.0 and not one.outside


def test_today_least_bed_and_reserve_move_with_the_bed():
    found = follow(plan(), "lenticule", READINGS, "ultrasound")
    today, before, left = bed_today(found), bed_planned(found), reserve_today(found)
    planned = found.done.budget.bed_central_um
    assert today.min_um - before.min_um == pytest.approx(today.mean_um - planned)
    assert (left.mean_um, left.planned_um) == pytest.approx((today.mean_um - 250.0, planned - 250.0))
    cap, skin = layer_estimates(found)["cut_today_um"], layer_estimates(found)["epithelium_um"]
    assert left.room_um == pytest.approx(cap.mean_um - 1.96 * cap.sd_um - 90.0 - 30.0)
    assert left.flap_least_um == pytest.approx(skin.mean_um + 1.96 * skin.sd_um)


def test_a_part_is_picked_by_its_name():
    assert [int(np.argmax(one_of(part))) for part in PARTS] == list(range(len(PARTS)))
