"""The printed record: to scale by the document's own coordinates, whole, and the same from the plan inside it."""

import io
import re
from types import SimpleNamespace

import numpy as np
import pypdf
import pytest
from helpers import ROOT
from page_lines import lines_of
from tagged_page import operations_of

from tissue import Cornea, Judgement, Refraction, Treatment, compare
from tissue.command.command import main
from tissue.command.loading import load
from tissue.entry.fields import fields
from tissue.paper import suction_page
from tissue.paper.eye import draw_map
from tissue.paper.record import record
from tissue.paper.record_words import PHRASES
from tissue.paper.suction_page import plan_b
from tissue.report.contract import plan_as_dict
from tissue.report.measures import STANDING_LINE

SHOWN_ABOVE = ("refraction", "sphere_D", "cylinder_D", "axis_deg", "central_thickness_um", "thinnest_um")
DEMO = "demo_profiles/harbour-03_moderate_myopia.toml"
DEMOS = [DEMO, "demo_profiles/harbour-05_mixed_astigmatism.toml", "demo_profiles/harbour-06_hyperopia.toml"]


def made(path=DEMO):
    """The record of a demo plan, as a reader, with its bytes."""
    code, eyes = load(path)
    with open(path, "rb") as file:
        data = record(code, eyes, file.read(), "plan.toml", "2026-11-25")
    return pypdf.PdfReader(io.BytesIO(data)), data, eyes


def scales(text):
    """Width and depth scale as stated on the page."""
    depth = [float(value) for value in re.findall(r"depth \((\d+) : 1\)", text)]
    across = [float(value) for value in re.findall(r"width \(([\d.]+) : 1\)", text)]
    return across, depth


@pytest.mark.parametrize("path", DEMOS)
def test_bars_and_dimension_lines_have_the_stated_length(path):
    """A bar of 1 mm is as long as the scale says, a dimension line as long as the cornea is thick; within 0.2 mm."""
    reader, _, eyes = made(path)
    page = reader.pages[0]
    across, _ = scales(page.extract_text())
    drawn = lines_of(operations_of(reader))
    bars = [points for width, points in drawn if width == 1.0 and len(points) == 3]
    assert len(bars) == len(eyes)
    columns = sorted(eyes)
    for side, bar, stated in zip(columns, bars, across, strict=True):
        deep, wide = np.ptp(bar[:, 1]), np.ptp(bar[:, 0])
        assert abs(wide - stated) < 0.2
        left = 14.0 if side == "OD" else 110.0
        dimension = [
            p
            for width, p in drawn
            if width == 0.6 and len(p) == 2 and np.ptp(p[:, 0]) < 1e-6 and 20.0 < np.ptp(p[:, 1]) < 28
        ]
        mine = [p for p in dimension if left < p[0, 0] < left + 86.0]
        assert len(mine) == 3
        comparison = eyes[side][1]
        thickness = float(
            comparison.cornea.thickness_um(comparison.treatment.centre_x_mm, comparison.treatment.centre_y_mm)
        )
        for line in mine:
            assert abs(np.ptp(line[:, 1]) - thickness * deep / 100.0) < 0.2


def test_one_page_for_two_eyes_with_selectable_text_and_the_standing_line():
    reader, _, _ = made()
    text = " ".join(reader.pages[0].extract_text().split())
    assert len(reader.pages) == 1
    for words in (
        "Record of a plan",
        "OD (right eye)",
        "OS (left eye)",
        "read −6.00 −1.25 × 170",
        "or −7.25 +1.25 × 80",
    ):
        assert words in text
    assert STANDING_LINE in text
    assert "Tomography seen" in text and "Age and stability seen" in text


def words_at(page):
    """Words of a page with their places from its lower left corner [pt], in the order of the page."""
    found = []
    page.extract_text(visitor_text=lambda text, _, at, *__: found.append((text.strip(), at[4], at[5])))
    return [one for one in found if one[0]]


def test_every_row_of_figures_says_both_eyes_at_its_ends_and_keeps_them_apart():
    """Source: the document of the desk, 2: a wide gap, and the side at both ends of each row."""
    words = words_at(made()[0].pages[0])
    rows = {y for text, _, y in words if text == "OD"}
    assert len(rows) == 11 == len({y for text, _, y in words if text == "OS"})
    for row in rows:
        line = sorted((x, text) for text, x, y in words if y == row)
        texts = [text for _, text in line if text != "†"]
        assert texts[1] == "OD" and texts[-1] == "OS" and len(texts) == 9
    starts = [x for text, x, y in words if text in ("flap", "lenticule", "OS surface", "OD surface")]
    right, left = starts[-6:-3], starts[-3:]
    assert left[0] - right[2] > 1.4 * (right[2] - right[1])


