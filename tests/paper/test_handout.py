"""The patient's page, read by a PDF library: one page, tags, sizes of type, the plan's figures, room to write."""

import io
from functools import cache
from itertools import combinations, product
from pathlib import Path

import pypdf
import pytest
from drawn_eyes import eye
from handout_reader import page_faults, room_to_write, templates
from page_lines import MM
from tagged_page import content_of, elements_of, operations_of

from tissue.command.loading import load
from tissue.drawing.base.labels import Box
from tissue.drawing.patient.language import LANGUAGES, mm, unread, words
from tissue.drawing.patient.together import COLUMNS, by_name, column_name, most_is_told, side_by_side
from tissue.drawing.patient.words import WAYS, most_um, standing, story
from tissue.paper.handout import Spacing, handout
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
def made(path=DEMOS[2], way="lenticule", sides=("OD", "OS"), language="en"):
    """The page of a demo plan: as a reader, its bytes, its eyes, and a box of every text on it."""
    code, eyes = eyes_of(path)
    eyes = {side: eyes[side] for side in sides if side in eyes}
    found, boxes = boxes_of(code, eyes, way, "2026-11-25", True, language=language)
    return pypdf.PdfReader(io.BytesIO(found)), found, eyes, boxes


def boxes_of(*arguments, **named):
    """The bytes of a page, and a box of every text on it with its size [mm, pt], the one at the foot apart."""
    boxes, plain, papers = [], Paper.text, []

    def noted(paper, x, y, text, size_pt=8.6, font="sans", align="left", grey=0.0):
        if paper not in papers:  # with lower pictures the page is begun anew
            papers.append(paper)
            boxes.clear()
        width = text_width_mm(text, size_pt, font)
        left = x - {"left": 0.0, "centre": 0.5, "right": 1.0}[align] * width
        if y < FOOT_MM:
            boxes.append((Box(left, y - 0.5 * size_pt / MM, left + width, y + 0.1 * size_pt / MM), text))
        plain(paper, x, y, text, size_pt, font, align, grey=grey)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Paper, "text", noted)
        return handout(*arguments, **named), boxes


def text_of(reader):
    return " ".join(reader.pages[0].extract_text().split())


@pytest.mark.parametrize(("path", "way"), CASES)
def test_one_page_with_selectable_text_and_the_patients_standing_line(path, way):
    reader, _, eyes, _ = made(path, way)
    assert len(reader.pages) == 1
    said, page = text_of(reader), words("en")["page"]
    assert standing("en") in said and STANDING_LINE not in said and unread("en") in said
    heads = ("scale", "held", "unknown", "questions", "missing", "own_questions", "contact", "invented", "rounded")
    assert all(page[name] in said for name in heads)
    for side, comparison in eyes.items():
        told = story(comparison, way, side)
        assert page["eyes"][side].capitalize() in said and told.name in said
        assert told.words["ways"][way]["short"] in said
        assert all(text in said for text in (told.held, told.unknown, told.missing, *told.questions, told.why_not))


@pytest.mark.parametrize(("path", "way"), CASES)
def test_the_table_has_every_row_of_each_eye(path, way):
    """Each cell is printed; of two eyes that differ both, the right one first; else once."""
    reader, _, eyes, _ = made(path, way)
    printed = cells_of(reader)
    columns = by_name(COLUMNS, "en")
    assert [column_name(column, "en") for column in columns] == printed[0]
    most = any(most_is_told(comparison, side, columns) for side, comparison in eyes.items())
    by_eye = [side_by_side(comparison, side, columns, "en", most) for side, comparison in eyes.items()]
    for same in zip(*by_eye, strict=True):
        wanted = [same[0].head]
        for cells in zip(*(one.cells for one in same), strict=True):
            wanted += cells if len(set(cells)) > 1 else cells[:1]
        assert wanted + [same[0].common] * bool(same[0].common) in printed


