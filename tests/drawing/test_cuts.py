"""The cuts against time, rescue options and enhancements as pictures: tested as dictionaries, and their words."""

import json

import numpy as np
import pytest
from cut_pictures import (
    CUT,
    DARK,
    LIGHT,
    MOMENTS,
    RESIDUALS,
    VERDICTS,
    WIDTHS,
    apart,
    area_of,
    drawn_numbers,
    hatched,
    strokes_of,
)
from drawn_eyes import EYES, eye
from figures_read import all_words

from tissue import CapCut, Cornea, FlapCut, Judgement, Refraction, Treatment, compare
from tissue.drawing.base.palette import DASH
from tissue.drawing.routes import cut_clock, cut_front, ways_out
from tissue.drawing.routes.way_frame import NO_FIGURES, columns
from tissue.ground.vocabulary import STAGES
from tissue.routes.cutting import clock_of, cut_so_far
from tissue.routes.enhancement import enhancement
from tissue.routes.rescue import rescue
from tissue.screens.tables import routes as route_tables

# --- the line of time -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seconds", [0.0, 4.5, 10.3, 17.0, 24.0])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_clock_is_filled_up_to_the_moment(seconds, width):
    figure = cut_clock.clock_line(clock_of(eye("usual")), seconds, LIGHT, width)
    json.dumps(figure, allow_nan=False)
    assert max(figure["data"][0]["x"]) == pytest.approx(seconds)
    boxes = strokes_of(figure["data"][1])
    assert sum(float(np.nanmax(x) - np.nanmin(x)) for x, _ in boxes) == pytest.approx(24.0, abs=1e-3)
    assert f"<b>{seconds:.1f} s</b>" in " ".join(all_words(figure))


def test_the_clock_is_drawn_alike_for_every_refraction():
    """Source: common practice: the same lasing time for −1.50 and −8.50; blend, base and cap as given."""

    def drawn(sphere):
        plan = Treatment(Refraction(sphere), lenticule_blend_mm=0.1, base_um=15.0)
        return cut_clock.clock_line(clock_of(compare(Cornea(560.0), plan)), 7.0, LIGHT, 1000)

    assert drawn(-1.5) == drawn(-8.5)


@pytest.mark.parametrize("seconds", np.linspace(0.0, 24.0, 49))
def test_no_name_on_the_clock_is_crossed_by_the_moment(seconds):
    clock = clock_of(eye("usual"))
    for width in WIDTHS:
        per_s = (width - 2 * cut_clock.SIDE_PX) / 24.0
        for note in cut_clock.clock_line(clock, seconds, LIGHT, width)["layout"]["annotations"]:
            if note["text"].startswith("<b>"):
                continue
            wide, shift = cut_clock.text_width(note["text"], note["font"]["size"]), note.get("xshift", 0.0)
            left = note["x"] * per_s + shift - wide * {"left": 0.0, "right": 1.0}.get(note.get("xanchor"), 0.5)
            assert not left < seconds * per_s < left + wide, note["text"]


@pytest.mark.parametrize("seconds", np.linspace(0.0, 24.0, 13))
def test_no_name_on_the_clock_lies_on_another_with_the_cap_first(seconds):
    """Side cut and incision, each a tenth of a second, then follow each other: their names stand in one."""
    clock = clock_of(compare(Cornea(560.0), Treatment(Refraction(-6.0)), judgement=Judgement(cut_order="cap-first")))
    assert cut_clock.describe_clock(clock, 1.0).startswith("The cuts in their order: cap cut, inside out to 13.6 s")
    for width in WIDTHS:
        notes = cut_clock.clock_line(clock, seconds, LIGHT, width)["layout"]["annotations"]
        names = [note["text"] for note in notes if not note["text"].startswith("<b>")]
        assert "side cut, incision" in names and len(names) == 3


def test_the_clock_in_words():
    said = cut_clock.describe_clock(clock_of(eye("usual")), 4.5)
    assert "incision to 24.0 s" in said and "lenticule cut, outside in, 43.8 % done" in said


# --- what is cut, from the front --------------------------------------------------------------------------------------


