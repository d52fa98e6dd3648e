"""Tables of maps on the screen: nothing is guessed; what is refused says why; a taken map goes with its eye alone."""

import re
from dataclasses import replace

import numpy as np
import pytest
from map_tables import grid_table
from own_maps import nine

from tissue.entry import plan_file
from tissue.entry.own_map.written import WrittenMap
from tissue.ground.errors import EyeError
from tissue.screens.desk.reading import shown_eye
from tissue.screens.desk.state import FIRST_DEMO, Desk, open_demo
from tissue.screens.own_map.answers import Answers, Table, found_in
from tissue.screens.tables.own_map import map_table

SAID = Answers("thickness", "right", "up")


def grid(formula, slip=None):
    """A grid as the bytes of a table."""
    return grid_table(formula, slip).encode()


def like_the_demo(x, y):
    return nine(x, y) + 15.0


@pytest.fixture
def desk():
    made = Desk()
    open_demo(made, FIRST_DEMO)
    return made


def test_what_a_table_does_not_say_is_asked():
    """Source: rule of maps: orientation is said, never guessed or preset."""
    assert Answers().open_questions("grid") == ["what it is a map of", "where its x runs", "where its y runs"]
    assert Answers().open_questions("polar") == ["where its x runs", "where its y runs"]
    assert Answers().open_questions("sectors") == [] == SAID.open_questions("grid")


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (grid(like_the_demo, (1.0, 1.0, "0.55")), "read 0.55, accepted 300 to 950 µm"),
        (grid(lambda x, y: 999.0), "read 999, accepted 300 to 950 µm"),
        (grid(lambda x, y: like_the_demo(x, y) + 60.0), "of the map's centre"),
        (grid(like_the_demo, (1.0, 1.0, "n/a")), "read n/a"),
    ],
    ids=["mixed units", "too thick", "unlike what was typed", "a word"],
)
def test_a_table_is_refused_with_the_reason(desk, table, words):
    found = found_in(Table(table, "OD"), SAID, desk.texts["OD"])
    said = " ".join(found.wrong)
    assert words in said and "_map" not in said


@pytest.mark.parametrize("wrong", [{"zone_mm": "65"}, {"central_thickness_um": "6000"}], ids=["zone", "none but it"])
def test_a_table_is_laid_beside_what_can_be_read_whatever_else_is_wrong(desk, wrong):
    """A wrong field anywhere, and a map of 544 µm was taken beside a thickness of 600 without a word."""
    texts = desk.texts["OD"] | {"central_thickness_um": "600", "thinnest_um": "600"} | wrong
    found = found_in(Table(grid(like_the_demo), "OD"), SAID, texts)
    assert any("thinnest_um: read 600" in line for line in found.wrong), found.wrong
    assert ("central_thickness_um: read 600" in " ".join(found.wrong)) == ("zone_mm" in wrong)


@pytest.mark.parametrize("method", ["OCT\u00a0at noon", "OCT\tat noon", "OCT " * 21])
def test_a_method_that_no_plan_could_hold_is_refused(desk, method):
    """It was taken and saved, and the plan was refused when it was opened again."""
    found = found_in(Table(grid(like_the_demo), "OD"), replace(SAID, method=method), desk.texts["OD"])
    assert [line.partition(":")[0] for line in found.wrong] == ["Thickness map, method"]
    found = found_in(Table(grid(like_the_demo), "OD"), replace(SAID, method="OCT at noon"), desk.texts["OD"])
    desk.put_maps("OD", found.maps)
    assert not found.wrong and plan_file.read_plan(desk.as_file().encode())


def test_a_reading_apart_is_asked_about_and_left_out_by_a_press(desk):
    table = Table(grid(like_the_demo, (1.0, 1.0, "640")), "OD")
    asked = found_in(table, SAID, desk.texts["OD"])
    assert asked.apart and "640 at 1.00, 1.00 mm" in asked.wrong[0] and asked.wrong[0].startswith("Thickness map: ")
    taken = found_in(table, Answers("thickness", "right", "up", leave_out=True), desk.texts["OD"])
    assert not taken.wrong and taken.maps["thickness_map"].left_out == "1 1 640"


def test_a_mirrored_table_gives_a_mirrored_thinnest_point(desk):
    """Source: arithmetic: towards the nose is to the left in a left eye."""
    left, right = (
        found_in(Table(grid(like_the_demo), "OS"), Answers("thickness", x, "up"), {}).surfaces["thickness_map"]
        for x in ("nasal", "right")
    )
    assert left.thinnest_x_mm == pytest.approx(-right.thinnest_x_mm, abs=0.01)
    assert left.thinnest_y_mm == pytest.approx(right.thinnest_y_mm, abs=0.01)