def test_the_same_input_gives_the_same_bytes():
    assert made()[1] == made()[1]


@pytest.mark.parametrize("path", DEMOS)
def test_the_plan_inside_gives_the_same_figures_again(path, tmp_path):
    reader, _, eyes = made(path)
    inside = reader.attachments["plan.toml"][0]
    with open(path, "rb") as file:
        assert inside == file.read()
    again = tmp_path / "again.toml"
    again.write_bytes(inside)
    code, anew = load(str(again))
    assert plan_as_dict(code, anew) == plan_as_dict(code, eyes)


def test_every_input_has_its_place_on_the_page():
    """No value that stands behind a figure is left out of the record."""
    named = {name for _, *names in PHRASES for name in names} | set(SHOWN_ABOVE)
    assert named == set(fields())


def test_values_used_are_on_the_page():
    text = " ".join(made()[0].pages[0].extract_text().split())
    for words in (
        "vertex 12* mm",
        "epithelium 53* µm",
        "zone 6.5 mm",
        "K 43.25 D",
        "line 250* µm",
        "lenticule −12.1* ± 9.8*",
        "gain of the epithelium 0* ± 3.3*",
    ):
        assert words in text, words


def test_fonts_are_embedded():
    reader, _, _ = made()
    fonts = reader.pages[0]["/Resources"]["/Font"]
    used = [font.get_object() for font in fonts.values()]
    assert len(used) >= 4
    assert all("/FontFile2" in font["/FontDescriptor"] for font in used)


def test_command_writes_whole_or_not_at_all(tmp_path, capsys):
    out = tmp_path / "record.pdf"
    assert main(["record", DEMO, str(out), "--date", "2026-11-25"]) == 0
    assert out.read_bytes()[:5] == b"%PDF-"
    assert main(["record", DEMO, str(tmp_path / "no" / "folder.pdf")]) == 2
    assert "accepted" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["record.pdf"]


@pytest.mark.parametrize("path", DEMOS)
def test_plan_b_page_names_every_stage_and_another_day(path):
    code, eyes = load(path)
    data = plan_b(code, {side: eye[1] for side, eye in eyes.items()}, "2026-11-25")
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())
    stages = ("Lenticule cut, 10 % done", "Lenticule side cut", "Cap cut, half done", "Incision")
    for words in ("Stopping here and planning again another day remains an option.", STANDING_LINE, *stages):
        assert words in text
    assert data == plan_b(code, {side: eye[1] for side, eye in eyes.items()}, "2026-11-25")


def test_every_sheet_for_every_demo_says_whose_it_is():
    """Four of the invented eyes have more notices than the first sheet has room for."""
    counted = []
    for path in sorted((ROOT / "demo_profiles").glob("*.toml")):
        code, eyes = load(str(path))
        data = plan_b(code, {side: eye[1] for side, eye in eyes.items()}, "2026-11-25")
        texts = [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(data)).pages]
        assert all(code in text and "2026-11-25 version 0.2.0" in text for text in texts), path
        assert all("If suction is lost, notes" in text for text in texts[1:]), path
        counted.append(len(texts))
    assert set(counted) == {1, 2} and counted.count(2) >= 4


def test_plan_b_page_of_an_eye_whose_cap_is_cut_first():
    """Its stages in their order, each on the paper once, none in the foot of a page; the order is said."""
    first, other = (
        compare(Cornea(560.0), Treatment(Refraction(D)), judgement=Judgement(cut_order=order))
        for D, order in ((-9.0, "cap-first"), (3.0, "lenticule-first"))
    )
    pages = pypdf.PdfReader(io.BytesIO(plan_b("harbour-x", {"OD": first, "OS": other}, "2026-11-25"))).pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    assert len(pages) == 2 and "the cap is cut first; seconds at which each cut ends: cap 13.6" in texts[0]
    assert "No published source says what is usual when suction is lost in this order of cuts." in texts[1]
    assert texts[0].count("Cap cut, half done, ") == 2 and "OS (left" not in texts[1]
    places = [
        texts[1].index(name) for name in ("10 % done", "50 % done", "all done", "Lenticule side cut", "Incision,")
    ]
    assert places == sorted(places) and "Lenticule cut, 5 % done, 14.1 s" in texts[0]
    _has_the_plan_on_every_sheet(texts, "harbour-x", "−9.00")
    low = []
    for page in pages:
        page.extract_text(
            visitor_text=lambda text, cm, tm, font, size: low.append((tm[5], text)) if text.strip() else 0
        )
    foot = max(y for y, text in low if "For planning discussion" in text)
    assert min(y for y, text in low if "flap keeps" in text or "no flap" in text) > foot + 5.0


