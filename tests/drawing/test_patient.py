"""The patient's pictures: true to the plan in every step, labels apart and clear of lines, bars to scale."""

import json
from itertools import combinations, product

import numpy as np
import pytest
from drawn_eyes import EYES, eye, plans
from figures_read import all_words
from hypothesis import given, settings

from tissue import CapCut, Cornea, FlapCut, Refraction, Treatment, compare
from tissue.drawing.base.outline import half_width_mm
from tissue.drawing.base.palette import look
from tissue.drawing.patient import bars as explain_bars
from tissue.drawing.patient import picture as explain
from tissue.drawing.patient.language import words
from tissue.drawing.patient.picture import placed
from tissue.drawing.patient.place import meridian_deg
from tissue.drawing.patient.plane import FACTOR
from tissue.drawing.patient.steps import pictures
from tissue.drawing.patient.words import STEPS, WAYS, story

LIGHT, DARK = look("light"), look("dark")
DRAWN = [name for name in EYES if name not in ("none", "gone")]
CASES = list(product(DRAWN, WAYS))


def numbers_in(figure):
    """Every number of the traces of a figure."""
    for trace in figure["data"]:
        for axis in "xy":
            yield from (value for value in trace[axis] if value is not None)


def size_of(points):
    """Area of a polygon [mm²] by the shoelace formula."""
    x, y = points
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2.0


def strokes(picture, role):
    return [one.points for one in picture.strokes if one.role == role]


def areas(picture, tissue):
    return [one.points for one in picture.areas if one.tissue == tissue]