def test_a_map_is_put_in_taken_out_and_put_back(desk):
    before = desk.figures("OD")[0].comparison.under_flap.budget.bed_min_um
    found = found_in(Table(grid(like_the_demo), "OD"), SAID, desk.texts["OD"])
    desk.put_maps("OD", found.maps)
    with_map = desk.figures("OD")[0].comparison.under_flap.budget.bed_min_um
    assert desk.changed and desk.code == "harbour-03-copy" and desk.texts["OD"]["thickness_map"].confirmed
    assert with_map != before and "thickness_map" not in desk.texts["OS"]
    again = plan_file.read_plan(desk.as_file().encode())
    assert shown_eye(again.typed["OD"], "OD")[0].comparison.under_flap.budget.bed_min_um == with_map
    desk.put_maps("OD", {"thickness_map": None})
    assert desk.figures("OD")[0].comparison.under_flap.budget.bed_min_um == before
    desk.put_maps_back()
    assert desk.figures("OD")[0].comparison.under_flap.budget.bed_min_um == with_map


def test_without_its_map_an_eye_has_no_figures_by_it(desk):
    """No thickness at the centre was typed. The figures by the map that was gone went on standing there."""
    open_demo(desk, "harbour-09_own_map")
    assert "central_thickness_um" not in desk.texts["OD"] and desk.figures("OD")[0] is not None
    desk.put_maps("OD", {"thickness_map": None})
    assert desk.figures("OD")[0] is None and "central_thickness_um" in desk.figures("OD")[1]
    desk.put_maps_back()
    assert desk.figures("OD")[0].comparison.cornea.own_map is not None
    del desk.texts["OD"]["thickness_map"]
    found = found_in(Table(grid(nine), "OD"), SAID, desk.texts["OD"])
    desk.put_maps("OD", found.maps)
    assert desk.figures("OD")[0] is not None
    desk.put_maps_back()
    assert desk.figures("OD")[0] is None


def test_a_map_is_taken_out_beside_a_field_that_cannot_be_read(desk):
    """Source: rule of the desk: the last good text stands in for a wrong one; the rest is as it is now."""
    open_demo(desk, "harbour-09_own_map")
    desk.edit("OD", "central_thickness_um", "531")
    desk.figures("OD")
    desk.edit("OD", "zone_mm", "65")
    desk.put_maps("OD", {"thickness_map": None})
    shown, wrong = desk.figures("OD")
    assert list(wrong) == ["zone_mm"] and shown.comparison.cornea.own_map is None


def test_maps_that_no_plan_file_could_hold_are_not_taken(desk):
    """Two maps of 201 × 201 in each eye were taken, saved as 1.22 MB, and the file was refused when it was opened."""
    places = " ".join(f"{x:g}" for x in np.round(np.linspace(-5.0, 5.0, 201), 3))
    for texts in desk.texts.values():
        for typed in ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm"):  # an even map has no place that is thinnest
            texts.pop(typed, None)
    before = desk.as_file()
    for side, value in (("OD", "545.123"), ("OD", "53.123"), ("OS", "545.123"), ("OS", "53.123")):
        name = "epithelium_map" if value < "54" else "thickness_map"
        rows = "\n".join([" ".join([value] * 201)] * 201)
        one = WrittenMap(name, side, "grid", rows, "right", "up", x_mm=places, y_mm=places)
        standing = desk.texts[side]
        try:
            desk.put_maps(side, {name: one})
        except EyeError as error:
            assert (error.field, name, side) == ("plan file", "epithelium_map", "OS")
            assert "at most 1000 kB" in str(error) and desk.texts[side] is standing
    assert "epithelium_map" not in desk.texts["OS"]
    data = desk.as_file().encode()
    assert plan_file.read_plan(data) and len(before) < len(data) <= plan_file.LARGEST_WITH_MAPS


def test_a_map_stays_with_its_eye(desk):
    """Source: rule of maps: an orientation is that of one eye; copied over it would be mirrored."""
    desk.put_maps("OD", found_in(Table(grid(like_the_demo), "OD"), SAID, desk.texts["OD"]).maps)
    desk.copy_to_other("OD")
    assert "thickness_map" not in desk.texts["OS"] and desk.texts["OS"]["zone_mm"] == desk.texts["OD"]["zone_mm"]
    desk.reset()
    assert "thickness_map" not in desk.texts["OD"] and not desk.maps_before


def test_the_map_stands_beside_the_paraboloid(desk):
    """Source: differences of the document of maps: harbour-10 least bed −18 under flap and cap, −15 at the surface."""
    open_demo(desk, "harbour-10_thinner_below_centre")
    told = str(map_table(desk.figures("OD")[0]))
    row = told.partition("Map less paraboloid")[2].partition("</tr>")[0]
    assert re.findall("−[0-9]+", row) == ["−15", "−18", "−18"] and "rms" in told
    open_demo(desk, FIRST_DEMO)
    assert map_table(desk.figures("OD")[0]) == ""
