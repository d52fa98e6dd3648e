"""Sections on the curved front surface, one below another: at true scale, and with depth multiplied by four."""

from functools import partial
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tissue.budget.comparison import Comparison, bed_ends
from tissue.drawing.base import palette
from tissue.drawing.base.handles import with_handles
from tissue.drawing.base.labels import Scale
from tissue.drawing.base.outline import Outline, bent, half_width_mm, outlines
from tissue.drawing.base.palette import Look
from tissue.drawing.base.placing import flat_labels
from tissue.drawing.base.sheet import FLAT, TRUE, Sheet, Style
from tissue.drawing.base.traces import Item, axis, layout, lines, texts, words
from tissue.drawing.section import arch as around
from tissue.drawing.section.arch import Arch
from tissue.drawing.section.handles import section_handles
from tissue.drawing.section.section import WIDTH_PX, line_names
from tissue.ground.vocabulary import Array, Figure

TRUE_PX_PER_MM, STRETCHED_PX_PER_MM = 80.0, 62.0
FACTOR = 4.0
TITLE_PX = 52.0  # from the title's middle to the front surface
ABOVE_PX, BETWEEN_PX = 66.0, 12.0
KEY_PX = 34.0  # line key before a title
SIZE_PX = 12.5


def true_scale(
    comparison: Comparison,
    side: str,
    look: Look,
    meridian_deg: float = 0.0,
    *,
    kept: Comparison | None = None,
    spread: bool = False,
    width_px: float = WIDTH_PX,
) -> Figure:
    """The three sections from limbus to limbus, width and depth at one scale.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        look: Look.
        meridian_deg: meridian through the treatment centre [degrees].
        kept: another Comparison, drawn as a thin outline.
        spread: whether the 95 % interval of the bed is drawn.
        width_px: width of the figure [px].
    """
    around_them = arches(comparison, side, meridian_deg, width_px, True)
    before = {name: bent(o) for name, o in outlines(kept, meridian_deg).items()} if kept is not None else {}
    return _stacked(comparison, look, around_them, before, width_px, TRUE, spread=spread)


def depth_times_four(
    comparison: Comparison,
    side: str,
    look: Look,
    meridian_deg: float = 0.0,
    *,
    kept: Comparison | None = None,
    spread: bool = False,
    width_px: float = WIDTH_PX,
) -> Figure:
    """The three sections with front surface and width to scale and depth multiplied by four from the front surface.

    Args: as `true_scale`.
    """
    around_them = arches(comparison, side, meridian_deg, width_px, False)
    before = {}
    if kept is not None:
        flat = outlines(kept, meridian_deg, half_width_mm(comparison))
        before = {name: bent(outline, FACTOR) for name, outline in flat.items()}
    return _stacked(comparison, look, around_them, before, width_px, FLAT, spread=spread)


def arches(comparison: Comparison, side: str, meridian_deg: float, width_px: float, true: bool) -> dict[str, Arch]:
    """The bent outline of every option with its labels and what stands round it, by name.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        meridian_deg: meridian [degrees].
        width_px: width of the figure [px].
        true: true scale; else depth multiplied by four.
    """
    half = half_width_mm(comparison)
    flat = outlines(comparison, meridian_deg, None if true else half)
    first = next(iter(flat.values()))
    if true:
        chord = first.high_mm - first.low_mm + 2.0 * around.RUN_OUT_MM
        per_mm, factor = min(TRUE_PX_PER_MM, (width_px - 16.0) / chord), 1.0
    else:
        chord, factor = 2.0 * half, FACTOR
        per_mm = min(STRETCHED_PX_PER_MM, (width_px - 130.0) / chord)
    scale = Scale(per_mm, per_mm * factor / 1000.0, chord / 2.0 * per_mm, np.inf)
    found = {name: around.Arch(bent(outline, factor), scale, SIZE_PX) for name, outline in flat.items()}
    for name, arch in found.items():
        dress = _dress_true if true else _dress_stretched
        dress(arch, comparison, side, name, width_px)
    return found


def _dress_true(arch: Arch, comparison: Comparison, side: str, name: str, width_px: float) -> None:
    """Label columns, widths, bars and ends of one section at true scale."""
    option = comparison.results[name].option
    limit = width_px / 2.0 - 4.0
    around.columns(arch, limit)
    around.user_line(arch, f"your line: {line_names(comparison, name)[-1]}", limit)
    around.under_arch(arch, float(comparison.cornea.central_thickness_um))
    treated, cut = 2.0 * float(option.removal.radius_mm), float(option.cut_diameter_mm)
    around.width_lines(arch, float(option.removal.zone_mm), treated, cut)
    around.scale_bars(arch, 500.0, "500 µm")
    around.end_words(arch, side)
    around.run_outs(arch)


def _dress_stretched(arch: Arch, comparison: Comparison, side: str, name: str, width_px: float) -> None:
    """Labels, bars and ends of one section with its depth multiplied."""
    around.openings(arch)
    names, taken = line_names(comparison, name), (arch.labels, arch.leaders)
    arch.labels, arch.leaders = flat_labels(arch.outline, arch.scale, SIZE_PX, names, taken)
    arch.bottom_px = max(one.box.bottom for one in arch.labels)
    around.scale_bars(arch, 200.0, "200 µm of depth")
    around.end_words(arch, side)
    arch.dotted += around.edges(arch)


