"""The patient's page: to scale by the document's own coordinates, one page, the plan's figures, no words over words."""

import io
import re
from functools import cache
from itertools import combinations, product
from pathlib import Path

import numpy as np
import pypdf
import pytest
from drawn_eyes import eye
from page_lines import MM, lines_of
from pypdf.generic import ContentStream

from tissue.command import load
from tissue.drawing.base.labels import Box
from tissue.drawing.patient.words import PAGE, STANDING, WAYS, story
from tissue.paper.handout import handout
from tissue.paper.page import FOOT_MM, RIGHT_MM, Paper, text_width_mm
from tissue.report.measures import STANDING_LINE

DEMOS = sorted(str(path) for path in Path("demo_profiles").glob("*.toml"))
LONG = [path for path in DEMOS if "-03" in path or "-05" in path or "-06" in path]  # myopia, mixed, hyperopia
CASES = [*product(LONG, WAYS), *zip([path for path in DEMOS if path not in LONG], [*WAYS, *WAYS], strict=False)]


def eyes_of(path):
    """Code and Comparisons by side of a demo plan."""
    code, eyes = load(path)
    return code, {side: one[1] for side, one in eyes.items()}


@cache
def made(path=DEMOS[2], way="lenticule", sides=("OD", "OS")):
    """The page of a demo plan: as a reader, its bytes, its eyes, and a box of every text on it."""
    code, eyes = eyes_of(path)
    eyes = {side: eyes[side] for side in sides if side in eyes}
    found, boxes = boxes_of(code, eyes, way, "2026-11-25", True)
    return pypdf.PdfReader(io.BytesIO(found)), found, eyes, boxes


def boxes_of(*arguments):
    """The bytes of a page, and a box of every text on it [mm], the one at the foot apart."""
    boxes, plain = [], Paper.text

    def noted(paper, x, y, text, size_pt=8.6, font="sans", align="left", grey=0.0):
        width = text_width_mm(text, size_pt, font)
        left = x - {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * width
        if y < FOOT_MM:
            boxes.append((Box(left, y - 0.5 * size_pt / MM, left + width, y + 0.1 * size_pt / MM), text))
        plain(paper, x, y, text, size_pt, font, align, grey=grey)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Paper, "text", noted)
        return handout(*arguments), boxes


def text_of(reader):
    return " ".join(reader.pages[0].extract_text().split())


@pytest.mark.parametrize(("path", "way"), CASES)
def test_one_page_with_selectable_text_and_the_patients_standing_line(path, way):
    reader, _, eyes, _ = made(path, way)
    assert len(reader.pages) == 1
    said = text_of(reader)
    assert STANDING in said and STANDING_LINE not in said
    heads = ("scale", "bars", "known", "held", "unknown", "questions", "missing", "own_questions", "invented")
    assert all(PAGE[name] in said for name in heads)
    for side, comparison in eyes.items():
        told = story(comparison, way)
        assert PAGE["eyes"][side].capitalize() in said and told.name in said
        for head, sentence in told.steps:
            assert head in said and sentence in " ".join(said.split())
        assert all(text in said for text in (*told.known, told.unknown, told.missing, *told.questions, told.why_not))


@pytest.mark.parametrize(("path", "way"), CASES)
def test_bars_and_pictures_have_the_stated_scales(path, way):
    """A bar of 1 mm across and of 0.2 mm of thickness, and the cornea itself, as long as stated; within 0.05 mm."""
    reader, _, eyes, _ = made(path, way)
    said, drawn = text_of(reader), lines_of(reader.pages[0], reader)
    across = [float(one) for one in re.findall(r"1 mm across \(([\d.]+) : 1\)", said)]
    down = [float(one) for one in re.findall(r"0.2 mm of thickness \(([\d.]+) : 1\)", said)]
    bars = [points for width, points in drawn if width == 1.0 and len(points) == 3]
    assert len(bars) == len(across) == len(down) == len(eyes)
    for bar, wide, deep in zip(bars, across, down, strict=True):
        assert np.ptp(bar[:, 0]) == pytest.approx(wide, abs=0.05)
        assert np.ptp(bar[:, 1]) == pytest.approx(0.2 * deep, abs=0.05)
        assert deep == pytest.approx(4.0 * wide, abs=0.1)
    measures = [p for width, p in drawn if width == 0.5 and len(p) == 2 and np.ptp(p[:, 0]) < 1e-6]
    assert len(measures) == len(eyes)
    for line, comparison in zip(measures, eyes.values(), strict=True):
        centre = comparison.treatment.centre_x_mm, comparison.treatment.centre_y_mm
        thickness = float(comparison.cornea.thickness_um(*centre)) / 1000.0
        assert np.ptp(line[:, 1]) == pytest.approx(down[0] * thickness, abs=0.05)


