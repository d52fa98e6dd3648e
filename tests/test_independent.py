"""`tissue plan --json` against a calculation that knows only the written model (brute.py): sixty unseen eyes.

Source of every expected figure: the definitions of the model by brute force; no arithmetic of the tool is used.
Tolerances: thickness 0.2 µm, least bed 0.5 µm, shares 0.1 point, volumes 0.5 %; every eye must lie far closer.
"""

import json

import numpy as np
import pytest
from brute import TURNS, Eye, Tissue, figures, removals
from helpers import eye_of, plan_text, tissue
from scipy.integrate import dblquad
from scipy.interpolate import CubicHermiteSpline

from tissue.entry.plan_file import PlanError
from tissue.ground.errors import EyeError

CLASSES = ("myopic", "astigmatic", "mixed", "hyperopic", "hyperopic astigmatic", "plano", "extreme")


def powers(kind, rng):
    """Measured sphere, cylinder and axis of one class, plus and minus spellings."""
    axis = float(rng.choice([rng.integers(0, 181), rng.uniform(0, 180)]))
    quarter = lambda low, high: round(rng.uniform(low, high) * 4) / 4  # noqa: E731
    sphere, cylinder = {
        "myopic": (quarter(-9, -0.5), 0.0),
        "astigmatic": (quarter(-8, -0.25), -quarter(0.25, 5)),
        "mixed": (quarter(0.5, 3), -quarter(3.25, 6)),
        "hyperopic": (quarter(0.25, 6), 0.0),
        "hyperopic astigmatic": (quarter(2, 5), -quarter(0.25, 1.75)),
        "plano": (0.0, 0.0),
        "extreme": (quarter(-22, 12), -quarter(0, 8)),
    }[kind]
    if cylinder and rng.random() < 0.4:
        sphere, cylinder, axis = sphere + cylinder, -cylinder, (axis + 90.0) % 180.0
    found = {"sphere_D": sphere}
    return found | ({"cylinder_D": cylinder, "axis_deg": axis} if cylinder else {})


def thickness(rng):
    """Central thickness, and sometimes a thinnest point anywhere."""
    found = {"central_thickness_um": round(rng.uniform(400, 680), 1)}
    if rng.random() < 0.7:
        found["thinnest_um"] = round(found["central_thickness_um"] - rng.exponential(8), 1)
        found |= {f"thinnest_{n}_mm": round(rng.uniform(-3, 3) * rng.random(), 2) for n in "xy"}
    return found


def sometimes(rng, chance, **ranges):
    """Some of the values, each drawn from its range with that chance."""
    return {name: round(rng.uniform(*ends), 2) for name, ends in ranges.items() if rng.random() < chance}


def an_eye(seed):
    """One random eye by the names of the plan file."""
    rng = np.random.default_rng(seed)
    kind = CLASSES[seed % len(CLASSES)]
    found = powers(kind, rng) | thickness(rng)
    found["profile"] = str(rng.choice(["munnerlyn", "conic", "parabolic"]))
    found |= sometimes(rng, 0.5, zone_mm=(4, 9), radius_mm=(6.5, 9.5), asphericity=(-2, 2), vertex_mm=(0, 20))
    found |= sometimes(rng, 0.4, ablation_blend_mm=(0, 3), lenticule_blend_mm=(0, 3), base_um=(0, 60))
    found |= sometimes(rng, 0.4, centre_x_mm=(-2, 2), centre_y_mm=(-2, 2), epithelium_um=(40, 58))
    found |= sometimes(
        rng, 0.3, flap_um=(90, 180), cap_um=(90, 180), flap_measured_um=(80, 180), cap_measured_um=(80, 180)
    )
    found |= sometimes(
        rng, 0.3, flap_sd_um=(0, 30), cap_bias_um=(-9, 9), thickness_sd_um=(0, 12), bed_line_um=(200, 320)
    )
    if kind == "plano" or rng.random() < 0.3:
        found |= {"profile": "conic", "target_asphericity": round(rng.uniform(-3, 5), 2)}
    if rng.random() < 0.3:
        found |= sometimes(rng, 0.7, reported_ablation_um=(20, 220), reported_lenticule_um=(80, 240))
    if rng.random() < 0.25:
        found["target_D"] = round(rng.uniform(-1.5, 0.5), 2)
    if rng.random() < 0.15:
        found["mean_K_D"] = round(337.5 / found.pop("radius_mm", 7.6), 2)
    if rng.random() < 0.15 and found["sphere_D"]:
        cylinder = round(rng.uniform(-3, 3), 2)
        found |= {"treated_sphere_D": found["sphere_D"] - 0.5, "treated_cylinder_D": cylinder, "treated_axis_deg": 77.0}
    return found


