"""A second reader of the handout: the document by a library, its figures by brute force, its words by the language.

Sizes, margins and what is in the file are those the page promises: one A4 page, body 12 pt, nothing under 9 pt, 14 mm
left and right free, tags, language, title, words for each picture (PDF 32000-1, 14.7 to 14.9).
"""

import io
import re
from functools import cache
from string import Formatter
from types import SimpleNamespace

import numpy as np
import pypdf
from page_lines import lines_of
from patient_reader import SHIFTS_UM, SURE_UM, an_eye, by_hand_of, written
from PIL import Image
from tagged_page import content_of, drawn_shapes, elements_of, operations_of, pieces_of

from tissue.drawing.patient.language import LANGUAGES, words
from tissue.drawing.patient.words import WAYS
from tissue.entry.eye import build
from tissue.paper.handout import handout

A4_MM, FREE_MM, NEAR_MM = (210.0, 297.0), 14.0, 0.1
PAPER_UM = 100.0  # a sheet of office paper, common practice
CUTS_UM = {"surface": 0.0, "flap": 4.0, "lenticule": -0.7}  # bias of the cut alone, typed as in SHIFTS_UM
FIGURES = ("depth", "out", "most", "stays", "thinnest", "sheets", "share", "range", "shift")
RUNNING = ("/H2", "/LBody")
ANY = "(.+?)"


def page_of(seed):
    """The handout of a random pair of eyes, as a reader, and its language and way: of five languages each in turn."""
    rng = np.random.default_rng(seed)
    eyes = {side: build(an_eye(seed + i)[0], side).compare() for i, side in enumerate(("OD", "OS"))}
    way, language = WAYS[int(rng.integers(3))], LANGUAGES[seed % len(LANGUAGES)]
    looks = {"language": language, "night": a_night(language) if seed % 3 == 2 else None}
    made = handout(f"eye-{seed}", eyes, way, "2026-11-29", True, **looks)
    return pypdf.PdfReader(io.BytesIO(made)), language, way


def a_night(language):
    """What a page with lights at night has more, in the words of a language; its pictures are black."""
    said, picture = words(language)["night"], io.BytesIO()
    Image.new("RGB", (8, 4)).save(picture, "PNG")
    pupil = f"{said['pupil']} ({said['usual'].format(mm='6')})."
    text = " ".join((pupil, said["said"], said["plan"].format(mm="6"), said["more"].format(more="0"), said["moon"]))
    return SimpleNamespace(
        title=f"{said['head']} ({words(language)['page']['eyes']['OD']})",
        heads=(said["small"].format(mm="6"), said["large"].format(mm="7")),
        near=(said["near"].format(n="99", far="1"),) * 2,
        pngs=(picture.getvalue(),) * 2,
        words=text,
    )


def room_to_write(operations):
    """How many lines there are to write on."""
    found = [points for width, points in lines_of(operations) if width == 0.3 and len(points) == 2]
    return sum(80.0 < np.ptp(points[:, 0]) < 100.0 for points in found)


def page_faults(seed):
    """What is wrong with the handout of a random pair of eyes, in words; empty where all is as it should be."""
    reader, language, way = page_of(seed)
    operations = operations_of(reader)
    read = Read(reader, operations)
    if len(reader.pages) != 1:
        return [f"{seed} page: {len(reader.pages)} pages"]
    found = [*_document(reader, operations, language), *_type(read, language), *_places(read, operations)]
    found += [*_language(read, language), *_pictures(read, seed, way, language), *_table(read, seed, language)]
    return [f"{seed} page: {fault}" for fault in found]


class Read:
    """The page as it is read aloud: `elements` (role, entries, numbers), `pieces`, and `said`, text by number."""

    def __init__(self, reader, operations):
        self.elements, self.pieces = elements_of(reader), pieces_of(reader, operations)
        self.said = {}
        for piece in self.pieces:
            self.said[piece.number] = f"{self.said.get(piece.number, '')} {piece.text.strip()}".strip()

    def texts(self, *roles):
        """The texts of all elements of these roles, in order."""
        return [self.said.get(number, "") for role, _, numbers in self.elements if role in roles for number in numbers]

    def rows(self):
        """The table: of each row its cells, as (text, how many columns wide)."""
        at = [i for i, (role, *_) in enumerate(self.elements) if role == "/TR"]
        for first, end in zip(at, [*at[1:], None], strict=True):
            cells = [one for one in self.elements[first:end] if one[0] in ("/TH", "/TD")]
            yield [(self.said.get(n[0], ""), int(held.get("/A", {}).get("/ColSpan", 1))) for _, held, n in cells]


