"""Every notice on both sides of its limit. Source of each limit: the model, in the section named beside the test."""

import numpy as np
import pytest
from helpers import comparison_of, notice_ids

from tissue import Cornea, Pupil, Refraction, Treatment, compare
from tissue.budget.notices import line_source, notices

EYE = {"sphere_D": -6.0, "central_thickness_um": 560.0}
LIST = set(
    "treated-differs target-shortfall thinnest-no-place map-differs reported-differs depth-per-dioptre rim-step "
    "steep-blend pupil-over-zone thinnest-far K-unusual low-bed "
    "does-not-fit line-between under-line off-centre not-available extraction-bias base-deeper thin-lenticule".split()
)


def ids(option, **values):
    return notice_ids(option, **{**EYE, **values})


def text(identity, option=None, **values):
    """The words of a notice."""
    found = [n.text for n in notices(comparison_of(**{**EYE, **values})) if (n.id, n.option) == (identity, option)]
    assert len(found) == 1, found
    return found[0]


def figures(option, **values):
    return comparison_of(**{**EYE, **values}).results[option].budget


def test_a_usual_eye_has_only_what_its_defaults_bring():
    # §5, §7: from about −6 D the flap ablation is deeper than the lenticule; the bias of an extraction is below 0
    assert ids(None, sphere_D=-5.0) == [] and ids("surface", sphere_D=-5.0) == ids("flap", sphere_D=-5.0) == []
    assert ids("lenticule", sphere_D=-5.0) == ["extraction-bias"]
    assert ids(None, sphere_D=-7.0) == ["base-deeper"]


def test_ids_are_those_of_the_interface():
    wild = {
        "sphere_D": 4.0, "cylinder_D": -6.0, "axis_deg": 20.0, "central_thickness_um": 480.0, "thinnest_um": 450.0,
        "zone_mm": 8.5, "treated_sphere_D": 5.0, "treated_cylinder_D": -6.0, "treated_axis_deg": 20.0,
        "ablation_blend_mm": 0.1, "lenticule_blend_mm": 0.1, "reported_ablation_um": 150.0, "bed_line_um": 300.0,
    }  # fmt: skip
    others = (
        {"sphere_D": -1.0},
        {"sphere_D": 0.0},
        {"sphere_D": -7.0},
        {"zone_mm": 8.5},
        {"reported_ablation_um": 260.0},
        {"sphere_D": -9.0, "target_D": -1.5, "treated_sphere_D": -7.5, "treated_cylinder_D": 0.0},
        {"central_thickness_um": 400.0, "thinnest_um": 399.0, "thinnest_x_mm": -1.1, "thinnest_y_mm": 0.0},
        {"mean_K_D": 49.0, "pupil_mm": 7.0},
    )
    found = {n.id for eye in (wild, *(EYE | other for other in others)) for n in notices(comparison_of(**eye))}
    assert found == LIST


# --- §2, §3: what was entered ---


@pytest.mark.parametrize(("treated", "target", "there"), [
    (-6.5, 0.0, False), (-6.51, 0.0, True), (-5.5, 0.0, False), (-5.49, 0.0, True),
    (-5.0, -1.0, False), (-5.0, 0.0, True),
])  # fmt: skip
def test_treated_differs_by_over_half_a_dioptre(treated, target, there):
    found = ids(None, treated_sphere_D=treated, treated_cylinder_D=0.0, target_D=target)
    assert ("treated-differs" in found) == there


def test_treated_differs_counts_the_spherical_equivalent():
    toric = {"treated_sphere_D": -5.5, "treated_cylinder_D": -1.0, "treated_axis_deg": 20.0}
    assert "treated-differs" not in ids(None, **toric)
    assert "within 0.50 D" in text("treated-differs", treated_sphere_D=-7.0, treated_cylinder_D=0.0)


def test_a_target_alone_is_no_difference():
    assert "treated-differs" not in ids(None, target_D=-2.0)


def test_thinnest_point_without_its_place():
    assert "thinnest-no-place" in ids(None, thinnest_um=555.0)
    assert "thinnest-no-place" not in ids(None)
    # what it says ends it
    assert "Giving x and y" in text("thinnest-no-place", thinnest_um=555.0)
    assert "thinnest-no-place" not in ids(None, thinnest_um=555.0, thinnest_x_mm=0.0, thinnest_y_mm=0.0)