def _has_the_plan_on_every_sheet(texts, code, refraction):
    """A loose sheet of an older plan can be told from it: code, date, version, and the plan of each eye on it."""
    for words in (code, "2026-11-25 version 0.2.0", refraction, "cap 120 lenticule"):
        assert all(words in text for text in texts), words
    assert "the cap is cut first" in texts[0] and "cap first" in texts[1]


@pytest.mark.parametrize(("order", "sheets"), [("cap-first", 3), ("lenticule-first", 2)])
def test_loose_sheets_of_a_page_say_whose_they_are(monkeypatch, order, sheets):
    """Two eyes without a code; with lines so far apart the notes go on to a third sheet, or a second."""
    monkeypatch.setattr(suction_page, "NOTE_STEP_MM", 6.0)
    judgement = Judgement(cut_order=order, bed_line_um=440.0)
    eyes = {
        side: compare(Cornea(560.0), Treatment(Refraction(D, -0.5, 20.0)), judgement=judgement)
        for side, D in (("OD", -9.0), ("OS", -3.0))
    }
    texts = [
        " ".join(page.extract_text().split())
        for page in pypdf.PdfReader(io.BytesIO(plan_b("", eyes, "2026-11-25"))).pages
    ]
    if order == "cap-first":
        _has_the_plan_on_every_sheet(texts[:2], "no code given", "−3.00 −0.50 × 20")
    assert len(texts) == sheets
    for words in ("If suction is lost, notes", "no code given", "2026-11-25", "version 0.2.0"):
        assert words in texts[-1]


def test_a_loose_sheet_of_a_record_says_whose_it_is(monkeypatch):
    """A record whose notes go on: the code, or that there is none, with date, version and input as on its first."""
    monkeypatch.setattr("tissue.paper.record.NOTE_STEP_MM", 12.0)
    for code in ("harbour-x", ""):
        _, eyes = load(DEMO)
        pages = pypdf.PdfReader(io.BytesIO(record(code, eyes, b"", "plan.toml", "2026-11-25"))).pages
        first, more = (" ".join(page.extract_text().split()) for page in pages[:2])
        head = re.search(r"\S+ input [0-9a-f ]{14}", first).group()
        assert "Record of a plan, notes continued" in more and f"{head} 2026-11-25" in more
        assert (code or "no code given") in more


def test_a_map_of_the_eye_is_drawn_over_its_front_view_and_told():
    """Source: rule of maps: what is not measured is hatched and said; how the map lies, who confirmed it is printed."""
    with_map = made("demo_profiles/harbour-10_thinner_below_centre.toml")
    text = " ".join(with_map[0].pages[0].extract_text().split())
    assert "thickness by the map, every 20 µm" in text and "hatched: not measured" in text
    assert "confirmed on the picture" in text and "hatched" not in made()[0].pages[0].extract_text()
    strokes = []
    paper = SimpleNamespace(line=lambda x, y, *how, **more: strokes.append((x, y)), text=lambda *words, **how: None)
    draw_map(paper, with_map[2]["OD"][1], 50.0, 40.0, 13.0)
    assert len(strokes) > 50
    assert max(float(np.hypot(x - 50.0, y - 40.0).max()) for x, y in strokes) <= 12.2  # a picture of 24 mm


@pytest.mark.parametrize("date", ["0", "86400", "abc", ""])
def test_no_date_of_the_environment_gets_onto_a_page(monkeypatch, date):
    """Builds of software set it. Before: the bytes were others, and "abc" was a fault of the tool."""
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    data = made()[1]
    monkeypatch.setenv("SOURCE_DATE_EPOCH", date)
    assert made()[1] == data
