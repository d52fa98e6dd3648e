"""The handout: one A4 page for the patient, one way in both eyes, in black and white, with room to write."""

from typing import NamedTuple

import numpy as np

from tissue.drawing.base.outline import half_width_mm
from tissue.drawing.patient.bars import bars_notes, label_places, parts
from tissue.drawing.patient.plane import FACTOR
from tissue.drawing.patient.steps import pictures
from tissue.drawing.patient.words import FAMILIAR, PAGE, PAPER_LABELS, STANDING, TODAY, story
from tissue.options.options import procedures
from tissue.paper.eye import GREYS
from tissue.paper.page import FOOT_MM, LEFT_MM, RIGHT_MM, Paper, text_width_mm, wrap
from tissue.vocabulary import EYES

TEXT_PT, STEP_MM, HEAD_PT, NUMBER_PT, SMALL_PT = 9.2, 4.0, 11.5, 7.6, 8.2
HATCH = {"epithelium": ".", "above": "\\", "removed": "/"}
WIDTHS_PT = {"front": 0.7, "back": 0.9, "side": 0.4, "cut": 1.0, "floor": 0.6, "before": 0.5, "measure": 0.5}
DOTTED = ("side", "before")
LARGEST = 4.0  # mm of paper for a mm of the eye
NUMBER_MM, OVER_MM = 4.2, 1.2  # room for a number over a picture; from what it names to its base line
SCALE_UM = 200.0  # bar of thickness
BAR_MM_PER_UM = 0.031
BAR_CENTRES_MM = {"card": 10.0, "paper": 30.0, "today": 51.0}
BAR_HALF_MM, BAR_LABEL_MM, LABEL_STEP_MM = 7.0, 61.0, 3.9
COLUMN_MM, GAP_MM, CELL_GAP_MM = 86.0, 10.0, 4.0
SECOND_MM = LEFT_MM + COLUMN_MM + GAP_MM
LEAST_WRITE_MM, MOST_WRITE_MM = 6.0, 12.0  # between a question and the line to write on


class Eye:
    """An eye on the page: its words and pictures, and where its column begins [mm].

    Args:
        side: `OD` or `OS`.
        comparison: Comparison of the eye.
        way: `surface`, `flap` or `lenticule`.
        x_mm: left edge of its column [mm].
    """

    def __init__(self, side, comparison, way, x_mm):
        self.comparison, self.way, self.x = comparison, way, x_mm
        self.told, self.pictures = story(comparison, way), pictures(comparison, way)[1]
        words = PAGE["eyes"][side]
        self.title = words[0].upper() + words[1:]
        self.half_mm = half_width_mm(comparison)

    def frame(self, scale):
        """Height over the front surface and depth under it that its pictures and their figures take [mm]."""
        tops = [NUMBER_MM * ("over" in one.places) - one.top_mm * scale for one in self.pictures.values()]
        return max(*tops, NUMBER_MM), max(one.bottom_mm for one in self.pictures.values()) * scale


def fitted_lines(text, width_mm, size_pt, font="sans"):
    """Lines of a text that fit a width [mm]; a figure is not parted from its mm."""
    return [line.replace("_mm", " mm") for line in wrap(text.replace(" mm", "_mm"), width_mm, size_pt, font)]


def paragraph(paper, x, y, width, text, font="sans"):
    """A paragraph in the type of the page; gives the base line after it."""
    for line in fitted_lines(text, width, TEXT_PT, font) if text else ():
        paper.text(x, y, line, TEXT_PT, font)
        y += STEP_MM
    return y


class Cell(NamedTuple):
    """Room of one step: its width, and the height over the front surface and the depth under it of its picture [mm].

    scale: mm of paper for a mm of the eye.
    """

    width_mm: float
    scale: float
    over_mm: float
    under_mm: float


def step(paper, eye, at, x, y, cell):
    """One step: number and head, picture, words; gives the base line after it.

    Args:
        paper: Paper.
        eye: Eye.
        at: which step, counted from 0.
        x, y: upper left corner [mm].
        cell: Cell.
    """
    name, (head, sentence) = list(eye.pictures)[at], eye.told.steps[at]
    middle, front, scale = x + cell.width_mm / 2.0, y + 5.2 + cell.over_mm, cell.scale
    paper.text(x, y + 4.0, f"{at + 1}  {head}", HEAD_PT, "serif")
    _picture(paper, eye.pictures[name], middle, front, scale)
    _numbers(paper, eye, name, middle, front, scale)
    return paragraph(paper, x, front + cell.under_mm + 4.2, cell.width_mm, sentence)


def _picture(paper, picture, x, y, scale):
    """One picture, the middle of its front surface at (x, y)."""
    for one in picture.areas:
        points = x + one.points[0] * scale, y + one.points[1] * scale
        paper.area(*points, GREYS.get(one.tissue, 1.0), HATCH.get(one.tissue))
    for one in picture.strokes:
        points = x + one.points[0] * scale, y + one.points[1] * scale
        paper.line(*points, WIDTHS_PT[one.role], "dotted" if one.role in DOTTED else "solid")