def _document(reader, operations, language):
    """One A4 page, marked, titled, in a language; every content in one element of its role, in order."""
    root, page = reader.trailer["/Root"], reader.pages[0]
    size = [float(value) * 25.4 / 72.0 for value in page.mediabox[2:]]
    if not np.allclose(size, A4_MM, atol=0.1):
        yield f"a page of {size} mm"
    if not (root["/MarkInfo"]["/Marked"] and root["/ViewerPreferences"]["/DisplayDocTitle"]):
        yield "not marked, or its title is not shown"
    if root["/Lang"] != language or not reader.metadata.title.startswith(words(language)["page"]["handout"]):
        yield f"language {root['/Lang']}, title {reader.metadata.title}"
    content, outside = content_of(operations)
    held = [(number, role) for role, _, numbers in elements_of(reader) for number in numbers]
    if outside or held != [(number, content[number][0]) for number in sorted(content)]:
        yield "text without an element, or an element out of order"
    if room_to_write(operations) < 4:
        yield f"{room_to_write(operations)} lines to write on"


def _type(read, language):
    """Nothing under 9 pt; running text has 12: only the table, pictures, notes and the head's right are smaller."""
    sizes = {}
    for piece in read.pieces:
        sizes.setdefault(piece.number, set()).add(piece.size_pt)
    if min(map(min, sizes.values())) < 9.0:
        yield "type under 9 pt"
    page, night = words(language)["page"], a_night(language)
    small = {
        night.words,
        *night.heads,
        *night.near,
        *words(language)["steps"].values(),
        *(_capital(one) for one in page["eyes"].values()),
    }
    for role, _, numbers in read.elements:
        for number in numbers:
            text = read.said.get(number, "")
            may = text in small or text.startswith((page["scale"], page["standing"], "2026-11-29"))
            if (role in RUNNING or (role == "/P" and not may)) and sizes[number] != {12.0}:
                yield f"running text of {sizes[number]} pt: {text}"


def _places(read, operations):
    """Nothing outside the margins, no text over another."""
    drawn = drawn_shapes(operations)
    corners = np.vstack([points for _, points in drawn])
    (left, low), (right, high) = corners.min(axis=0), corners.max(axis=0)
    boxes = np.array([(p.left, p.base - 0.1 * p.size_pt, p.right, p.base + 0.25 * p.size_pt) for p in read.pieces])
    left, right = min(left, boxes[:, 0].min()), max(right, boxes[:, 2].max())
    if left < FREE_MM - NEAR_MM or right > A4_MM[0] - FREE_MM + NEAR_MM:
        yield f"from {left} to {right} mm across"
    if min(low, boxes[:, 1].min()) < 4.0 or max(high, boxes[:, 3].max()) > A4_MM[1] - 4.0:
        yield "over the upper or the lower edge"
    over = (boxes[:, None, :2] < boxes[None, :, 2:] - 0.2).all(axis=2)
    for one, other in zip(*np.nonzero(np.triu(over & over.T, 1)), strict=True):
        yield f"{read.pieces[one].text!r} lies over {read.pieces[other].text!r}"
    yield from _crossed(read, [points for line, points in drawn if line])


def _crossed(read, drawn):
    """Numbers of the pictures that a line goes through."""
    along = np.linspace(0.0, 1.0, 9)[:, None]
    x, y = (np.concatenate([(p[:-1, i] + along * np.diff(p[:, i])).ravel() for p in drawn]) for i in (0, 1))
    numbers = {number for role, _, held in read.elements if role == "/Figure" for number in held}
    for piece in read.pieces:
        high = piece.base + 0.24 * piece.size_pt
        met = (x > piece.left) & (x < piece.right) & (y > piece.base) & (y < high)
        if piece.number in numbers and met.any():
            yield f"a line goes through {piece.text}"


def _capital(text):
    return text[0].upper() + text[1:]


@cache
def templates(language):
    """Every sentence of a language as a pattern with its gaps open."""

    def walk(one):
        for value in one.values() if isinstance(one, dict) else one:
            yield from [value] if isinstance(value, str) else walk(value)

    def opened(text):
        parts = [re.escape(before) + (ANY if name is not None else "") for before, name, *_ in Formatter().parse(text)]
        return re.compile("".join(parts))

    return [opened(text.replace("<br>", " ").strip()) for text in walk(words(language))]