def test_bars_of_thickness_share_one_scale():
    """Card 0.76 mm (ISO/IEC 7810), paper 0.1 mm and the cornea: heights of their boxes as their thicknesses."""
    reader, _, eyes, _ = made(DEMOS[2], "flap", ("OD",))
    boxes = [p for width, p in lines_of(reader.pages[0], reader) if width == 0.6 and len(p) == 5]
    heights = sorted({round(float(np.ptp(box[:, 1])), 2) for box in boxes}, reverse=True)
    today = float(eyes["OD"].cornea.central_thickness_um)
    assert heights[1] / heights[0] == pytest.approx(today / 760.0, abs=0.002)
    assert any(abs(height / heights[0] - 100.0 / 760.0) < 0.002 for height in heights)


def test_the_right_eye_stands_on_the_left():
    """Source: rule of every page: right eye on the left of the page, left eye on the right."""
    found = {}

    def look_for(text, _, tm, *__):
        found.setdefault(text.strip(), tm[4] / MM)

    made()[0].pages[0].extract_text(visitor_text=look_for)
    assert found["Right eye"] < 30.0 and found["Left eye"] > 100.0


def test_the_same_input_gives_the_same_bytes():
    code, eyes = eyes_of(DEMOS[2])
    assert handout(code, eyes, "lenticule", "2026-11-25", True) == made()[1] != made(DEMOS[2], "flap")[1]


def test_black_and_white_only():
    reader, *_ = made()
    operators = {operator for _, operator in ContentStream(reader.pages[0].get_contents(), reader).operations}
    assert operators & {b"rg", b"RG", b"k", b"K", b"sc", b"SC", b"scn", b"SCN"} == set()


def test_fonts_are_embedded():
    fonts = made()[0].pages[0]["/Resources"]["/Font"]
    embedded = [one.get_object() for one in fonts.values() if one.get_object()["/Subtype"] == "/TrueType"]
    assert len(embedded) >= 3 and all("/FontFile2" in one["/FontDescriptor"] for one in embedded)


def apart(boxes):
    for (one, text), (other, also) in combinations(boxes, 2):
        assert not one.overlaps(other), (text, also)
    for box, text in boxes:
        assert box.right < RIGHT_MM + 0.6 and box.bottom < FOOT_MM - 1.0, text


@pytest.mark.parametrize(("path", "way"), CASES)
def test_no_text_lies_over_another_or_under_the_foot(path, way):
    apart(made(path, way)[3])


@pytest.mark.parametrize("name", ["far", "wide", "gone"])
@pytest.mark.parametrize("way", WAYS)
def test_unusual_eyes_find_room(name, way):
    apart(boxes_of("", {"OD": eye(name), "OS": eye("mixed")}, way)[1])


def test_one_eye_has_its_four_pictures_in_a_row():
    boxes = made(DEMOS[2], "flap", ("OD",))[3]
    apart(boxes)
    heads = [box for box, text in boxes if re.match(r"[1-4]  ", text)]
    assert len(heads) == 4 and len({round(box.top, 3) for box in heads}) == 1
    assert [box.left for box in heads] == sorted(box.left for box in heads)


def test_a_way_that_leaves_nothing_says_why():
    page = handout("", {"OD": eye("gone")}, "flap")
    assert "leave nothing below the cut" in text_of(pypdf.PdfReader(io.BytesIO(page)))


def test_there_is_room_to_write():
    """Every question has a line of its own under it, and at least one stands under the reader's own."""
    reader, *_ = made(DEMOS[5], "flap")
    lines = [
        p for width, p in lines_of(reader.pages[0], reader) if width == 0.3 and len(p) == 2 and np.ptp(p[:, 0]) > 80
    ]
    assert len(lines) >= 5