def _numbers(paper, eye, name, x, y, scale):
    """The figures of a picture, each where the screen has its words."""
    places = {key: (x + px * scale, y + py * scale) for key, (px, py) in eye.pictures[name].places.items()}
    words = {key: text.format(**eye.told.figures) for key, text in PAPER_LABELS.items()}
    taken = words["ring" if eye.told.ring else "piece"]

    def put(at, text, up=-1.0, align="centre"):
        paper.text(places[at][0], places[at][1] - up, text, NUMBER_PT, "bold", align)

    if name == "before":
        places["middle"] = places["middle"][0] + OVER_MM, places["middle"][1]
        put("middle", words["today"], align="left")
    if "stays" in places:
        put("stays", words["stays"])
    if name == "out":
        put(*(("under", taken) if "under" in places else ("over", taken, OVER_MM)))
    if name == "cut":
        inside = float(eye.told.figures["cut"]) * FACTOR * scale if procedures()[eye.way].keeps_cap else 0.0
        put(
            *(
                ("over", words["cut"], OVER_MM)
                if "over" in places
                else ("layer", words["cut"], OVER_MM + inside, "left")
            )
        )


def scales(paper, right_mm, y, scale):
    """Bars of both scales in one corner, and the scales in words, up to a right edge [mm]."""
    words, deep = PAPER_LABELS, SCALE_UM / 1000.0 * FACTOR * scale
    said = f"{words['across']} ({scale:.1f} : 1), {words['thick']} ({FACTOR * scale:.1f} : 1)"
    paper.text(right_mm, y, said, NUMBER_PT, align="right")
    x = right_mm - text_width_mm(said, NUMBER_PT) - 1.6 - scale
    paper.line([x, x, x + scale], [y - deep, y, y], 1.0)


def print_bars(paper, eye, x, y):
    """Today's cornea beside familiar things, under their head; gives the base line after them."""
    familiar, found = FAMILIAR, parts(eye.comparison, eye.way)
    paper.text(x, y, PAGE["bars"], HEAD_PT, "serif")
    names = {name: (row["name"], row["words"], float(row["thickness_um"])) for name, row in familiar.items()}
    names["today"] = TODAY, f"{eye.told.figures['today']} mm", found[-1].lower_um
    top = y + 11.0
    for name, (words, value, thickness) in names.items():
        middle = x + BAR_CENTRES_MM[name]
        for i, line in enumerate(words.split("<br>")):
            paper.text(middle, top - 5.4 + 3.6 * i, line, SMALL_PT, align="centre")
        for one in found if name == "today" else ():
            box = _box(middle, top, one.upper_um, one.lower_um)
            paper.area(*box, GREYS[one.tissue], HATCH.get(one.tissue))
            paper.line(*box, 0.6)
        paper.line(*_box(middle, top, 0.0, thickness), 0.6)
        paper.text(middle, top + thickness * BAR_MM_PER_UM + 3.6, value, SMALL_PT, align="centre")
    _part_labels(paper, x, top, found)
    for i, text in enumerate(bars_notes(eye.comparison, eye.way)):
        below = top + found[-1].lower_um * BAR_MM_PER_UM + 3.6 + 3.2 * i
        paper.text(x + BAR_LABEL_MM, below, text, NUMBER_PT, grey=0.3)
    return top + max(thickness for *_, thickness in names.values()) * BAR_MM_PER_UM + 3.6 + 1.6 * STEP_MM


def _part_labels(paper, x, top, found):
    """Words of the parts, each joined to its part."""
    named = [one for one in found if one.text]
    right, label = x + BAR_CENTRES_MM["today"] + BAR_HALF_MM, x + BAR_LABEL_MM
    for one, place in zip(named, label_places(named, BAR_MM_PER_UM, LABEL_STEP_MM), strict=True):
        middle = (one.upper_um + one.lower_um) / 2.0 * BAR_MM_PER_UM
        paper.line([right, right + 0.8, label - 0.6], [top + middle, top + middle, top + place], 0.4)
        paper.text(label, top + place + 1.0, one.text, SMALL_PT)


def _box(middle, top, upper_um, lower_um):
    """The outline of a bar [mm]."""
    left, right = middle - BAR_HALF_MM, middle + BAR_HALF_MM
    upper, lower = top + upper_um * BAR_MM_PER_UM, top + lower_um * BAR_MM_PER_UM
    return np.array([left, right, right, left, left]), np.array([upper, upper, lower, lower, upper])


