"""The pictures of the handout: a patient's eyes in small sections, black and white, with their figures."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from tissue.drawing.base.labels import Box, Leader
from tissue.drawing.base.outline import half_width_mm
from tissue.drawing.patient.picture import describe_section
from tissue.drawing.patient.plane import FACTOR, Picture
from tissue.drawing.patient.steps import pictures
from tissue.drawing.patient.words import Story
from tissue.paper.eye import GREYS
from tissue.paper.page import Paper, text_width_mm
from tissue.removal.options import procedures

NUMBER_PT = 9.5
HATCH = {"epithelium": ".", "above": "\\", "removed": "/"}
WIDTHS_PT = {"front": 0.7, "back": 0.9, "side": 0.4, "cut": 1.0, "floor": 0.6, "before": 0.5, "measure": 0.5}
DOTTED = ("side", "before")
NUMBER_MM, OVER_MM = 4.6, 1.2  # room for a number over a picture; from what it names to its base line
HIGH_MM, CLEAR_MM = 2.4, 0.4  # height of a number, and distance of its box from any line
SHOWN_OF_TWO = ("out", "stays")  # gap between the eyes where two share a row


class Shown(NamedTuple):
    """One picture of the row: the Story of its eye, its step, and the Picture."""

    told: Story
    step: str
    picture: Picture

    @property
    def title(self) -> str:
        """Its title: what it shows, in a word or two."""
        return self.told.words["steps"][self.step]


def row_of(stories: Sequence[Story]) -> list[Shown]:
    """The pictures of the row: for one eye every step, for two eyes what is taken out and what stays.

    Args:
        stories: one Story for each eye, in order.
    """
    found = []
    for told in stories:
        drawn = pictures(told.comparison, told.way)[1]
        wanted = SHOWN_OF_TWO if len(stories) > 1 and told.available else tuple(drawn)
        found += [Shown(told, step, drawn[step]) for step in wanted]
    return found


def scale_and_frame(row: Sequence[Shown], width_mm: float, height_mm: float) -> tuple[float, float, float]:
    """mm of paper for a mm of the eye, and the room of a picture above and below its front surface [mm].

    Args:
        row: Showns.
        width_mm, height_mm: room of one picture, its numbers included.
    """
    half = max(half_width_mm(one.told.comparison) for one in row)
    over = max([0.0, *(-one.picture.top_mm for one in row)])
    under = max(one.picture.bottom_mm for one in row)
    scale = min(width_mm / (2.0 * half), (height_mm - NUMBER_MM) / (over + under))
    lowest = max((base for one in row for (_, base), *_ in _numbers(one, scale)), default=0.0)
    return scale, over * scale + NUMBER_MM, max(under * scale, lowest + CLEAR_MM)


def draw_picture(paper: Paper, one: Shown, x: float, y: float, scale: float) -> None:
    """One picture with its figures, the middle of its front surface at (x, y) [mm].

    Args:
        paper: Paper. one: Shown. x, y: place [mm]. scale: mm of paper for a mm of the eye.
    """
    for part in one.picture.areas:
        points = x + part.points[0] * scale, y + part.points[1] * scale
        paper.area(*points, GREYS.get(part.tissue, 1.0), HATCH.get(part.tissue))
    for stroke in one.picture.strokes:
        points = x + stroke.points[0] * scale, y + stroke.points[1] * scale
        paper.line(*points, WIDTHS_PT[stroke.role], "dotted" if stroke.role in DOTTED else "solid")
    for (px, py), words, align in _numbers(one, scale):
        paper.text(x + px, y + py, words, NUMBER_PT, "sans", align)


def words_of_picture(one: Shown) -> str:
    """The alternative text of a picture.

    Args:
        one: Shown.
    """
    return describe_section(one.told, one.step)


def _numbers(one: Shown, scale: float) -> list[tuple[tuple[float, float], str, str]]:
    """The figures of a picture: place [mm of paper from the middle of the front surface], words, alignment."""
    told, step = one.told, one.step
    words = {key: text.format(**told.figures) for key, text in told.words["paper_labels"].items()}
    places = {key: (px * scale, py * scale) for key, (px, py) in one.picture.places.items()}
    taken, found = words["ring" if told.ring else "piece"], []
    over_all = 0.0, one.picture.top_mm * scale - OVER_MM
    if step == "before":
        at_line = (places["middle"][0] + OVER_MM, places["middle"][1] + 1.0), words["today"], "left"
        found.append(at_line if _stands_free(one, scale, *at_line) else (over_all, words["today"], "centre"))
    if "stays" in places:
        in_bed = (places["stays"][0], places["stays"][1] + 1.0), words["stays"], "centre"
        found.append(in_bed if _stands_free(one, scale, *in_bed) else _under_the_back(one, scale, words["stays"]))
    if step == "out":  # above everything drawn: in a low picture there is no room below an open flap
        found.append((over_all, taken, "centre"))
    if step == "cut" and "over" in places:
        found.append(((places["over"][0], places["over"][1] - OVER_MM), words["cut"], "centre"))
    elif step == "cut":
        inside = float(told.result.budget.cut_um) / 1000.0 * FACTOR * scale if procedures()[told.way].keeps_cap else 0.0
        x, y = places["layer"]
        found.append(((x, y - OVER_MM - inside), words["cut"], "left"))
    return found


def _stands_free(one: Shown, scale: float, place: tuple[float, float], text: str, align: str) -> bool:
    """Whether a number is inside the picture and no line goes through it; arguments as `_numbers` gives them."""
    width = text_width_mm(text, NUMBER_PT)
    left = place[0] - (width / 2.0 if align == "centre" else 0.0)
    box = Box(left, place[1] - HIGH_MM, left + width, place[1])
    lines = [part.points * scale for part in one.picture.strokes]
    inside = box.right + CLEAR_MM < max(float(points[0].max()) for points in lines)
    return inside and not any(Leader(tuple(points.T)).meets(box, CLEAR_MM) for points in lines)


def _under_the_back(one: Shown, scale: float, text: str) -> tuple[tuple[float, float], str, str]:
    """A number below the arch of the back surface, where its layer is too thin to hold it."""
    x, y = next(part.points for part in one.picture.strokes if part.role == "back") * scale
    below = float(y[np.abs(x) < text_width_mm(text, NUMBER_PT) / 2.0 + CLEAR_MM].max())
    return (0.0, below + CLEAR_MM + HIGH_MM), text, "centre"