def _known(text, language, deep=2):
    """Whether a text is a figure or a sentence of the language, what stands in its gaps too."""
    if re.fullmatch(r"[−\d.,–]*( mm)?|2026-11-29 eye-\d+|", text):
        return True
    for pattern in templates(language):
        found = pattern.fullmatch(text)
        if found and (deep or not found.groups()) and all(_known(gap, language, deep - 1) for gap in found.groups()):
            return True
    return False


def _sentences(read):
    """Every text of the page: running text parted into its sentences, cells and heads whole."""
    for text in read.texts("/H1", "/H2", "/TH", "/TD", "/P", "/LBody"):
        yield text.removeprefix("– ")


def _language(read, language):
    """Every text is of the language, and the sentences that every page has are there."""
    text, page = words(language), words(language)["page"]
    whole = " ".join(read.said.values())
    wanted = [page[name] for name in ("standing", "scale", "held", "unknown", "questions", "missing", "rounded")]
    wanted += [page[name] for name in ("own_questions", "contact", "invented", "same_for_both")]
    wanted += [text["table"]["practice"], text["said"]["missing"], text["about"]["unread"], *text["said"]["questions"]]
    yield from (f"is not there: {one}" for one in wanted if one not in whole)
    notes = " ".join((page["scale"], page["rounded"], page["same_for_both"], text["table"]["practice"]))
    foot = f"{page['standing']} {text['about']['unread']}"
    yield from (f"is not whole: {one}" for one in (notes, foot) if one not in read.texts("/P"))
    night, eyes = a_night(language), [_capital(eye) for eye in page["eyes"].values()]
    colon = [f"{one}: " for one in (*eyes, page["missing"])]
    for said in _sentences(read):
        bare = next((said.removeprefix(one) for one in colon if said.startswith(one)), said)
        bare = bare.removesuffix(page["invented"]).strip()
        if bare not in (notes, foot, night.title, night.words, *eyes) and not _known(bare, language):
            yield f"no sentence of {language}: {said}"


def _signed(values, language):
    """Written figures with the decimal sign of a language, and the words for one too small to be written."""
    less = words(language)["said"]["under"].format(smallest="0.01")
    said = {less if one == "less than 0.01" else one for value in values for one in written(value)}
    return {re.sub(r"(?<=\d)\.(?=\d)", words(language)["about"]["decimal"], one) for one in said}


def _left(seed, way):
    """Whether a way has figures by hand; None where the two arithmetics may fall to either side."""
    found, (ablation, lenticule) = by_hand_of(seed)
    base = (lenticule if way == "lenticule" else ablation).base
    room = min(found[way]["removal_max_um"] - base, found[way]["bed_min_um"])
    return None if abs(room) <= SURE_UM else room > 0


def _pictures(read, seed, way, language):
    """Each picture has its words; every figure in them and on it is one of its eye, by hand."""
    figures = [(held, numbers) for role, held, numbers in read.elements if role == "/Figure"]
    title = words(language)["page"]["title"]
    for i, side in enumerate(("OD", "OS")):
        there = _left(seed + i, way)
        begin = title.format(eye=words(language)["page"]["eyes"][side])
        mine = [(str(held["/Alt"]), numbers) for held, numbers in figures if str(held["/Alt"]).startswith(begin)]
        if there is not None and len(mine) != 1 + there:
            yield f"{len(mine)} pictures of {side}"
        hand = by_hand_of(seed + i)[0][way]
        names = ("cut_um", "removal_central_um", "removal_max_um", "bed_central_um", "bed_min_um")
        values = [an_eye(seed + i)[0]["central_thickness_um"], *(hand[name] for name in names)]
        may = _signed([*values, 2000.0, 3000.0, 4000.0], language)  # and a small opening, mm wide
        for alternative, numbers in mine:
            for text in (alternative, *(read.said[n] for n in numbers)):
                for said in re.findall(r"(\d+[.,]\d\d) mm", text):
                    if said not in {one.split()[-1] for one in may}:
                        yield f"{said} mm of {side} in: {text}"