def cells_of(reader):
    """The texts of every row of the table, by its tags."""
    number, texts = [None], {}

    def before(operator, operands, *_):
        if operator == b"BDC":
            number[0] = int(operands[1]["/MCID"])
        elif operator in (b"EMC", b"BMC"):
            number[0] = None

    def seen(text, *_):
        if number[0] is not None and text.strip():
            texts.setdefault(number[0], []).append(" ".join(text.split()))

    reader.pages[0].extract_text(visitor_operand_before=before, visitor_text=seen)
    found = []
    for role, held, _ in elements_of(reader):
        if role == "/TR":
            cells = [cell.get_object() for cell in held["/K"]]
            found.append([t for t in (" ".join(texts.get(cell["/K"][0], [])) for cell in cells) if t])
    return found


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_page_is_tagged(language):
    """PDF 32000-1, 14.7 and 14.8: marked, in a language, titled; every content in one element, every element known."""
    reader, *_ = made(DEMOS[2], "flap", language=language)
    root, page = reader.trailer["/Root"], reader.pages[0]
    assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == language
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] and reader.metadata.title
    assert page["/StructParents"] == 0 and page["/Tabs"] == "/S"
    content, outside = content_of(operations_of(reader))
    assert not outside
    elements = elements_of(reader)
    assert elements[0][0] == "/Document"
    held = [(number, role) for role, _, numbers in elements for number in numbers]
    assert held == [(number, content[number][0]) for number in sorted(content)]  # read in the order of the page
    parents = root["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    assert parents[0] == 0 and [one.get_object()["/S"] for one in parents[1].get_object()] == [r for _, r in held]
    assert all(element["/P"] is not None for _, element, _ in elements)
    roles = [role for role, *_ in elements]
    assert roles.count("/H1") == 1 and roles.count("/Table") == 1 and roles.count("/L") == 1
    assert roles.count("/LI") == len(words(language)["said"]["questions"])
    assert {"/H2", "/P", "/TR", "/TH", "/TD", "/Figure", "/LBody"} <= set(roles)
    scopes = {element["/A"]["/Scope"] for role, element, _ in elements if role == "/TH" and "/A" in element}
    assert scopes == {"/Column", "/Row"}


def test_pictures_have_words_with_their_numbers():
    reader, _, eyes, _ = made(DEMOS[2], "lenticule")
    figures = [element for role, element, _ in elements_of(reader) if role == "/Figure"]
    assert len(figures) == 4 and all(len(element["/A"]["/BBox"]) == 4 for element in figures)
    for side, comparison in eyes.items():
        told = story(comparison, "lenticule", side)
        mine = [str(one["/Alt"]) for one in figures if words("en")["page"]["eyes"][side] in str(one["/Alt"])]
        assert len(mine) == 2 and told.figures["removed"] in mine[0] and told.figures["bed"] in mine[1]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_type_is_smaller_than_nine_points_and_running_text_has_twelve(language):
    reader, *_ = made(DEMOS[2], "lenticule", language=language)
    sizes = {}
    size = 0.0
    for operands, operator in operations_of(reader):
        size = float(operands[1]) if operator == b"Tf" else size
        if operator in (b"BDC", b"EMC"):
            now = int(operands[1]["/MCID"]) if operator == b"BDC" else None
        if operator == b"Tj":
            sizes.setdefault(now, set()).add(size)
    assert min(min(one) for one in sizes.values()) >= 9.0
    running = [number for role, _, numbers in elements_of(reader) for number in numbers if role in ("/LBody", "/H2")]
    assert all(sizes[number] == {12.0} for number in running)
    assert sum(one == {12.0} for one in sizes.values()) >= 13


def test_the_right_eye_stands_on_the_left():
    """Source: rule of every page: right eye on the left of the page, left eye on the right."""
    found = {}

    def look_for(text, _, tm, *__):
        found.setdefault(text.strip(), tm[4] / MM)

    made()[0].pages[0].extract_text(visitor_text=look_for)
    assert found["Right eye"] < found["Left eye"]
    assert found["right"] < found["left"]


def test_the_same_input_gives_the_same_bytes():
    code, eyes = eyes_of(DEMOS[2])
    assert handout(code, eyes, "lenticule", "2026-11-25", True) == made()[1] != made(DEMOS[2], "flap")[1]


def test_black_and_white_only():
    reader, *_ = made()
    operators = {operator for _, operator in operations_of(reader)}
    assert operators & {b"rg", b"RG", b"k", b"K", b"sc", b"SC", b"scn", b"SCN"} == set()


def test_fonts_are_embedded():
    fonts = made()[0].pages[0]["/Resources"]["/Font"]
    used = [one.get_object() for one in fonts.values()]
    assert len(used) >= 3 and all("/FontFile2" in one["/FontDescriptor"] for one in used)


def apart(boxes):
    for (one, text), (other, also) in combinations(boxes, 2):
        assert not one.overlaps(other), (text, also)
    for box, text in boxes:
        assert box.right < RIGHT_MM + 0.6 and box.bottom < FOOT_MM - 1.0, text


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(("path", "way"), CASES)
def test_no_text_lies_over_another_or_under_the_foot(path, way, language):
    apart(made(path, way, language=language)[3])


@pytest.mark.parametrize("name", ["far", "wide", "gone", "none"])
@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_unusual_eyes_find_room(name, way, language):
    found, boxes = boxes_of("", {"OD": eye(name), "OS": eye("mixed")}, way, language=language)
    apart(boxes)
    assert room_to_write(operations_of(pypdf.PdfReader(io.BytesIO(found)))) >= 4


def test_one_eye_has_its_four_pictures_in_a_row():
    reader, _, _, boxes = made(DEMOS[2], "flap", ("OD",))
    apart(boxes)
    heads = [box for box, text in boxes if text in words("en")["steps"].values()]
    assert len(heads) == 4 and len({round(box.top, 3) for box in heads}) == 1
    assert [box.left for box in heads] == sorted(box.left for box in heads)
    assert sum(role == "/Figure" for role, *_ in elements_of(reader)) == 4


def test_a_way_that_leaves_nothing_says_why_under_the_name_of_its_eye():
    page = handout("", {"OD": eye("gone"), "OS": eye("usual")}, "flap")
    said = text_of(pypdf.PdfReader(io.BytesIO(page)))
    assert (
        "Right eye: For this plan, this way would leave nothing below the cut." in said and "Left eye: For" not in said
    )


def test_the_ways_stand_in_the_surgeons_order():
    code, eyes = eyes_of(DEMOS[2])
    wanted = ("flap", "none", "surface")
    page = handout(code, eyes, "flap", columns=wanted)
    printed = cells_of(pypdf.PdfReader(io.BytesIO(page)))[0]
    assert printed == [column_name(column, "en") for column in wanted]


@pytest.mark.parametrize(("path", "way"), CASES)
@pytest.mark.parametrize("language", LANGUAGES)
def test_there_is_room_to_write(path, way, language):
    """Lines for own questions and for whom to call, empty: at least two each."""
    assert room_to_write(operations_of(made(path, way, language=language)[0])) >= 4


@pytest.mark.parametrize("seed", range(0, 25))
def test_random_eyes_have_a_page_as_it_should_be(seed):
    """A sample; all 2,000 run in tests/hard/patient.py."""
    assert page_faults(seed) == []


@pytest.mark.parametrize(
    ("planted", "named"),
    [
        (("tissue.paper.handout.SMALL_PT", 8.5), "type under 9 pt"),
        (("tissue.paper.handout.TEXT_PT", 11.0), "running text of {11.0} pt"),
        (("tissue.paper.handout.WIDTH_MM", 190.0), "mm across"),
        (("tissue.paper.handout.SPACINGS", (Spacing(24.0, step_mm=3.0),)), "lies over"),
        (("tissue.paper.patient_pictures._stands_free", lambda *_: True), "a line goes through"),
        (("tissue.drawing.patient.together.LEAST_SAID_UM", 30.0), "shift, lenticule"),
        (("tissue.drawing.patient.together.rounded", lambda value, digits: f"{value + 1.0:.{digits}f}"), "sheets"),
    ],
)
def test_the_reader_names_a_planted_fault(planted, named, monkeypatch):
    monkeypatch.setattr(*planted)
    assert any(named in fault for seed in range(5) for fault in page_faults(seed))


def test_the_reader_names_a_sentence_in_another_language(monkeypatch):
    templates("de")
    monkeypatch.setitem(words("de")["table"]["none"], "again", words("en")["table"]["none"]["again"])
    assert "1 page: no sentence of de: Yes, new glasses or lenses." in page_faults(1)


def test_a_row_that_one_eye_needs_has_the_figures_of_both():
    """The right eye takes most in the middle, the left one off it; the left one's figure stood for both."""
    eyes = {"OD": eye("usual"), "OS": eye("mixed")}
    printed = cells_of(pypdf.PdfReader(io.BytesIO(handout("", eyes, "flap", columns=("flap", "none")))))
    row = next(cells for cells in printed if cells[0] == words("en")["table"]["rows"]["most"])
    right, left = (mm(most_um(one.results["flap"]), "en") for one in eyes.values())
    assert right != left and row[1:] == [right, left, words("en")["table"]["none"]["out"]]