@pytest.mark.parametrize("share", [0.05, 0.44, 0.9])
def test_the_ring_has_the_share_of_the_area(share):
    """C: a spiral at one pitch sweeps equal areas in equal times; the drawn ring is that share of the drawn disc."""
    plan = eye("usual")
    cut = cut_so_far(clock_of(plan), "lenticule", share)
    (ring,) = hatched({"data": cut_front.cut_rings(plan, cut, LIGHT, "", step_deg=0.5)}, LIGHT.option["lenticule"])
    whole = np.pi * float(plan.results["lenticule"].option.removal.radius_mm) ** 2
    assert area_of(ring) / whole == pytest.approx(share, rel=2e-3)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_the_disc_of_the_cap_grows_from_the_centre(share):
    plan = eye("decentred")
    cut = cut_so_far(clock_of(plan), "cap", share)
    (disc,) = hatched({"data": cut_front.cut_rings(plan, cut, LIGHT, "", step_deg=0.5)}, LIGHT.ink2)
    radius = np.hypot(np.array(disc["x"]) - 0.4, np.array(disc["y"]) - 0.3)  # the treatment centre of this plan
    cap = float(plan.results["lenticule"].option.cut_diameter_mm) / 2.0
    np.testing.assert_allclose(radius, cap * np.sqrt(share), atol=2e-4)


def test_nothing_cut_is_said_and_drawn_without_hatch():
    plan = eye("usual")
    cut = cut_so_far(clock_of(plan), "lenticule", 0.0)
    assert cut_front.cut_words(cut) == "nothing is cut yet"
    assert not [t for t in cut_front.cut_rings(plan, cut, LIGHT, "") if "fillpattern" in t]


@pytest.mark.parametrize("name", CUT)
@pytest.mark.parametrize("width", WIDTHS)
def test_the_order_has_four_steps_whose_times_add_up(name, width):
    plan = eye(name)
    clock = clock_of(plan)
    figure = cut_front.order_of_cuts(plan, clock, DARK, width)
    json.dumps(figure, allow_nan=False)
    said = " ".join(all_words(figure)).replace("<br>", " ")
    for title in ("1  Lenticule, outside in", "2  Its side cut", "3  Cap, inside out", "4  Incision"):
        assert title in said
    begins = [note["text"] for note in figure["layout"]["annotations"] if note["text"].startswith("from ")]
    assert len(begins) == 4 and begins[0].startswith("from 0.0 s")
    described = cut_front.describe_order(clock, plan)
    assert "drawn at 50 %: lenticule cut from" in described and "incision 100 %" in described


def test_the_incision_is_drawn_at_its_own_end_of_the_section():
    """Source: the incision's direction counts counter-clockwise from the viewer's right."""
    for towards, end in ((90.0, 1.0), (270.0, -1.0), (0.0, 1.0), (180.0, -1.0)):
        plan = compare(*EYES["usual"], cap=CapCut(incision_deg=towards))
        figure = cut_front.order_of_cuts(plan, clock_of(plan), LIGHT, 1076)
        last = [t for t in figure["data"] if t["xaxis"] == "x8" and t["line"].get("color") == LIGHT.option["lenticule"]]
        assert len(last) == 1 and all(np.sign(x) == end for x in last[0]["x"])


# --- rescue options -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CUT)
@pytest.mark.parametrize(("stage", "done"), MOMENTS)
def test_ways_out_are_strict_json_and_rounded(name, stage, done):
    plan = eye(name)
    found = rescue(plan, stage, done)
    figure = ways_out.ways_out(plan, found, "OS", DARK, 1076)
    json.dumps(figure, allow_nan=False)
    assert all(round(value, 4) == value for value in drawn_numbers(figure))
    assert "nan" not in " ".join(all_words(figure)).lower()


@pytest.mark.parametrize("name", CUT)
@pytest.mark.parametrize(("stage", "done"), MOMENTS)
@pytest.mark.parametrize("width", WIDTHS)
def test_no_label_of_a_way_out_covers_another(name, stage, done, width):
    plan = eye(name)
    _, placed, frame = ways_out.labelled(plan, rescue(plan, stage, done), width)
    apart(placed, frame)


