"""How thick today's cornea is, as one bar of three parts beside familiar things; all hang from one line."""

from typing import NamedTuple

import numpy as np

from tissue.drawing.base.palette import Look
from tissue.drawing.base.traces import Item, area, axis, layout, lines, texts
from tissue.drawing.patient.language import with_sign
from tissue.drawing.patient.picture import fill_of
from tissue.drawing.patient.words import LEAST_SAID_UM, Story
from tissue.ground.sources import data
from tissue.ground.vocabulary import Array, Figure

WIDTH_PX, SIZE_PX = 522, 17
PX_PER_UM = 0.245
HEAD_PX, FOOT_PX = 48.0, 28.0
PITCH_PX = 25.0  # least distance of the labels of the parts
CENTRES_PX = {"card": 57.0, "paper": 169.0, "today": 274.0}
HALF_PX = {"card": 32.0, "paper": 32.0, "today": 40.0}
NOTE_PX = 20.0  # notes begin so far under today's cornea
LABEL_PX, ELBOW_PX = 330.0, 12.0


class Part(NamedTuple):
    """One part of today's cornea: tissue, where it begins and ends below the front [µm], its words."""

    tissue: str
    upper_um: float
    lower_um: float
    text: str


def parts(told: Story) -> list[Part]:
    """The Parts of today's cornea in one way, in the middle: what lies on top, what is taken out, what stays.

    A part that rounds to nothing is left out. The whole as one Part without words where the way leaves nothing to show.

    Args:
        told: Story.
    """
    budget, whole = told.result.budget, float(told.comparison.cornea.central_thickness_um)
    if not told.available:
        return [Part("stroma", 0.0, whole, "")]
    table = told.words["bars"]
    words = {name: table[name].format(layer=told.layer, **told.figures) for name in ("layer", "out", "stays")}
    cut, floor = float(budget.cut_um), float(budget.cut_um + budget.removal_central_um)
    found = [Part("above" if told.result.option.cuts else "epithelium", 0.0, cut, words["layer"])]
    if floor - cut >= LEAST_SAID_UM:
        found.append(Part("removed", cut, floor, words["out"]))
    return [*found, Part("stroma", found[-1].lower_um, whole, words["stays"])]


def bars_notes(told: Story) -> list[str]:
    """Lines under the parts: how much is taken at most where that is not in the middle; that figures are rounded."""
    table = told.words["bars"]
    ring = [line.format(**told.figures) for line in table["ring"]] if told.ring else []
    small = table["none"] if told.ring else f"{table['out'].format(**told.figures)}."
    nothing = [small] if len(parts(told)) == 2 else []
    return [*nothing, *ring, told.words["page"]["rounded"]] if told.available else []


def label_places(found: list[Part], per_um: float, pitch: float) -> list[float]:
    """Middles of the labels of Parts, each near its part and none nearer to the next than a pitch.

    Args:
        found: Parts.
        per_um: length of the drawing a µm.
        pitch: least distance, in the same length.

    >>> label_places([Part("a", 0, 40, ""), Part("b", 40, 60, ""), Part("c", 60, 500, "")], 0.5, 25.0)
    [10.0, 35.0, 140.0]
    """
    places: list[float] = []
    for one in found:
        middle = (one.upper_um + one.lower_um) / 2.0 * per_um
        places.append(max(middle, places[-1] + pitch) if places else middle)
    return places


def familiar(told: Story) -> dict[str, tuple[str, str, float]]:
    """Familiar things by name: what they are called, how thick in words, how thick [µm]; today's cornea the last.

    Args:
        told: Story.
    """
    words, found = told.words["familiar"], {}
    for name, row in data("explain")["familiar"].items():
        thick = words[f"{name}_thick"].format(thick=with_sign(f"{row['said_mm']}", told.language))
        found[name] = words[name], thick, float(row["thickness_um"])
    today = float(told.comparison.cornea.central_thickness_um)
    return found | {"today": (told.words["bars"]["today"], f"{told.figures['today']} mm", today)}


