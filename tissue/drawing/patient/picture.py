"""A patient's picture on the screen: one large section of one way at one step, and its labels."""

import numpy as np

from tissue.drawing.base import palette
from tissue.drawing.base.labels import Label, Leader, label
from tissue.drawing.base.meridian import Meridian
from tissue.drawing.base.outline import Outline, half_width_mm
from tissue.drawing.base.palette import Hatch, Look
from tissue.drawing.base.traces import Item, area, axis, layout, lines, marks, texts
from tissue.drawing.patient.language import FIRST, words
from tissue.drawing.patient.plane import Picture, Stroke
from tissue.drawing.patient.steps import pictures
from tissue.drawing.patient.words import STEPS, Story
from tissue.ground.vocabulary import Array, Figure
from tissue.removal.options import procedures

SIZE_PX = 19.0
OVER_PX = 18.0  # from the top of what floats to the middle of its label
RISE_PX, CLEAR_PX = 30.0, 12.0  # height of a label with a leader above its dot, and above the front surface
INWARD_PX, HINGE_PX = 14.0, 8.0  # how far it begins nearer the middle than its dot; beside the open flap, farther out
BESIDE_PX, END_PX = 12.0, 6.0
WIDTH_PX, PX_PER_MM, SIDE_PX = 640, 58.0, 30.0
HEAD_PX, CAPTION_PX = 130.0, 36.0  # above the front surface, under the lowest point
HEADLINE_PX, EDGE_PX = 28.0, 8.0  # more above, for a line over the whole picture; room over what stands highest
CAPTION_SIZE_PX = 17
WIDTHS = {"front": 1.8, "back": 2.2, "side": 1.2, "cut": 2.6, "floor": 1.8, "before": 1.8, "measure": 1.2}
DOTTED = ("side", "before")
TICK_MM, DOT_PX = 0.12, 5.0


def placed(
    picture: Picture, told: Story, step: str, scale: float, half_px: float, head: float | None = None
) -> tuple[list[Label], list[Leader]]:
    """Labels and leaders of one step; x from the treatment centre, y downwards from the front surface [px].

    Args:
        picture: Picture.
        told: Story.
        step: one of STEPS.
        scale: px a mm of the picture.
        half_px: half of the figure's width [px].
        head: room above the front surface [px]; the least there is where None.
    """
    said = {name: text.format(layer=told.layer, **told.figures) for name, text in told.words["labels"].items()}
    put = _Putting(picture, scale, half_px)
    put.above("skin", said["skin"])
    put.above("before", said["before"])
    put.above("opening", said["way_out" if step == "out" else "opening"])
    put.above("hinge", said["hinge"], -HINGE_PX)
    put.centred("stays", said["stays"], "stroma")
    put.beside("middle", said["today"])
    put.above("layer", said["depth" if step == "cut" and procedures()[told.way].keeps_cap else "layer"])
    taken = said["ring" if told.ring else "piece"]
    if told.ring:
        put.at_the_top("under", taken, -(head or least_head_px(told)) + HEADLINE_PX / 2.0)
    else:
        put.centred("under", taken, "")
    put.over("over", taken if step == "out" else said["layer"])
    return put.labels, put.leaders


class _Putting:
    """Puts labels at the places of a Picture; places that it does not have are skipped."""

    def __init__(self, picture: Picture, scale: float, half_px: float) -> None:
        self.labels: list[Label] = []
        self.leaders: list[Leader] = []
        self.places = {name: (x * scale, y * scale) for name, (x, y) in picture.places.items()}
        self.half_px = half_px
        fronts = [stroke.points * scale for stroke in picture.strokes if stroke.role in ("front", "before")]
        self.fronts = [points for points in fronts if np.all(np.diff(points[0]) >= 0)]

    def centred(self, name: str, text: str, ground: str) -> None:
        """About its place."""
        if name in self.places:
            self.labels.append(label(text, *self.places[name], SIZE_PX, ground))

    def at_the_top(self, name: str, text: str, y: float) -> None:
        """In the middle over the whole picture, where the words are too long for their place."""
        if name in self.places:
            self.labels.append(label(text, 0.0, y, SIZE_PX))

    def over(self, name: str, text: str) -> None:
        """Above its place, without a leader."""
        if name in self.places:
            x, y = self.places[name]
            self.labels.append(label(text, x, y - OVER_PX, SIZE_PX))

    def beside(self, name: str, text: str) -> None:
        """Right of its place."""
        if name in self.places:
            x, y = self.places[name]
            self.labels.append(label(text, x + BESIDE_PX, y, SIZE_PX, "stroma", left=True))

    def above(self, name: str, text: str, inward_px: float = INWARD_PX) -> None:
        """Above its place and the front surface, outwards, with a leader to a dot."""
        if name not in self.places:
            return
        x, y = self.places[name]
        sign = 1.0 if x > 0 else -1.0
        size = label(text, 0.0, 0.0, SIZE_PX)
        middle = x + sign * (size.width_px / 2.0 - inward_px)
        limit = self.half_px - END_PX - size.width_px / 2.0
        middle = float(np.clip(middle, -limit, limit))
        inner = middle - sign * size.width_px / 2.0
        front = min(float(np.interp(inner, *points)) for points in self.fronts)
        bottom = min(y - RISE_PX, front - CLEAR_PX)
        put = label(text, middle, bottom - size.height_px / 2.0, SIZE_PX)
        self.labels.append(put)
        to = float(np.clip(x, put.box.left + 10.0, put.box.right - 10.0))
        self.leaders.append(Leader(((x, y), (to, put.box.bottom + 1.0))))