def _stacked(
    comparison: Comparison,
    look: Look,
    arches: dict[str, Arch],
    before: dict[str, Outline],
    width_px: float,
    style: Style,
    *,
    spread: bool,
) -> Figure:
    """One figure of sections one under another on one pair of axes in mm, both at one scale."""
    scale = next(iter(arches.values())).scale
    drawn = {name: arch.outline for name, arch in arches.items()}
    tallest = max(arch.bottom_px for arch in arches.values())
    pitch = ABOVE_PX + tallest + BETWEEN_PX
    offsets = {name: (0.0, (ABOVE_PX + i * pitch) / scale.per_um) for i, name in enumerate(drawn)}
    placed = {name: (arch.labels, arch.leaders) for name, arch in arches.items()}
    unit_um = scale.per_mm / scale.per_um  # µm drawn as one mm
    sheet = Sheet(look, drawn, placed, scale, offsets, "", style=style, unit_um=unit_um)
    stack = _Stack(look, arches, scale, offsets)
    middle = next(iter(arches.values())).middle_px
    ends = partial(bed_ends, comparison) if spread else None
    traces = sheet.traces(before, ends) + stack.traces(style) + stack.keys(middle - width_px / 2.0)
    traces.append(texts(sheet.plain_items + stack.items(), "", look))
    height = pitch * len(arches)
    half = width_px / 2.0
    across = ((middle - half) / scale.per_mm, (middle + half) / scale.per_mm)
    axes = {
        "xaxis": axis((0.0, 1.0), across, "y"),
        "yaxis": axis((0.0, 1.0), (height / scale.per_mm, 0.0), "x", scaleanchor="x", scaleratio=1),
    }
    notes = sheet.notes + stack.titles(middle - half, "" if style is TRUE else "depth × 4")
    handles = with_handles(section_handles(comparison, sheet))
    frame = layout(look, None, round(height), (0, 0, 0, 0), annotations=notes, **axes)
    return {"data": traces, "layout": frame | handles}


class _Stack:
    """What surrounds the sections of one figure, moved to the place of each section."""

    def __init__(
        self, look: Look, arches: dict[str, Arch], scale: Scale, offsets: dict[str, tuple[float, float]]
    ) -> None:
        self.look, self.arches, self.scale, self.offsets = look, arches, scale, offsets

    def _at(self, name: str, x_px: ArrayLike, y_px: ArrayLike) -> tuple[Any, Any]:
        """A place of a section on the axes [mm]."""
        down = self.offsets[name][1] * self.scale.per_um
        return np.asarray(x_px) / self.scale.per_mm, (np.asarray(y_px) + down) / self.scale.per_mm

    def _strokes(self, which: str) -> list[tuple[Array, Array]]:
        return [self._at(name, *stroke) for name, arch in self.arches.items() for stroke in getattr(arch, which)]

    def traces(self, style: Style) -> list[Figure]:
        """Width lines with their uprights, run-outs or edges, bars, and the ends of a section at true scale."""
        look = self.look
        found: list[tuple[Any, ...]] = [
            (self._strokes("widths"), look.rule2, 1.0, "solid"),
            (self._strokes("uprights"), look.rule2, 0.8, "dot"),
            (self._strokes("dotted"), look.rule2, 1.2, "dot"),
            (self._strokes("bars"), look.ink, 2.0, "solid"),
        ]
        if style is TRUE:
            ends = [self._at(name, *stroke) for name, arch in self.arches.items() for stroke in around.edges(arch)]
            found.append((ends, look.ink, style.widths.front, "solid"))
        return [lines(strokes, "", *how) for strokes, *how in found if strokes]

    def keys(self, left_px: float) -> list[Figure]:
        """A piece of each option's line before its title."""
        width = palette.STRETCHED_WIDTHS.cut
        return [
            lines(
                [self._at(name, (left_px + 1.0, left_px + 1.0 + KEY_PX), (-TITLE_PX, -TITLE_PX))],
                "",
                self.look.option[name],
                width,
                palette.DASH[name],
            )
            for name in self.arches
        ]

    def titles(self, left_px: float, said: str) -> list[Figure]:
        """Each option's name, and what is not to scale."""
        notes = []
        for name in self.arches:
            x, y = self._at(name, left_px + KEY_PX + 10.0, -TITLE_PX)
            place = {"xanchor": "left", "yanchor": "middle"}
            notes.append(words(palette.HEADS[name], x, y, 17, self.look.ink, serif=True, weight=600, **place))
            if said:
                notes.append(words(said, x, y, 12, self.look.ink2, xshift=190, **place))
        return notes

    def items(self) -> list[Item]:
        """Small words and the words of the ends, for one trace of texts."""
        items: list[Item] = []
        for name, arch in self.arches.items():
            for one in arch.small:
                x = one.x_px - one.width_px / 2.0 if one.left else one.x_px
                position = "middle right" if one.left else "middle center"
                across, down = map(float, self._at(name, x, one.y_px))
                items.append((one.text, across, down, one.size_px, position, "ink2"))
            for word, x, y, end in arch.ends:
                position = "middle right" if end == 0 else "middle left"
                across, down = map(float, self._at(name, x, y))
                items.append((word, across, down, 15, position, "italic"))
        return items