def bars(told: Story, look: Look) -> Figure:
    """The bars on the screen.

    Args:
        told: Story.
        look: Look.
    """
    things, found = familiar(told), parts(told)
    thickness = {name: depth for name, (_, _, depth) in things.items()}
    traces = [area(_box(name, 0.0, depth), "", look.panel) for name, depth in thickness.items() if name != "today"]
    for one in found:
        traces.append(area(_box("today", one.upper_um, one.lower_um), "", *fill_of(one.tissue, told.way, look)))
    outlines = [_box(name, 0.0, depth) for name, depth in thickness.items()]
    outlines += [_box("today", one.upper_um, one.lower_um) for one in found]
    traces.append(lines(outlines, "", look.ink, 1.2))
    items = [_name(words, name, _style(name)) for name, (words, _, _) in things.items()]
    items += [_under(thick, name, depth, _style(name)) for name, (_, thick, depth) in things.items()]
    named = [one for one in found if one.text]
    places = label_places(named, PX_PER_UM, PITCH_PX)
    items += [(one.text, LABEL_PX, y, SIZE_PX, "middle right", "ink") for one, y in zip(named, places, strict=True)]
    if named:
        traces.append(lines([_elbow(one, y) for one, y in zip(named, places, strict=True)], "", look.ink, 1.0))
        below = max(thickness.values()) * PX_PER_UM + FOOT_PX + NOTE_PX / 2.0  # from the left edge: they are long
        for i, text in enumerate(bars_notes(told)):
            items.append((text, 4.0, below + PITCH_PX * i, SIZE_PX, "middle right", "ink2"))
    traces.append(texts(items, "", look))
    noted = NOTE_PX / 2.0 + PITCH_PX * len(bars_notes(told)) - PITCH_PX / 2.0 if named else 0.0
    deepest = max(thickness.values()) * PX_PER_UM + noted
    axes = {"xaxis": axis((0, 1), (0, WIDTH_PX), "y"), "yaxis": axis((0, 1), (deepest + FOOT_PX, -HEAD_PX), "x")}
    return {
        "data": traces,
        "layout": layout(look, WIDTH_PX, round(HEAD_PX + deepest + FOOT_PX), (0, 0, 0, 0), **axes),
    }


def describe_bars(told: Story) -> str:
    """Alternative text of the bars."""
    sentence, words = told.words["familiar"]["is_thick"], told.words
    said = [words["familiar"]["is_part"].format(part=one.text) for one in parts(told) if one.text]
    said += bars_notes(told)[:-1]
    things = [one for name, one in familiar(told).items() if name != "today"]
    known = [sentence.format(thing=thing.replace("<br>", " "), thick=thick) for thing, thick, _ in things]
    return " ".join([words["page"]["bars"], words["bars"]["today_thick"].format(**told.figures), *said, *known])


def _style(name: str) -> str:
    """Colour of the words of a bar."""
    return "ink" if name == "today" else "ink2"


def _ends(name: str) -> tuple[float, float]:
    return CENTRES_PX[name] - HALF_PX[name], CENTRES_PX[name] + HALF_PX[name]


def _box(name: str, upper_um: float, lower_um: float) -> Array:
    """The outline of a bar [px]."""
    left, right = _ends(name)
    upper, lower = upper_um * PX_PER_UM, lower_um * PX_PER_UM
    return np.array([[left, right, right, left, left], [upper, upper, lower, lower, upper]])


def _name(text: str, name: str, style: str) -> Item:
    """What a bar is, over it."""
    return text, CENTRES_PX[name], -HEAD_PX / 2.0 + 1.0, SIZE_PX, "middle center", style


def _under(text: str, name: str, lower_um: float, style: str) -> Item:
    """How thick it is, under it."""
    return text, CENTRES_PX[name], lower_um * PX_PER_UM + 14.0, SIZE_PX, "middle center", style


def _elbow(one: Part, label_y: float) -> Array:
    """From the middle of a part to its label."""
    right, middle = _ends("today")[1], (one.upper_um + one.lower_um) / 2.0 * PX_PER_UM
    return np.array([[right, right + ELBOW_PX / 3.0, LABEL_PX - 4.0], [middle, middle, label_y]])