def handout(code, eyes, way, date="", invented=False):
    """The bytes of the page.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, Comparison; the right eye stands on the left of the page.
        way: `surface`, `flap` or `lenticule`.
        date: what is printed as the date; nothing where empty.
        invented: whether the eyes are made up, which the page then says.
    """
    sides = [side for side in EYES if side in eyes]
    both = [Eye(side, eyes[side], way, x) for side, x in zip(sides, (LEFT_MM, SECOND_MM), strict=False)]
    paper = Paper(f"{PAGE['handout']} {code}".strip(), STANDING)
    _head(paper, both, (date, code, PAGE["invented"] if invented else ""))
    y = _pictures(paper, both, 33.0)
    _questions(paper, both[0].told, _words(paper, both, y + 6.4))
    paper.close_page()
    return paper.finish()


def _head(paper, both, right):
    """Title, way, pseudonym, date."""
    paper.text(LEFT_MM, 16.0, PAGE["paper_titles"][len(both) - 1], 17, "serif")
    name = both[0].told.name
    paper.text(LEFT_MM, 22.2, name, HEAD_PT, "bold")
    paper.text(LEFT_MM + text_width_mm(name, HEAD_PT, "bold") + 5.0, 22.2, PAGE["scale"], NUMBER_PT)
    for i, words in enumerate(filter(None, right)):
        paper.text(RIGHT_MM, 14.4 + 4.0 * i, words, 8.0, align="right", grey=0.3)
    paper.line([LEFT_MM, RIGHT_MM], [25.0, 25.0], 0.6)
    for eye in both:
        paper.text(eye.x, 31.4, eye.title, 13, "serif")


def _pictures(paper, both, y):
    """The pictures with their words, rows of both eyes in line; gives the lower edge."""
    across = 2 if len(both) > 1 else 4
    width = COLUMN_MM if len(both) > 1 else RIGHT_MM - LEFT_MM
    cell = (width - CELL_GAP_MM * (across - 1)) / across
    scale = min(LARGEST, cell / (2.0 * max(eye.half_mm for eye in both)))
    frame = [max(part) for part in zip(*(eye.frame(scale) for eye in both), strict=True)]
    drawn = Cell(cell, scale, *frame)
    for eye in both:
        scales(paper, eye.x + width, y - 1.6, scale)
    for first in range(0, max(len(eye.pictures) for eye in both), across):
        ends = [
            step(paper, eye, at, eye.x + (at - first) * (cell + CELL_GAP_MM), y, drawn)
            for eye in both
            for at in range(first, min(first + across, len(eye.pictures)))
        ]
        ends += [_why_not(paper, eye, cell, y) for eye in both if eye.told.why_not and first == 0]
        y = max(ends) - STEP_MM + 2.2
    return y


def _why_not(paper, eye, cell, y):
    """Why there is no more to see, in the place of the second picture."""
    return paragraph(paper, eye.x + cell + CELL_GAP_MM, y + 4.0, cell, eye.told.why_not, "bold")


def _words(paper, both, y):
    """How thick that is, what is known and what is not; gives the base line after them."""
    if len(both) == 1:
        end = print_bars(paper, both[0], LEFT_MM, y)
        right = _paragraph(paper, SECOND_MM, y, PAGE["known"], both[0].told.known[0])
        right = _paragraph(paper, SECOND_MM, right + 2.6, PAGE["held"], both[0].told.known[1])
        return max(end, _paragraph(paper, SECOND_MM, right + 2.6, PAGE["unknown"], both[0].told.unknown))
    y = max([print_bars(paper, eye, eye.x, y) for eye in both]) + 0.6
    y = max([_paragraph(paper, eye.x, y, PAGE["known"], eye.told.known[0]) for eye in both]) + 2.2
    left = _paragraph(paper, LEFT_MM, y, PAGE["held"], both[0].told.known[1])
    return max(left, _paragraph(paper, SECOND_MM, y, PAGE["unknown"], both[0].told.unknown))


def _paragraph(paper, x, y, head, text):
    """A head with a paragraph; gives the base line after it."""
    paper.text(x, y, head, HEAD_PT, "serif")
    return paragraph(paper, x, y + 4.6, COLUMN_MM, text)


def _questions(paper, told, y):
    """Questions with lines to write on, as far apart as the page has room, and what is not on this page."""
    y += 2.6
    paper.text(LEFT_MM, y, PAGE["questions"], HEAD_PT, "serif")
    last, y = FOOT_MM - 5.0, y + 5.0
    rows = (len(told.questions) + 1) // 2 + 1
    write = min(max((last - STEP_MM - y) / rows - 5.0, LEAST_WRITE_MM), MOST_WRITE_MM)
    for i, question in enumerate(told.questions):
        x, row = (LEFT_MM, SECOND_MM)[i % 2], y + (i // 2) * (write + 5.0)
        paper.text(x, row, question, TEXT_PT)
        paper.line([x, x + COLUMN_MM], [row + write, row + write], 0.3, grey=0.4)
    y += (rows - 1) * (write + 5.0)
    paper.text(LEFT_MM, y, PAGE["own_questions"], TEXT_PT)
    while y + write < last - STEP_MM:
        y += write
        paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.3, grey=0.4)
    paragraph(paper, LEFT_MM, last, RIGHT_MM - LEFT_MM, f"{PAGE['missing']}: {told.missing}")