def least_head_px(told: Story) -> float:
    """Least room above the front surface [px]; a place in words takes a line more.

    Args:
        told: Story.
    """
    return HEAD_PX + HEADLINE_PX * told.ring


def head_px(told: Story, drawn: dict[str, Picture], scale: float) -> float:
    """Room above the front surface [px], the same in every step: a thick or wide flap that stands open needs more.

    Args:
        told: Story.
        drawn: Pictures by step.
        scale: px a mm of the picture.
    """
    tops = [picture.top_mm * scale for picture in drawn.values()]
    for step, picture in drawn.items():
        tops += [one.box.top for one in placed(picture, told, step, scale, WIDTH_PX / 2.0, EDGE_PX)[0]]
    return max(least_head_px(told), EDGE_PX - min(tops) + HEADLINE_PX * told.ring)


def step_section(told: Story, step: str, look: Look, known: tuple[Outline, dict[str, Picture]] | None = None) -> Figure:
    """The large section of one step.

    Args:
        told: Story.
        step: one of STEPS; `before` where the way leaves nothing to show.
        look: Look.
        known: the result of `steps.pictures` for this way, where it is at hand.
    """
    outline, drawn = known or pictures(told.comparison, told.way)
    step = step if step in drawn else STEPS[0]
    scale = min(PX_PER_MM, (WIDTH_PX - 2.0 * SIDE_PX) / (2.0 * half_width_mm(told.comparison)))
    head = head_px(told, drawn, scale)
    labels, leaders = placed(drawn[step], told, step, scale, WIDTH_PX / 2.0, head)
    bottom = max(picture.bottom_mm for picture in drawn.values())
    traces = [area(one.points, "", *fill_of(one.tissue, told.way, look)) for one in drawn[step].areas]
    traces += [_line(one, told.way, look) for one in drawn[step].strokes]
    if leaders:
        traces.append(lines([np.array(one.points).T / scale for one in leaders], "", look.ink, 1.0))
        dots = [(*(np.array(one.points[0]) / scale), "circle", DOT_PX, 0) for one in leaders]
        traces.append(marks(dots, "", look.ink))
    items = [_item(one, scale) for one in labels]
    items += _under(told, outline.meridian, scale, bottom + 0.5 * CAPTION_PX / scale)
    traces.append(texts(items, "", look))
    height = head + bottom * scale + CAPTION_PX
    half, ends = WIDTH_PX / 2.0 / scale, (bottom + CAPTION_PX / scale, -head / scale)
    axes = {"xaxis": axis((0, 1), (-half, half), "y"), "yaxis": axis((0, 1), ends, "x")}
    return {"data": traces, "layout": layout(look, WIDTH_PX, round(height), (0, 0, 0, 0), **axes)}


def describe_section(told: Story, step: str) -> str:
    """Alternative text of the large section; arguments as `step_section`."""
    page, steps = told.words["page"], dict(zip(STEPS, told.steps, strict=False))
    head, sentence = steps[step if step in steps else STEPS[0]]
    at = STEPS.index(step) + 1 if step in steps else 1
    where = page["title"].format(eye=page["eyes"][told.side])
    picture = page["picture"].format(at=at, of=len(steps), head=head)
    return f"{where}. {told.name}. {picture} {sentence} {page['scale']}"


def end_words(line: Meridian, side: str, language: str = FIRST) -> list[str]:
    """Everyday words for both ends of a meridian: nose side, upper side …"""
    known = words(language)["ends"]
    return [known[word] for word in line.end_words(side)]


def fill_of(tissue: str, way: str, look: Look) -> tuple[str, Hatch | None, str | None]:
    """Fill, Hatch and its colour of a tissue; what is taken out in the colour of its way."""
    return {
        "stroma": (look.stroma, None, None),
        "epithelium": (look.epithelium, palette.EPITHELIUM_HATCH, look.epithelium_hatch),
        "above": (look.above, palette.ABOVE_HATCH, look.above_hatch),
        "removed": (look.removed[way], palette.REMOVED_HATCH, look.option[way]),
        "gap": (look.page, None, None),
    }[tissue]


def _line(one: Stroke, way: str, look: Look) -> Figure:
    """A line in ink, the cut and the floor of the piece in the colour of the way."""
    colour = look.option[way] if one.role in ("cut", "floor") else look.ink
    strokes: list[Array] = [one.points]
    if one.role in DOTTED:
        colour = look.rule2
    if one.role == "measure":
        x, y = one.points
        strokes += [np.array([[x[i] - TICK_MM, x[i] + TICK_MM], [y[i], y[i]]]) for i in (0, -1)]
    return lines(strokes, "", colour, WIDTHS[one.role], "dot" if one.role in DOTTED else "solid")


def _item(one: Label, scale: float) -> Item:
    """A label on plain ground, for the one trace of texts."""
    x = one.box.left if one.left else one.x_px
    position = "middle right" if one.left else "middle center"
    return one.text, x / scale, one.y_px / scale, SIZE_PX, position, "ink"


def _under(told: Story, line: Meridian, scale: float, y_mm: float) -> list[Item]:
    """Words of both ends, and that thickness is drawn larger."""
    half = (WIDTH_PX / 2.0 - SIDE_PX) / scale
    low, high = end_words(line, told.side, told.language)
    return [
        (low, -half, y_mm, CAPTION_SIZE_PX, "middle right", "italic"),
        (told.words["page"]["scale"], 0.0, y_mm, CAPTION_SIZE_PX, "middle center", "ink2"),
        (high, half, y_mm, CAPTION_SIZE_PX, "middle left", "italic"),
    ]
