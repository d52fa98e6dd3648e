"""The sections of all options on one pair of axes; what looks alike is one trace, because every trace takes time."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tissue.drawing.base import palette
from tissue.drawing.base.curve import Curve, level, upright
from tissue.drawing.base.outline import Outline
from tissue.drawing.base.palette import Hatch, Look
from tissue.drawing.base.traces import Item, Points, area, lines, marks, words
from tissue.ground.vocabulary import Array, Figure

if TYPE_CHECKING:
    from tissue.drawing.base.labels import Label, Leader, Scale

BedEnds = Callable[[Mapping[str, Array]], Mapping[str, tuple[Array, Array]]]
TRIANGLE_PX = 10
GAP_PX = 2.0  # the user's line stops this far from words


class Style(NamedTuple):
    """Widths of the lines, hatch of the removal, whether thin layers are hatched too, half a tick's length [mm]."""

    widths: palette.Widths
    removed: palette.Hatch
    layers: bool
    tick_mm: float


FLAT = Style(palette.STRETCHED_WIDTHS, palette.REMOVED_HATCH, True, 0.17)
TRUE = Style(palette.TRUE_WIDTHS, palette.REMOVED_HATCH_TRUE, False, 0.09)


class Sheet:
    """One section of each option on one pair of axes, each moved to its place.

    Args:
        look: Look.
        drawn: Outlines by name, drawn flat or bent.
        placed: (labels, leaders) by name.
        scale: Scale.
        offsets: how far each section is moved to the right [mm] and down [µm], by name.
        axes: suffix of the pair of axes.
        style: Style.
        unit_um: what one step of the vertical axis stands for [µm].
    """

    def __init__(
        self,
        look: Look,
        drawn: dict[str, Outline],
        placed: dict[str, tuple[list[Label], list[Leader]]],
        scale: Scale,
        offsets: dict[str, tuple[float, float]],
        axes: str,
        *,
        style: Style = FLAT,
        unit_um: float = 1.0,
    ) -> None:
        self.look, self.scale, self.axes, self.offsets, self.style = look, scale, axes, offsets, style
        self.all = list(drawn.values())
        self.placed, self.unit_um = placed, unit_um
        self.available = [outline for outline in self.all if outline.available]

    def moved(self, outline: Outline, *curves: Points) -> list[tuple[Array, Array]]:
        """Curves of one section, moved to its place on the axes."""
        right, down = self.offsets[outline.name]
        return [(np.asarray(x) + right, (np.asarray(y) + down) / self.unit_um) for x, y in curves]

    def traces(
        self, before: Mapping[str, Outline], ends: BedEnds | None = None, bars: Sequence[Points] = ()
    ) -> list[Figure]:
        """All traces in the order in which they are drawn: tissues first, marks last.

        Args:
            before: Outlines of a kept plan by name; may be empty.
            ends: from removals [µm] by name, how far the interval reaches below and above each bed; None: no bands.
            bars: further strokes (x, y) on the axes, drawn in one trace with the back surfaces.
        """
        return self._tissues() + self._bands(ends) + self._kept(before) + self._cuts() + self._ink(bars)

    def _every(
        self, outlines: Sequence[Outline], curves: Callable[[Outline], Sequence[Points]]
    ) -> list[tuple[Array, Array]]:
        """Curves of several sections, each moved to its place; `curves` gives those of one section."""
        return [stroke for outline in outlines for stroke in self.moved(outline, *curves(outline))]

    def _tissues(self) -> list[Figure]:
        """Bed with its iso-depth lines, epithelium, flap and cap, removals with their floors."""
        look, axes = self.look, self.axes
        iso = lines(self._every(self.all, self._iso_depths), axes, look.iso_depth, self.style.widths.iso_depth)
        traces = [area(self._every(self.all, lambda o: [self._stroma(o)]), axes, look.stroma), iso]
        skins = self._every(self.all, lambda o: [skin(o)])
        traces.append(self._layer(skins, look.epithelium, palette.EPITHELIUM_HATCH, look.epithelium_hatch))
        above = self._every(self.available, lambda o: [o.above] if o.above is not None else [])
        if above:
            traces.append(self._layer(above, look.above, palette.ABOVE_HATCH, look.above_hatch))
        return traces + [trace for o in self.available for trace in self._removal(o)]

    def _layer(self, strokes: Sequence[tuple[Array, Array]], fill: str, hatch: Hatch, colour: str) -> Figure:
        """A layer above the removal; at true scale it is too thin for a hatch."""
        return area(strokes, self.axes, fill, hatch if self.style.layers else None, colour)

    def _removal(self, o: Outline) -> list[Figure]:
        """The removed area and its floor; in a flat section the floor is the whole outline of the area."""
        look, hatch = self.look, self.style.removed
        line = (look.option[o.name], self.style.widths.floor, palette.DASH[o.name])
        fill = look.removed[o.name]
        if o.removed is None:
            return [area(self.moved(o, o.floor), self.axes, fill, hatch, line[0], line)]
        floor = lines(self.moved(o, o.floor), self.axes, *line)
        return [area(self.moved(o, o.removed), self.axes, fill, hatch, line[0]), floor]

    @property
    def deepest_um(self) -> float:
        """Lower end of the depth axis [µm]."""
        return self.scale.depth_px / self.scale.per_um

    def _shown(self, curve: Curve) -> Curve:
        """The part of a curve that the depth axis reaches; its depth is least in the middle, so this is one piece."""
        position, depth = curve
        inside = np.flatnonzero(depth <= self.deepest_um)
        if inside.size in (0, position.size):
            return curve
        first, last = inside[0], inside[-1]
        x, y = position[first : last + 1], depth[first : last + 1]
        for end, beyond in ((0, first - 1), (-1, last + 1)):
            if 0 <= beyond < position.size:
                share = (self.deepest_um - y[end]) / (depth[beyond] - y[end])
                edge = [x[end] + share * (position[beyond] - x[end])], [self.deepest_um]
                x, y = (
                    np.concatenate([new, old] if end == 0 else [old, new])
                    for new, old in zip(edge, (x, y), strict=True)
                )
        return Curve(x, y)

    def _stroma(self, o: Outline) -> Curve:
        """Front to back surface as a polygon."""
        back = self._shown(o.back)
        ends = np.minimum([o.back.depth_um[-1], o.back.depth_um[0]], self.deepest_um)
        return Curve(
            np.concatenate([o.front.position_mm, [o.high_mm], back.position_mm[::-1], [o.low_mm]]),
            np.concatenate([o.front.depth_um, ends[:1], back.depth_um[::-1], ends[1:]]),
        )

    def _iso_depths(self, o: Outline) -> list[Curve]:
        """The iso-depth lines that the depth axis reaches."""
        return [curve for curve in o.iso_depths if curve.depth_um.min() < self.deepest_um]

    def _bands(self, ends: BedEnds | None = None) -> list[Figure]:
        """The 95 % interval of each bed as a light band about the floor of the removal."""
        found = ends({o.name: removed_along(o) for o in self.available}) if ends else {}
        bands = self._every(self.available, lambda o: [bed_band(o, *found[o.name])]) if ends else []
        channels = ",".join(map(str, palette.channels(self.look.ink2)))
        return [area(bands, self.axes, f"rgba({channels},0.22)")] if bands else []

    def _cuts(self) -> list[Figure]:
        """The cuts with their side cuts, each in its option's line."""
        width = self.style.widths.cut
        return [
            lines(self.moved(o, o.cut), self.axes, self.look.option[o.name], width, palette.DASH[o.name])
            for o in self.available
        ]

    def _kept(self, before: Mapping[str, Outline]) -> list[Figure]:
        """Back surface, cut and floor of a kept plan, thin and grey, where they differ from the present one."""
        strokes = []
        for o in self.all:
            old = before.get(o.name)
            names = () if old is None else ("back", "cut", "floor") if old.available else ("back",)
            pairs = [(getattr(old, name), getattr(o, name)) for name in names]
            strokes += self.moved(o, *(self._shown(was) for was, now in pairs if not same(was, now)))
        return [lines(strokes, self.axes, self.look.rule2, 1.0)] if strokes else []

    def _ink(self, bars: Sequence[Points]) -> list[Figure]:
        """Outlines, bars, the user's line, dimension lines, leaders and marks."""
        ink, axes, W = self.look.ink, self.axes, self.style.widths
        fronts = self._every(self.all, lambda o: [o.front])
        traces = [
            lines(fronts, axes, ink, W.front),
            lines([*self._every(self.all, lambda o: [self._shown(o.back)]), *bars], axes, ink, W.back),
        ]
        user = self._every([o for o in self.all if o.user_line is not None], lambda o: [self._parted(o)])
        if user:
            traces.append(lines(user, axes, ink, W.user, palette.LINE_OF_USER))
        if self.available:
            strokes = self._every(self.available, lambda o: dimension_strokes(o, self.style.tick_mm) + self._leaders(o))
            traces.append(lines(strokes, axes, ink, W.dimension))
        points = [point for o in self.available for point in self._points(o)]
        return traces + ([marks(points, axes, ink)] if points else [])

    def _parted(self, o: Outline) -> Curve:
        """The user's line with gaps where words stand."""
        line = self._shown(o.user_line)  # type: ignore[arg-type]  # asked only where it is there
        depth = np.array(line.depth_um)
        x, y = line.position_mm * self.scale.per_mm, depth * self.scale.per_um
        for one in self.placed[o.name][0]:
            left, top, right, bottom = one.box
            inside = (x > left - GAP_PX) & (x < right + GAP_PX) & (y > top - GAP_PX) & (y < bottom + GAP_PX)
            depth[inside] = np.nan
        return Curve(line.position_mm, depth)

    def _leaders(self, o: Outline) -> list[Curve]:
        """Leaders of a section as curves."""
        px = [np.array(leader.points).T for leader in self.placed[o.name][1]]
        return [Curve(x / self.scale.per_mm, y / self.scale.per_um) for x, y in px]

    def _points(self, o: Outline) -> list[tuple[float, float, str, float, int]]:
        """Dots where leaders begin, and the triangle of the least bed, its apex at the place."""
        (right, down), scale = self.offsets[o.name], self.scale
        starts = [leader.points[0] for leader in self.placed[o.name][1]]
        points = [
            (right + x / scale.per_mm, (down + y / scale.per_um) / self.unit_um, "circle", 4.5, 0) for x, y in starts
        ]
        if o.least is not None and o.least.on_meridian:
            below = o.least.depth_um + o.drop_um(o.least.position_mm) + TRIANGLE_PX / 2.0 / scale.per_um
            points.append(
                (right + o.least.position_mm, float(down + below) / self.unit_um, "triangle-up", TRIANGLE_PX, 0)
            )
        return points

    @property
    def notes(self) -> list[Figure]:
        """Labels on a hatched tissue, each on a plain patch of its colour: no hatch runs through the words."""
        return [
            self._note(o, one) for o in self.all for one in self.placed[o.name][0] if one.ground not in ("", "stroma")
        ]

    def _note(self, o: Outline, one: Label) -> Figure:
        look = self.look
        ground = {"epithelium": look.epithelium, "above": look.above}.get(one.ground) or look.removed[o.name]
        x, y = self._place(o, one)
        place: Figure = {"xanchor": "left" if one.left else "center", "yanchor": "middle", "bgcolor": ground}
        place["borderpad"] = round(one.pad_px, 2)
        return words(one.text, x, y, one.size_px, look.ink, xref="x" + self.axes, yref="y" + self.axes, **place)

    def _place(self, o: Outline, one: Label) -> tuple[float, float]:
        """Where a label begins, or its middle, on the axes."""
        x = one.box.left if one.left else one.x_px
        right, down = self.offsets[o.name]
        return right + x / self.scale.per_mm, (down + one.y_px / self.scale.per_um) / self.unit_um

    @property
    def plain_items(self) -> list[Item]:
        """Labels on plain stroma or outside the tissue, all for one trace of texts."""
        items = []
        for o in self.all:
            for one in self.placed[o.name][0]:
                if one.ground in ("", "stroma"):
                    position = "middle right" if one.left else "middle center"
                    items.append((one.text, *self._place(o, one), one.size_px, position, "ink"))
        return items