def refused(values):
    """Fields the model refuses: surfaces that do not exist, a reported depth that cannot be."""
    eye = Eye(values)
    if not eye.exists(eye.Z):
        return {"zone_mm"}
    if not any(name.startswith("reported") for name in values):
        return set()
    unscaled = Eye({name: value for name, value in values.items() if not name.startswith("reported")})
    found = set()
    for field, taken in zip(("reported_ablation_um", "reported_lenticule_um"), removals(unscaled), strict=True):
        if field in values and (values[field] <= taken.base or taken.deepest_um <= 0):
            found.add(field)
    return found


def flat(figures):
    """Figures with the parts of the removal beside the others."""
    parts = figures["removal_parts_um"]
    return {**figures, **{f"part_{name}_um": parts[name] for name in parts}}


def differences(got, expected, values):
    """Figure → how far it is from the expected one in parts of its tolerance."""
    x, y = got["removal_max_x_mm"], got["removal_max_y_mm"]
    off = np.hypot(x - values.get("centre_x_mm", 0.0), y - values.get("centre_y_mm", 0.0))
    got, found = {**flat(got), "max_radius_mm": off}, {}
    for name, value in flat(expected).items():
        if name in ("removal_parts_um", "bed_min_place"):
            continue
        if value is None or got[name] is None:
            found[name] = 0.0 if got[name] is value else np.inf
        else:
            found[name] = abs(got[name] - value) / tolerance(name, value)
    return found


def tolerance(name, value):
    """What the tool must reach: 0.2 µm, 0.5 µm for the least bed, 0.1 point, 0.5 % of a volume; 0.01 D and mm."""
    if name == "bed_min_um":
        return 0.5
    if name.endswith("mm3"):
        return max(0.005 * value, 1e-4)
    return {"um": 0.2, "percent": 0.1}.get(name.rsplit("_", 1)[1], 0.01)


@pytest.mark.parametrize("seed", range(63))
def test_an_unseen_eye(seed):
    values = an_eye(seed)
    faults = refused(values)
    if faults:
        with pytest.raises((PlanError, EyeError)) as caught:
            eye_of(**values)
        assert getattr(caught.value, "field", None) in faults
        return
    options, expected = eye_of(**values)["options"], figures(values)
    for name, figure in expected.items():
        got = options[name]
        nothing = figure["removal_max_um"] <= figure["removal_parts_um"]["base"]
        if nothing or figure["bed_min_um"] <= 0:
            assert not got["available"] and got["why_not"] and got["bed_min_um"] is None
            continue
        apart = differences(got, figure, values)
        assert {k: v for k, v in apart.items() if v > 1.0} == {}
        # far inside what is asked: a hundredth of it, so that a fault does not hide in the tolerance
        assert max(apart.values()) < 0.01, apart
        assert bed_at(values, name, got["bed_min_x_mm"], got["bed_min_y_mm"]) == pytest.approx(
            figure["bed_min_um"], abs=0.01
        )


def bed_at(values, name, x, y):
    """The bed of an option at a place, which must lie in the treated disc."""
    eye = Eye(values)
    taken = removals(eye)[name == "lenticule"]
    dx, dy = x - eye.values["centre_x_mm"], y - eye.values["centre_y_mm"]
    rho, theta = np.hypot(dx, dy), np.arctan2(dy, dx)
    assert rho <= taken.a + taken.w + 1e-9
    planned = {"surface": eye.values["epithelium_um"], "flap": eye.values["flap_um"], "lenticule": eye.values["cap_um"]}
    cut = values.get({"flap": "flap_measured_um", "lenticule": "cap_measured_um"}.get(name), planned[name])
    bed = float(eye.thickness_um(x, y) - cut - taken.base - taken.t(rho, theta))
    if (x, y) == (0.0, 0.0):  # the measured centre counts there too
        bed = min(bed, eye.values["central_thickness_um"] - cut - taken.base - taken.scale * taken.central_um)
    return bed


