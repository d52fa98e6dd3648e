"""What a notice says would end it does end it: every cure named is carried out, and the notice looked for again.

Source: the model asks that each notice names what would end it, in mm or µm.
"""

import re

import numpy as np
import pytest
from helpers import comparison_of

from tissue.budget import remedies
from tissue.budget.notices import notices

WITH_A_CURE = {
    "does-not-fit", "rim-step", "steep-blend", "under-line", "thin-lenticule", "base-deeper", "extraction-bias",
    "thinnest-no-place",
}  # fmt: skip


def used(values):
    """Blends and zone of an eye as used."""
    return vars(comparison_of(**values).treatment)


def blend_field(option):
    return "lenticule_blend_mm" if option == "lenticule" else "ablation_blend_mm"


def diameter_field(option):
    return {"flap": "flap_diameter_mm", "lenticule": "cap_diameter_mm"}[option]


def zone_for_disc(number, option, values):
    """The zone for a zone and blend of so much; the cut stays as it is."""
    cut = comparison_of(**values).results[option].option.cut_diameter_mm
    return {"zone_mm": number - 2.0 * float(used(values)[blend_field(option)]), diameter_field(option): float(cut)}


CURES = {
    r"a zone of (\d+\.\d+) mm": lambda number, option, values: {"zone_mm": number},
    r"a cut of (\d+) µm": lambda number, option, values: {{"flap": "flap_um", "lenticule": "cap_um"}[option]: number},
    r"A blend of (\d+\.\d+) mm": lambda number, option, values: {blend_field(option): number},
    r"a base of (\d+) µm": lambda number, option, values: {"base_um": number},
    r"A cut of (\d+\.\d+) mm": lambda number, option, values: {diameter_field(option): number},
    r"or zone and blend of (\d+\.\d+) mm": zone_for_disc,
    r"Equal (blends) end": lambda number, option, values: {"ablation_blend_mm": used(values)["lenticule_blend_mm"]},
    r"A reported ablation of (\d+) µm": lambda number, option, values: {"reported_ablation_um": number},
    r"a (bias of 0) ends": lambda number, option, values: {"lenticule_bias_um": 0.0},
    r"Giving (x and y) ends": lambda number, option, values: {"thinnest_x_mm": 0.0, "thinnest_y_mm": 0.0},
}


def an_eye(seed):
    """A random eye made to bring notices: thin, wide zones, sharp blends, low or high corrections."""
    rng = np.random.default_rng(seed)
    values = {"sphere_D": round(rng.uniform(-11, 5), 2), "central_thickness_um": round(rng.uniform(440, 580), 1)}
    if rng.random() < 0.5:
        values |= {"cylinder_D": round(rng.uniform(-4, 4), 2), "axis_deg": round(rng.uniform(0, 180), 1)}
    if rng.random() < 0.5:
        values["thinnest_um"] = values["central_thickness_um"] - round(rng.uniform(0, 20), 1)
    for name, low, high in (
        ("zone_mm", 5.0, 8.5), ("ablation_blend_mm", 0.0, 1.0), ("lenticule_blend_mm", 0.0, 0.6),
        ("flap_diameter_mm", 7.0, 9.5), ("cap_diameter_mm", 7.0, 9.0), ("white_to_white_mm", 9.0, 11.0),
        ("base_um", 5.0, 30.0), ("bed_line_um", 230.0, 330.0),
    ):  # fmt: skip
        if rng.random() < 0.4:
            values[name] = round(rng.uniform(low, high), 2)
    return values


def named(text, option, values):
    """Every cure that a notice names, as changes of the values."""
    for pattern, change in CURES.items():
        for match in re.finditer(pattern, text):
            word = match[1]
            yield change(float(word) if word[0].isdigit() else word, option, values)


def there(values, identity, option, words):
    """The same notice (of a kind of its own words: the two of a diameter are told apart) on changed values."""
    return any(
        (n.id, n.option) == (identity, option) and ("limbus" in n.text) == ("limbus" in words)
        for n in notices(comparison_of(**values))
    )


def carried_out(seed, seen):
    values = an_eye(seed)
    for notice in notices(comparison_of(**values)):
        for change in named(notice.text, notice.option, values):
            seen[notice.id] = seen.get(notice.id, 0) + 1
            assert not there(values | change, notice.id, notice.option, notice.text), (seed, notice, change)


def test_every_cure_that_is_named_ends_its_notice():
    seen = {}
    for seed in range(40):
        carried_out(seed, seen)
    assert set(seen) == WITH_A_CURE and min(seen.values()) >= 3, seen