def same(was: Curve, now: Curve) -> bool:
    """Whether two Curves are drawn alike."""
    if now is None or len(was.depth_um) != len(now.depth_um):
        return False
    return all(np.allclose(old, new, atol=0.01) for old, new in zip(was, now, strict=True))


def skin(o: Outline) -> Curve:
    """The epithelium as a polygon."""
    return Curve(*(np.concatenate([upper, lower[::-1]]) for upper, lower in zip(o.front, o.epithelium, strict=True)))


def removed_along(o: Outline) -> Array:
    """The removal along its floor [µm]."""
    return np.maximum(o.floor.depth_um[1:-1] - o.cut_um - o.drop_um(o.floor.position_mm[1:-1]), 0.0)


def bed_band(o: Outline, low: Array, high: Array) -> Curve:
    """The floor of the removal between the highest and the lowest bed of the 95 % interval, as a polygon.

    Args:
        o: Outline.
        low, high: how far the interval lies under and over the bed, along the floor [µm].
    """
    position, floor = o.floor.position_mm[1:-1], o.floor.depth_um[1:-1]
    top = o.cut_um + o.drop_um(position)
    highest, lowest = np.maximum(floor - high, top), floor - low
    return Curve(np.concatenate([position, position[::-1]]), np.concatenate([highest, lowest[::-1]]))


def dimension_strokes(o: Outline, tick_mm: float) -> list[Curve]:
    """The dimension line at the treatment centre with its ticks, and the second at the deepest removal."""
    ends = [o.cut_um, o.cut_um + o.removed_um, o.thickness_um]
    strokes = [upright(0.0, 0.0, o.thickness_um)]
    strokes += [level(-tick_mm, tick_mm, depth) for depth in ends]
    if o.deepest is not None:
        p = o.deepest.position_mm
        top = o.cut_um + float(o.drop_um(p))
        to = top + o.deepest.removed_um
        strokes.append(upright(p, top, to))
        strokes += [level(p - tick_mm / 2, p + tick_mm / 2, depth) for depth in (top, to)]
    return strokes