@pytest.mark.parametrize(("thinnest", "there"), [(550.0, False), (549.9, True), (560.0, False)])
def test_map_differs_by_over_10(thinnest, there):
    assert ("map-differs" in ids(None, thinnest_um=thinnest, thinnest_x_mm=0.0, thinnest_y_mm=0.0)) == there


def test_map_differs_where_it_is_thicker_at_the_vertex():
    # C: 560·0.0088·d² = 10 at d² = 2.029
    assert "map-differs" not in ids(None, thinnest_um=560.0, thinnest_x_mm=1.42, thinnest_y_mm=0.0)
    assert "map-differs" in ids(None, thinnest_um=560.0, thinnest_x_mm=1.43, thinnest_y_mm=0.0)
    assert "within 10 µm" in text("map-differs", thinnest_um=540.0, thinnest_x_mm=0.0, thinnest_y_mm=0.0)


@pytest.mark.parametrize(
    ("sphere", "target", "treated", "there"),
    [
        (-9.0, -1.5, -7.5, True),  # leaves −1.23 (C: −8.025 + 6.810 at the cornea, seen from 13.5 mm)
        (-9.0, -1.5, -7.19, False),  # taken off at the cornea
        (-9.0, 0.0, -9.0, False),
        (-3.0, -1.0, -2.0, False),  # leaves −0.95
        (-9.0, -1.5, -7.6, False),  # not the plain difference: treated-differs speaks of it where it is far off
    ],
)
def test_a_target_taken_off_on_paper_is_said_with_what_it_leaves(sphere, target, treated, there):
    """Source: the vertex formula of the textbooks; truth of the printed sentence by hand."""
    values = {"sphere_D": sphere, "target_D": target, "treated_sphere_D": treated, "treated_cylinder_D": 0.0}
    found = ids(None, vertex_mm=13.5, **values)
    assert ("target-shortfall" in found) == there and "treated-differs" not in found
    if there:
        words = text("target-shortfall", vertex_mm=13.5, **values)
        assert "leaves −1.23 D" in words and "−7.19 D" in words


def test_a_least_bed_is_never_over_the_central_one():
    """500 µm, thinnest 500 at (−1.2, −0.8), −6 D: the map alone gave 348 µm after surface ablation, the centre 342."""
    eye = {"sphere_D": -6.0, "central_thickness_um": 500.0, "thinnest_um": 500.0}
    eye |= {"thinnest_x_mm": -1.2, "thinnest_y_mm": -0.8}
    assert round(float(figures("surface", **eye).bed_min_um)) == 342
    for name in ("surface", "flap", "lenticule"):
        found = figures(name, **eye)
        assert found.bed_min_um <= found.bed_central_um + 1e-9
        assert found.altered_max_percent >= found.altered_percent - 1e-9
    assert (found.bed_min_x_mm, found.bed_min_y_mm) == (0.0, 0.0)


# --- §4: the removal ---


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("option", "field"), [("flap", "reported_ablation_um"), ("lenticule", "reported_lenticule_um")]
)
def test_reported_differs_by_over_10(option, field, sign):
    computed = float(figures(option).removal_computed_um)
    assert "reported-differs" not in ids(option, **{field: computed + sign * 9.9})
    assert "reported-differs" in ids(option, **{field: computed + sign * 10.1})
    assert "reported-differs" not in ids("lenticule" if option == "flap" else "flap", **{field: computed + 30.0})
    assert "within 10 µm" in text("reported-differs", option, **{field: computed + 30.0})


@pytest.mark.parametrize(("part", "there"), [(0.189, True), (0.191, False), (0.519, False), (0.521, True)])
def test_depth_per_dioptre_outside_019_to_052_of_the_squared_zone(part, there):
    span = 6.0 / (1.0 + 0.012 * 6.0)  # C: −6.00 at 12 mm is −5.597 at the cornea
    depth = part * 6.5**2 * span
    assert ("depth-per-dioptre" in ids("flap", reported_ablation_um=depth)) == there
    assert ("depth-per-dioptre" in ids("lenticule", reported_lenticule_um=depth + 15.0)) == there