def of_kind(values, identity, option):
    (found,) = (n.text for n in notices(comparison_of(**values)) if (n.id, n.option) == (identity, option))
    return found


def test_another_option_is_named_only_where_it_leaves_the_line():
    values = {"sphere_D": -9.0, "central_thickness_um": 500.0}
    words, results = of_kind(values, "under-line", "lenticule"), comparison_of(**values).results
    for name in ("surface", "flap"):
        budget = results[name].budget
        leaves = min(budget.bed_min_um, budget.bed_central_um) >= 250.0
        assert (results[name].option.title in words) == leaves
    assert "surface ablation" in words


def test_a_cut_that_was_made_is_no_cure():
    values = {"sphere_D": -9.0, "central_thickness_um": 500.0}
    assert "a cut of" in of_kind(values, "under-line", "flap")
    assert "a cut of" not in of_kind(values | {"flap_measured_um": 112.0}, "under-line", "flap")


def test_a_cut_is_named_only_down_to_what_may_be_asked_for_and_below_the_epithelium():
    deep = {"sphere_D": -10.0, "central_thickness_um": 480.0, "bed_line_um": 300.0}
    assert "a cut of" not in of_kind(deep, "under-line", "flap")
    thick = {"sphere_D": -8.0, "central_thickness_um": 500.0, "epithelium_um": 89.0, "bed_line_um": 290.0}
    assert "a cut of" not in of_kind(thick, "under-line", "flap")


def test_nothing_ends_it_where_nothing_does():
    words = of_kind({"sphere_D": -12.0, "central_thickness_um": 400.0, "bed_line_um": 360.0}, "under-line", "flap")
    assert "No narrower zone and no other cut or option ends it." in words


def test_the_narrowest_and_the_widest_zone_have_no_other_to_name():
    narrow = {"sphere_D": -9.0, "central_thickness_um": 500.0, "zone_mm": 4.0, "bed_line_um": 400.0}
    assert "a zone of" not in of_kind(narrow, "under-line", "flap")
    wide = {"sphere_D": -0.25, "central_thickness_um": 500.0, "zone_mm": 9.0}
    assert "No zone up to 9 mm" in of_kind(wide, "thin-lenticule", "lenticule")


@pytest.mark.parametrize("option", ["flap", "lenticule"])
def test_zone_for_the_bed_is_the_widest_that_leaves_it(option):
    values = {"sphere_D": -9.0, "central_thickness_um": 500.0}
    found = comparison_of(**values)
    zone = remedies.zone_for_bed(found, found.results[option].option, 250.0)

    def least(zone_mm):
        budget = comparison_of(**values, zone_mm=zone_mm).results[option].budget
        return min(budget.bed_min_um, budget.bed_central_um)

    assert least(zone) >= 250.0 > least(zone + 0.05)
    assert remedies.zone_for_bed(found, found.results[option].option, 600.0) is None


def test_zone_for_a_lenticule_is_the_narrowest_that_is_thick_enough():
    values = {"sphere_D": -2.0, "central_thickness_um": 550.0}
    found = comparison_of(**values)
    zone = remedies.zone_for_depth(found, found.results["lenticule"].option, 50.0)
    deepest = [
        comparison_of(**values, zone_mm=z).results["lenticule"].budget.removal_max_um for z in (zone - 0.05, zone)
    ]
    assert deepest[0] < 50.0 <= deepest[1]
    assert remedies.zone_for_depth(found, found.results["lenticule"].option, 500.0) is None


def test_blend_for_a_rim_is_the_narrowest_that_is_gentle():
    values = {"sphere_D": 4.0, "central_thickness_um": 550.0, "ablation_blend_mm": 0.2}
    found = comparison_of(**values)
    blend = remedies.blend_for_rim(found, found.results["flap"].option, 0.0, 150.0)

    def slope(blend_mm):
        return comparison_of(**values | {"ablation_blend_mm": blend_mm}).results["flap"].budget.rim_step_um / blend_mm

    assert slope(blend) <= 150.0 < slope(round(blend - 0.1, 1))
    assert remedies.blend_for_rim(found, found.results["flap"].option, 0.0, 1.0) is None


def test_where_a_depth_is_reported_the_cures_ask_to_read_it_again():
    values = {"sphere_D": -9.0, "central_thickness_um": 500.0, "reported_ablation_um": 170.0}
    assert "read again" in of_kind(values, "under-line", "flap")
    assert "read again" not in of_kind({k: v for k, v in values.items() if "reported" not in k}, "under-line", "flap")