def test_the_sixty_eyes_are_of_every_kind():
    eyes = [an_eye(seed) for seed in range(63)]
    assert sum(bool(refused(eye)) for eye in eyes) >= 2
    for profile in ("munnerlyn", "conic", "parabolic"):
        assert sum(eye["profile"] == profile for eye in eyes) >= 8
    assert sum(eye.get("cylinder_D", 0.0) > 0 for eye in eyes) >= 5
    for name in (
        "thinnest_um",
        "centre_x_mm",
        "ablation_blend_mm",
        "lenticule_blend_mm",
        "reported_ablation_um",
        "reported_lenticule_um",
        "flap_measured_um",
        "cap_measured_um",
        "target_asphericity",
        "target_D",
        "base_um",
        "mean_K_D",
        "treated_sphere_D",
    ):
        assert 3 <= sum(name in eye for eye in eyes) <= 60, name


@pytest.mark.parametrize("seed", [3, 8, 18])
def test_the_process_says_the_same(seed, tmp_path):
    values = an_eye(seed)
    file = tmp_path / "plan.toml"
    file.write_text(plan_text(OS=values), encoding="utf-8")
    done = tissue("plan", file, "--json")
    assert done.returncode == 0 and done.stderr == b""
    options = json.loads(done.stdout)["eyes"]["OS"]["options"]
    for name, figure in figures(values).items():
        assert max(differences(options[name], figure, values).values()) < 0.01


def test_a_zone_without_surfaces_is_refused_with_the_largest_one():
    """The largest zone by bisection on whether both roots are real, rounded down to 0.05 mm."""
    values = {
        "sphere_D": -4.0,
        "central_thickness_um": 640.0,
        "zone_mm": 8.5,
        "profile": "conic",
        "target_asphericity": 4.0,
    }
    with pytest.raises(EyeError) as caught:
        eye_of(**values)
    low, high = 4.0, 9.0
    for _ in range(50):
        middle = (low + high) / 2.0
        low, high = (middle, high) if Eye(values).exists(middle) else (low, middle)
    largest = np.floor(low / 0.05) * 0.05
    assert caught.value.field == "zone_mm" and f"{largest:.2f} mm" in caught.value.limit
    assert eye_of(**values | {"zone_mm": round(largest, 2)})["options"]["surface"]["cut_um"] == 53.0


# --- the brute force itself, against scipy ---


@pytest.mark.parametrize("seed", [1, 4, 9])
def test_blend_of_the_brute_force_is_a_cubic_hermite(seed):
    eye = Eye(an_eye(seed))
    taken = Tissue(eye, 6.0, 0.8)
    edge, slope = taken.t(3.0, TURNS), eye.edge_slope(TURNS, 3.0)
    spline = CubicHermiteSpline([3.0, 3.8], [edge, 0.0 * edge], [slope, 0.0 * slope])
    rho = np.linspace(3.0, 3.8, 33)
    assert np.allclose(spline(rho), taken.t(rho[:, None], TURNS), rtol=0.0, atol=1e-9)
    near = (taken.t(3.0, TURNS) - taken.t(3.0 - 1e-6, TURNS)) / 1e-6
    assert np.allclose(near, slope, rtol=1e-4, atol=1e-3)


def test_volume_of_the_brute_force_is_the_integral():
    taken = Tissue(
        Eye({"sphere_D": 2.0, "cylinder_D": -3.0, "axis_deg": 30.0, "central_thickness_um": 550.0}), 6.0, 0.8
    )
    quarter = np.pi / 2.0

    def integral(low, high):
        start = np.radians(30.0)
        return dblquad(lambda rho, theta: taken.t(rho, theta) * rho, start, start + quarter, low, high, epsrel=1e-7)[0]

    assert taken.volume_mm3() == pytest.approx(4.0 * (integral(0.0, 3.0) + integral(3.0, 3.8)) / 1000.0, rel=1e-6)