def test_depth_per_dioptre_where_no_refraction_is_treated():
    shape = {"sphere_D": 0.0, "profile": "conic", "target_asphericity": -1.0}
    assert "cannot be given" in text("depth-per-dioptre", "flap", **shape)


HYPEROPE = {"sphere_D": 3.0, "zone_mm": 6.5}


def with_rim(option, rim, blend):
    """A hyperope whose greatest depth at the zone edge is `rim`, by the depth that the laser reports."""
    name = "lenticule" if option == "lenticule" else "ablation"
    values = HYPEROPE | {f"{name}_blend_mm": blend, "base_um": 15.0}
    plain, base = figures(option, **values), 15.0 if option == "lenticule" else 0.0
    scale = rim / float(plain.rim_step_um)
    return values | {f"reported_{name}_um": base + scale * (float(plain.removal_max_um) - base)}


@pytest.mark.parametrize(("rim", "blend", "there"), [
    (40.1, 0.29, True), (39.9, 0.29, False), (40.1, 0.3, False), (40.1, 0.0, True), (39.9, 0.0, False),
])  # fmt: skip
@pytest.mark.parametrize("option", ["surface", "flap", "lenticule"])
def test_rim_step_over_40_with_a_blend_under_03(option, rim, blend, there):
    assert ("rim-step" in ids(option, **with_rim(option, rim, blend))) == there


@pytest.mark.parametrize(("slope", "blend", "there"), [(150.5, 0.4, True), (149.5, 0.4, False), (900.0, 0.0, False)])
def test_steep_blend_over_150_a_millimetre_for_an_ablation(slope, blend, there):
    values = with_rim("flap", slope * (blend or 0.1), blend)
    assert ("steep-blend" in ids("flap", **values)) == there
    assert ("steep-blend" in ids("surface", **values)) == there
    assert "steep-blend" not in ids("lenticule", **with_rim("lenticule", 160.0 * 0.4, 0.4))


# --- §5: what fits, the line, the pair ---


@pytest.mark.parametrize(("zone", "there"), [(7.7, False), (7.71, True)])
def test_zone_and_blend_in_a_flap_less_03(zone, there):
    # 9.0 − 0.3 = 7.7 + 2·0.5
    assert ("does-not-fit" in ids("flap", zone_mm=zone)) == there


@pytest.mark.parametrize(("cap", "there"), [(6.7, False), (6.69, True)])
def test_zone_and_blend_in_a_cap_less_02(cap, there):
    assert ("does-not-fit" in ids("lenticule", cap_diameter_mm=cap)) == there


@pytest.mark.parametrize(("white", "there"), [(10.0, False), (9.99, True)])
def test_a_cut_a_millimetre_inside_the_limbus(white, there):
    assert ("does-not-fit" in ids("flap", white_to_white_mm=white)) == there
    assert ("does-not-fit" in ids("lenticule", white_to_white_mm=white, cap_diameter_mm=9.0)) == there
    assert "does-not-fit" not in ids("surface", white_to_white_mm=9.0)


def test_under_line_and_line_between():
    eye = {"thinnest_um": 552.0, "thinnest_x_mm": 0.5, "thinnest_y_mm": 0.5}
    central, least = (float(getattr(figures("flap", **eye), name)) for name in ("bed_central_um", "bed_min_um"))
    assert central - least > 3.0
    for line, under, between in (
        (least - 0.01, False, False), (least + 0.01, True, True),
        (central - 0.01, True, True), (central + 0.01, True, False),
    ):  # fmt: skip
        found = ids("flap", bed_line_um=line, **eye)
        assert ("under-line" in found, "line-between" in found) == (under, between)


def test_under_line_names_missing_micrometres_and_where_the_line_comes_from():
    # §5: 250 is the American Academy's, set for beds under a flap
    words = text("under-line", "lenticule", sphere_D=-10.0, central_thickness_um=510.0)
    figure = figures("lenticule", sphere_D=-10.0, central_thickness_um=510.0)
    assert f"{250.0 - figure.bed_min_um:.0f} µm under the 250 µm line" in words
    assert "Preferred Practice Pattern" in words and "flap" in words and "not a verdict" in words
    assert line_source(263.0) == "a line of your own" and "Ophthalmology" in line_source(280.0)