def _table(read, seed, language):
    """Every figure of the table, of each way and eye, against those found by hand."""
    text, rows = words(language)["table"], list(read.rows())
    ways = {own["name"]: way for way, own in words(language)["ways"].items()} | {text["none"]["name"]: "none"}
    columns = [ways[name] for name, _ in rows[0][1:]]
    heads = {head: name for name, head in text["rows"].items()}
    names = [heads[row[0][0]] for row in rows[2:]]
    wanted = [name for name in text["rows"] if name != "most" or name in names]
    ring = [_rings(seed + i, columns) for i in (0, 1)]
    if sorted(names) != sorted(wanted) or (None not in ring and ("most" in names) != any(ring)):
        yield f"rows {names}, rings {ring}"
    for name, row in zip(names, rows[2:], strict=True):
        if name not in FIGURES:
            continue
        spread = [cell for cell, wide in row[1:] for _ in range(wide)]
        for i, cell in enumerate(spread):
            may = cell_by_hand(name, seed + i % 2, columns[i // 2], language)
            if may and cell not in may:
                yield f"{name}, {columns[i // 2]}, eye {i % 2}: {cell!r}, {may} by hand"
        if len(spread) != 2 * len(columns):
            yield f"{name}: {len(spread)} cells"


def _rings(seed, columns):
    """Whether a way takes most off the middle; None where it may fall to either side."""
    found = []
    for way in columns:
        if way != "none" and _left(seed, way) is not False:
            hand = by_hand_of(seed)[0][way]
            off = hand["removal_max_um"] - hand["removal_central_um"] - 5.0
            found.append(None if abs(off) < SURE_UM or _left(seed, way) is None else off > 0)
    return True if True in found else None if None in found else False


def cell_by_hand(name, seed, way, language):
    """What may stand in a cell of figures; empty where the two arithmetics may fall to either side."""
    text = words(language)["table"]
    if way == "none":
        return _no_surgery(name, an_eye(seed)[0], language)
    there, hand = _left(seed, way), by_hand_of(seed)[0][way]
    if there is None:
        return set()
    if not there:
        return {text["gone"], text["empty"]} if name == "stays" else {"–"}
    if name == "range":
        ends = [_signed([hand[end]], language) for end in ("bed_low_um", "bed_high_um")]
        return {f"{low}–{high}" for low in ends[0] for high in ends[1]} if hand["bed_low_um"] > 5.5 else set()
    if name == "shift":
        return _shift(hand, way, language)
    if name == "out" and hand["removal_central_um"] <= SURE_UM:
        return {text["none"]["out"], *_signed([0.0], language)}
    return _thickness(name, hand, language)


def _thickness(name, hand, language):
    """What may stand for a thickness, its share or its sheets of paper."""
    if name == "share":
        return {f"{hand['bed_percent'] + sign * 0.12:.0f}" for sign in (-1, 0, 1)}
    if name == "sheets":
        return _sheets(hand["bed_central_um"], language)
    values = {"depth": "cut_um", "out": "removal_central_um", "most": "removal_max_um", "stays": "bed_central_um"}
    least = min(hand["bed_min_um"], hand["bed_central_um"])
    return _signed([least if name == "thinnest" else hand[values[name]]], language)


def _no_surgery(name, values, language):
    """What may stand in a cell of the column without surgery."""
    own, today = words(language)["table"]["none"], values["central_thickness_um"]
    return {
        "depth": {own["depth"]},
        "out": {own["out"]},
        "most": {own["out"]},
        "stays": _signed([today], language),
        "thinnest": _signed([min(values["thinnest_um"], today)], language),
        "sheets": _sheets(today, language),
        "share": {"100"},
    }.get(name, {"–"})


def _sheets(value_um, language):
    """A thickness in sheets of paper: whole ones, below one and a half with a decimal."""
    found = set()
    for count in (value_um / PAPER_UM + sign * SURE_UM / PAPER_UM for sign in (-1, 0, 1)):
        found.add(f"{count:.0f}" if count >= 1.5 else f"{count:.1f}".replace(".", words(language)["about"]["decimal"]))
    return found


def _shift(hand, way, language):
    """What usual errors add, in words; with next to nothing taken, that of the cut alone."""
    text, found = words(language)["table"], set()
    off = hand["removal_central_um"] - 5.0
    if hand["bed_low_um"] <= 5.5:
        return found
    for shift in [SHIFTS_UM[way]] * bool(off > -SURE_UM) + [-CUTS_UM[way]] * bool(off < SURE_UM):
        towards = "more" if shift > 0 else "less"
        small = "_small" if abs(shift) < 5.0 else ""
        gap = f"{abs(shift) / 1000.0:.2f}".replace(".", words(language)["about"]["decimal"])
        found.add(text["shift_none"] if shift == 0 else text[f"shift_{towards}{small}"].format(shift=gap))
    return found