def height_at(points, x):
    """Height of a polygon at x: where its lower and its upper side cross it."""
    (px, py), crossings = points, []
    for (x0, y0), (x1, y1) in zip(np.c_[px, py], np.c_[np.roll(px, -1), np.roll(py, -1)], strict=True):
        if (x0 - x) * (x1 - x) < 0:
            crossings.append(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
    return max(crossings) - min(crossings)


def scale_of(plan):
    return min(explain.PX_PER_MM, (explain.WIDTH_PX - 2.0 * explain.SIDE_PX) / (2.0 * half_width_mm(plan)))


def labelled(plan, way, step):
    """Labels and leaders of one step, and the Picture with its scale."""
    drawn = pictures(plan, way)[1]
    scale = scale_of(plan)
    return *placed(drawn[step], story(plan, way, "OD"), step, scale, explain.WIDTH_PX / 2.0), drawn[step], scale


# --- as the arithmetic says -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", DRAWN)
def test_width_and_front_are_to_scale_and_thickness_is_four_times(name):
    """Definitions: the front is the conic of the cornea; the thickness in the middle is that of the map, times four."""
    plan = eye(name)
    outline, drawn = pictures(plan, "surface")
    x, y = strokes(drawn["before"], "front")[0]
    sag = plan.cornea.front_mm(*outline.meridian.place(x))
    np.testing.assert_allclose(y, sag - plan.cornea.front_mm(*outline.meridian.place(0.0)), atol=1e-9)
    measure = strokes(drawn["before"], "measure")[0]
    centre = plan.treatment.centre_x_mm, plan.treatment.centre_y_mm
    assert np.ptp(measure[1]) * 1000.0 == pytest.approx(4.0 * float(plan.cornea.thickness_um(*centre)))
    assert FACTOR == 4.0 and "four times" in words("en")["page"]["scale"]


@pytest.mark.parametrize("name", DRAWN)
@pytest.mark.parametrize(("way", "step"), [("surface", "out"), ("lenticule", "cut"), ("lenticule", "out")])
def test_the_piece_is_as_thick_as_what_is_removed(name, way, step):
    """Height of the piece in the middle, in its place or lifted: the removal at the treatment centre, times four."""
    plan = eye(name)
    piece = areas(pictures(plan, way)[1][step], "removed")[0]
    removed = float(plan.results[way].option.removal.r_um(plan.treatment.centre_x_mm, plan.treatment.centre_y_mm))
    assert height_at(piece, 1e-6) * 1000.0 / FACTOR == pytest.approx(removed, abs=0.6)


@pytest.mark.parametrize("name", DRAWN)
def test_what_is_lifted_out_fills_the_gap_it_leaves(name):
    """Law: the piece is moved, not changed: its area is that of the gap, or what the bed under the flap has lost."""
    inside = pictures(eye(name), "lenticule")[1]["out"]
    assert size_of(areas(inside, "removed")[0]) == pytest.approx(size_of(areas(inside, "gap")[0]))
    under = pictures(eye(name), "flap")[1]
    missing = size_of(areas(under["cut"], "stroma")[0]) - size_of(areas(under["out"], "stroma")[0])
    assert size_of(areas(under["out"], "removed")[0]) == pytest.approx(missing, rel=0.01)


@pytest.mark.parametrize(("name", "way"), CASES)
def test_what_stays_is_the_cornea_less_what_was_taken(name, way):
    """Law: the area of the cornea before, less that of the piece, is the area after, but for the eased rim."""
    plan = eye(name)
    drawn = pictures(plan, way)[1]
    before, after = (size_of(areas(drawn[step], "stroma")[0]) for step in ("before", "stays"))
    x, y = strokes(drawn["stays"], "front")[0]
    taken = plan.results[way].option.removal
    centre = plan.treatment.centre_x_mm, plan.treatment.centre_y_mm
    assert float(np.interp(0.0, x, y)) * 1000.0 / FACTOR == pytest.approx(float(taken.r_um(*centre)), abs=0.5)
    piece = size_of(areas(drawn["cut" if way == "lenticule" else "out"], "removed")[0])
    assert before - after == pytest.approx(piece, rel=0.12)


@pytest.mark.parametrize("hinge", [0.0, 45.0, 90.0, 135.0, 180.0, 270.0])
def test_the_flap_stays_joined_at_its_hinge_and_opens_at_the_other_end(hinge):
    """Source: the hinge's direction counts counter-clockwise from the viewer's right."""
    plan = compare(*EYES["usual"], flap=FlapCut(hinge_deg=hinge))
    outline, drawn = pictures(plan, "flap")
    fronts = strokes(drawn["cut"], "front")
    ends = np.array([stroke[:, i] for stroke in fronts for i in (0, -1)])
    at_hinge = ends[np.abs(ends[:, 0] - outline.hinge_mm) < 1e-6]
    assert np.ptp(np.sort(at_hinge[:, 1])[:2]) < 1e-6  # the flap's upper face goes on into the front surface
    top = min(float(stroke[1].min()) for stroke in fronts)
    free = next(stroke for stroke in fronts if float(stroke[1].min()) == top)
    away = free[0][np.argmin(free[1])]
    assert np.sign(away - outline.hinge_mm) == -np.sign(outline.hinge_mm)
    assert -3.0 < top < -1.5


@pytest.mark.parametrize("side", ["OD", "OS"])
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("axis", [0.0, 30.0, 60.0, 90.0, 120.0, 150.0])
def test_a_piece_thickest_off_the_middle_is_drawn_where_it_is_so(axis, way, side):
    """The picture, its label, the step, the bar and the alternative texts name one place and one number.

    Found by hand: the power is greatest along the axis in minus form, so a mixed eye loses most along it.
    """
    plan = compare(Cornea(540.0), Treatment(Refraction(2.0, -4.0, axis)))
    told, drawn = story(plan, way, side), pictures(plan, way)[1]
    assert meridian_deg(plan, way) == pytest.approx(axis % 180.0, abs=1e-6)
    piece = areas(drawn["out"], "removed")[0]
    thickest = max(height_at(piece, x) for x in np.linspace(-3.5, 3.5, 281) + 1e-6)
    most = float(plan.results[way].budget.removal_max_um)
    if way != "flap":  # there the piece is turned with the flap
        assert thickest * 1000.0 / FACTOR == pytest.approx(most, abs=1.5)
    towards = np.cos(np.radians(axis)), np.sin(np.radians(axis))
    nose = towards[0] if side == "OD" else -towards[0]
    wanted = "across" if axis < 22.5 else "upright" if 67.5 < axis < 112.5 else "nose_up" if nose > 0 else "ear_up"
    assert told.place == wanted
    said = f"{most / 1000.0:.2f} mm"
    labels = [one.text for one in placed(drawn["out"], told, "out", 48.0, explain.WIDTH_PX / 2.0)[0]]
    assert f"at most {said}, {told.where}" in labels
    for text in (told.steps[2][1], explain.describe_section(told, "out"), explain_bars.describe_bars(told)):
        assert said in text and told.where in text
    assert "away from the middle" not in told.steps[2][1]


def test_the_section_runs_through_hinge_or_opening():
    plan = compare(*EYES["usual"], flap=FlapCut(hinge_deg=200.0), cap=CapCut(incision_deg=120.0))
    assert [meridian_deg(plan, way) for way in WAYS] == [90.0, 20.0, 120.0]
    assert "hinge" in pictures(plan, "flap")[1]["cut"].places
    assert "opening" in pictures(plan, "lenticule")[1]["cut"].places


@pytest.mark.parametrize(("side", "ends"), [("OD", ["ear side", "nose side"]), ("OS", ["nose side", "ear side"])])
def test_the_ends_are_named_in_everyday_words(side, ends):
    """Seen from the front a right eye's nose is at the viewer's right."""
    plan = compare(*EYES["usual"], flap=FlapCut(hinge_deg=0.0))
    assert explain.end_words(pictures(plan, "flap")[0].meridian, side) == ends
    assert explain.end_words(pictures(plan, "surface")[0].meridian, side) == ["lower side", "upper side"]


def test_a_way_that_leaves_nothing_is_drawn_as_it_is_today():
    for name, way in (("gone", "flap"), ("none", "surface")):
        assert list(pictures(eye(name), way)[1]) == ["before"]
        figure = explain.step_section(story(eye(name), way, "OD"), "stays", LIGHT)
        assert figure == explain.step_section(story(eye(name), way, "OD"), "before", LIGHT)
        assert "Picture 1 of 1" in explain.describe_section(story(eye(name), way, "OD"), "stays")


# --- as a picture -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "way"), CASES)
@pytest.mark.parametrize("step", STEPS)
def test_pictures_are_strict_json_and_rounded(name, way, step):
    figure = explain.step_section(story(eye(name), way, "OS"), step, DARK)
    json.dumps(figure, allow_nan=False)
    assert all(round(value, 4) == value for value in numbers_in(figure))
    assert figure["layout"]["width"] == explain.WIDTH_PX


@pytest.mark.parametrize(("name", "way"), CASES)
@pytest.mark.parametrize("step", STEPS)
def test_labels_are_apart_inside_and_clear_of_lines(name, way, step):
    """Source: rules of the pictures: labels never collide; no line runs through a word."""
    labels, _, picture, scale = labelled(eye(name), way, step)
    for one, other in combinations(labels, 2):
        assert not one.box.overlaps(other.box), (one.text, other.text)
    for one in labels:
        assert one.box.left > -explain.WIDTH_PX / 2.0 and one.box.right < explain.WIDTH_PX / 2.0
        assert one.box.top > -explain.least_head_px(story(eye(name), way, "OD"))
        for stroke in picture.strokes:
            if stroke.role in ("front", "back", "cut", "floor"):
                x, y = stroke.points * scale
                inside = (x > one.box.left) & (x < one.box.right) & (y > one.box.top) & (y < one.box.bottom)
                assert not inside.any(), (one.text, stroke.role)


@settings(max_examples=12)
@given(plans())
def test_any_plan_is_drawn_with_its_labels_inside(plan):
    for way in WAYS:
        for step in pictures(plan, way)[1]:
            labels, leaders, _, _ = labelled(plan, way, step)
            figure = explain.step_section(story(plan, way, "OD"), step, LIGHT)
            json.dumps(figure, allow_nan=False)
            assert all(abs(one.x_px) <= explain.WIDTH_PX / 2.0 for one in labels)
            assert all(np.isfinite(one.points).all() for one in leaders)
        json.dumps(explain_bars.bars(story(plan, way, "OD"), LIGHT), allow_nan=False)


def test_only_the_cut_and_the_piece_have_the_colour_of_the_way():
    """Source: rule of the pictures: colour means which option, and is never on text."""
    for way in WAYS:
        figure = explain.step_section(story(eye("usual"), way, "OD"), "out", LIGHT)
        coloured = [t for t in figure["data"] if t.get("line", {}).get("color") == LIGHT.option[way]]
        assert len(coloured) in (2, 3)
        texts = [t for t in figure["data"] if t["mode"] == "text"]
        assert {colour for t in texts for colour in t["textfont"]["color"]} == {LIGHT.ink, LIGHT.ink2}


def test_large_enough_to_be_read_from_two_metres():
    """Source: sizes of the patient's screen: figure labels 19 px, small ones 17."""
    figure = explain.step_section(story(eye("usual"), "flap", "OD"), "out", LIGHT)
    sizes = [size for t in figure["data"] if t["mode"] == "text" for size in t["textfont"]["size"]]
    assert set(sizes) == {19, 17}
    bars = explain_bars.bars(story(eye("usual"), "flap", "OD"), LIGHT)
    assert {size for t in bars["data"] if t["mode"] == "text" for size in t["textfont"]["size"]} == {17}


def test_a_picture_that_is_not_to_scale_says_so():
    for way, step in product(WAYS, STEPS):
        assert words("en")["page"]["scale"] in all_words(
            explain.step_section(story(eye("usual"), way, "OD"), step, LIGHT)
        )


@pytest.mark.parametrize(("name", "way"), CASES)
def test_the_alternative_text_has_the_numbers(name, way):
    told = story(eye(name), way, "OS")
    said = explain.describe_section(story(eye(name), way, "OS"), "stays")
    assert told.figures["bed"] in said and "left eye" in said and f"Picture 4 of 4: {told.steps[3][0]}" in said
    assert all(
        told.figures[key] in explain_bars.describe_bars(story(eye(name), way, "OD")) for key in ("today", "cut", "bed")
    )


# --- bars -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "way"), CASES)
def test_bars_are_to_scale_and_hang_from_one_line(name, way):
    """Card 0.76 mm (ISO/IEC 7810), paper 0.1 mm, the cornea as thick as it was measured."""
    figure = explain_bars.bars(story(eye(name), way, "OD"), LIGHT)
    boxes = {}
    for trace in figure["data"]:
        if trace.get("fill"):
            boxes.setdefault(trace["x"][0], []).append((min(trace["y"]), max(trace["y"])))
    heights = [max(bottom for _, bottom in found) for found in boxes.values()]
    wanted = [760.0, 100.0, float(eye(name).cornea.central_thickness_um)]
    np.testing.assert_allclose(heights, np.array(wanted) * explain_bars.PX_PER_UM, atol=1e-3)
    assert all(min(top for top, _ in found) == 0.0 for found in boxes.values())


@pytest.mark.parametrize(("name", "way"), CASES)
def test_labels_of_the_bars_are_apart(name, way):
    places = explain_bars.label_places(explain_bars.parts(story(eye(name), way, "OD")), explain_bars.PX_PER_UM, 25.0)
    assert min(np.diff(places)) >= 25.0