@pytest.mark.parametrize("name", CUT)
@pytest.mark.parametrize(("stage", "done"), [("lenticule", 0.2), ("lenticule", 0.7), ("cap", 0.4)])
def test_the_mark_lies_between_the_drawn_planes(name, stage, done):
    """The marked number is the distance of the drawn old and new plane at that place, and nowhere on it is less."""
    plan = eye(name)
    for one in ways_out.labelled(plan, rescue(plan, stage, done), 1076)[0]:
        if one.mark is None or not one.outline.available:
            continue
        lower = one.route.way.id == "thicker-cap"
        gaps = []
        for x, y in one.old:
            if abs(x[-1] - x[0]) < 1e-9:
                continue  # a side cut
            at = np.linspace(x.min(), x.max(), 401)
            old = np.interp(at, *ways_out._rising(x, y))
            floor = np.interp(
                at, *(part[1:-1] for part in one.outline.floor), left=one.outline.cut_um, right=one.outline.cut_um
            )
            gaps.append((one.outline.cut_um - old if lower else old - floor).min())
        assert min(gaps) == pytest.approx(one.mark.value_um, abs=1.0)
        assert abs(one.mark.bottom_um - one.mark.top_um) == pytest.approx(abs(one.mark.value_um))


def test_a_black_and_white_print_tells_old_from_new():
    """Old planes solid ink without hatch; each new plan its option's dash and a hatch."""
    plan = eye("usual")
    figure = ways_out.ways_out(plan, rescue(plan, "lenticule", 0.44), "OD", LIGHT, 1076)
    old = [t for t in figure["data"] if t.get("line", {}).get("width") == 2.4 and t["line"]["color"] == LIGHT.ink]
    assert len(old) == 3 and all(t["line"]["dash"] == "solid" and t.get("fill") is None for t in old)
    for name, count in (("flap", 1), ("lenticule", 2)):
        areas = [t for t in hatched(figure, LIGHT.option[name]) if t["xaxis"] == "x2"]
        assert len(areas) == count and all(t["line"]["dash"] == DASH[name] for t in areas)


def test_ways_out_in_words_with_their_numbers():
    """The figures are those of the arithmetic of this eye."""
    plan = eye("usual")
    found = rescue(plan, "lenticule", 0.44)
    said = ways_out.describe_ways_out(plan, found, "OD")
    flap = found.routes[0]
    assert f"Flap: cut at {float(flap.cut_um):.0f}, removed {float(flap.removal_central_um):.0f}" in said
    assert f"clearance {float(flap.clearance.value):.0f}, 3.3 mm temporal" in said


def test_a_way_without_room_is_drawn_without_figures():
    """A re-cut over the thickest cap has a sentence and no bed in the picture."""
    plan = compare(*EYES["usual"], cap=CapCut(cap_um=160.0))
    found = rescue(plan, "lenticule", 1.0)
    assert [r.way.id for r in found.routes if not r.available] == ["thicker-cap"]
    words = all_words(ways_out.ways_out(plan, found, "OD", LIGHT, 1076))
    assert words.count(NO_FIGURES) == 1
    assert "Thicker cap: no figures, It would need a cap of" in ways_out.describe_ways_out(plan, found, "OD")


# --- the table under the sections -------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("narrow", [False, True])
def test_the_columns_fill_the_width(count, narrow):
    c = columns(count, narrow)
    assert c.starts[-1] + c.each == pytest.approx(1.0 if count > 1 else (1.0 + c.measure - c.gap) / 2.0)


@pytest.mark.parametrize(("stage", "done"), MOMENTS)
def test_the_table_of_ways_judges_nothing_and_names_where_each_is_described(stage, done):
    plan = eye("usual")
    found = rescue(plan, stage, done)
    html = route_tables.ways_table(found.routes, plan, "OD", False, route_tables.CLEARANCE[0])
    assert not [word for word in VERDICTS if f" {word} " in html.lower()]
    for route in found.routes:
        assert route.way.what in html and html.count("Described in") == 1
    assert html.count("<sup>†</sup>") == sum(r.option.name == "lenticule" and r.available for r in found.routes)


def test_no_share_after_two_acts_is_without_its_mark():
    plan = eye("usual")
    found = enhancement(plan, RESIDUALS[0])
    html = route_tables.ways_table(found.routes, plan, "OD", False, "", later=True)
    assert html.count("<sup>†</sup>") == sum(route.available for route in found.routes) == 3


def test_a_margin_of_none_and_a_flap_as_thick_as_the_cap_are_drawn():
    """Limits: a cap equal to the flap, a margin of 0."""
    plan = compare(
        *EYES["usual"], flap=FlapCut(120.0, rescue_flap_um=120.0), cap=CapCut(120.0), judgement=Judgement(margin_um=0.0)
    )
    for stage in STAGES:
        found = rescue(plan, stage, 1.0)
        json.dumps(ways_out.ways_out(plan, found, "OD", LIGHT, 1076), allow_nan=False)