def test_off_centre_over_5():
    shape = {"sphere_D": 0.0, "profile": "conic", "ablation_blend_mm": 0.0}
    seen = set()
    for target in np.linspace(-0.15, 0.3, 10):
        figure = figures("flap", target_asphericity=target, **shape)
        there = figure.removal_max_um - figure.removal_central_um > 5.0
        assert ("off-centre" in ids("flap", target_asphericity=target, **shape)) == there
        seen.add(bool(there))
    assert seen == {True, False} and "central" in text("off-centre", "flap", sphere_D=3.0)


def test_not_available():
    assert (
        ids("surface", sphere_D=0.0) == ids("flap", sphere_D=0.0) == ids("lenticule", sphere_D=0.0) == ["not-available"]
    )
    assert "nothing to treat" in text("not-available", "flap", sphere_D=0.0)
    thin = {"sphere_D": -16.0, "central_thickness_um": 320.0}
    assert "not-available" not in ids("surface", **thin)
    assert ids("flap", **thin) == ids("lenticule", **thin) == ["not-available"]
    assert "no bed is left" in text("not-available", "lenticule", **thin)


@pytest.mark.parametrize(("bias", "there"), [(-0.1, True), (0.0, False), (3.0, False)])
def test_extraction_bias_below_0(bias, there):
    assert ("extraction-bias" in ids("lenticule", lenticule_bias_um=bias)) == there
    assert "extraction-bias" not in ids("flap", lenticule_bias_um=bias, ablation_bias_um=bias)


def test_extraction_bias_is_said_beside_an_available_extraction_only():
    assert "a bias of 0 ends this" in text("extraction-bias", "lenticule")
    assert "extraction-bias" not in ids("lenticule", sphere_D=0.0)


def test_base_deeper():
    # §5: with the defaults from about −6 D up
    for sphere in (-4.0, -5.0, -5.5, -6.5, -7.0, -9.0):
        flap, lenticule = (figures(name, sphere_D=sphere).removal_max_um for name in ("flap", "lenticule"))
        assert ("base-deeper" in ids(None, sphere_D=sphere)) == (flap > lenticule) == (sphere <= -6.5)
    swapped = figures("flap", sphere_D=-7.0, ablation_blend_mm=0.0).removal_max_um
    assert f"would be {swapped:.0f} µm deep" in text("base-deeper", sphere_D=-7.0)


def test_base_deeper_needs_both_options():
    assert "base-deeper" not in ids(None, sphere_D=-16.0, central_thickness_um=320.0)


@pytest.mark.parametrize(("depth", "there"), [(49.9, True), (50.1, False)])
def test_thin_lenticule_under_50(depth, there):
    values = {"sphere_D": -2.0, "reported_lenticule_um": depth}
    assert ("thin-lenticule" in ids("lenticule", **values)) == there
    assert "thin-lenticule" not in ids("flap", **values)


def test_facts_of_an_unusual_eye_are_said_with_their_source_and_no_verdict():
    """Pupil over the zone, thinnest point over 1 mm off, K outside 39 to 48 D, bed under 200 µm: none was said."""
    plain = compare(Cornea(550.0), Treatment(Refraction(-3.0)))
    facts = {"pupil-over-zone", "thinnest-far", "K-unusual", "low-bed"}
    assert not facts & {notice.id for notice in notices(plain)}
    odd = Cornea(440.0, 436.0, -0.9, -0.8, radius_mm=337.5 / 49.0)
    said = {n.id: n.text for n in notices(compare(odd, Treatment(Refraction(-8.0)), pupil=Pupil(7.0)))}
    assert facts <= set(said)
    assert "1.2 mm" in said["thinnest-far"] and "49.00 D" in said["K-unusual"] and "Cureus" in said["K-unusual"]
    share = 100.0 * (1.0 - (6.5 / 7.0) ** 2)  # C: two circles about one centre
    assert said["pupil-over-zone"].startswith(f"{share:.1f} % of the pupil of 7 mm")
    assert "J Refract Surg 2006;22:851" in said["low-bed"] and "not a verdict" in said["low-bed"]
