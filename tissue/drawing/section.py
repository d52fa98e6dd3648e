"""The flattened sections of the three options over the columns of their table: the head of the table."""

import numpy as np

from tissue.drawing import palette
from tissue.drawing.front import small_axes, small_front
from tissue.drawing.labels import Scale, flat_labels
from tissue.drawing.outline import Curve, half_width_mm, outlines
from tissue.drawing.traces import area, axis, layout, lines, marks, words
from tissue.drawing.words import whole
from tissue.sources import data

MEASURE_SHARE, NARROW_MEASURE_SHARE = 0.2156, 0.26  # of the width, for the measures' names and the front view
GAP_SHARE = 0.012
WIDTH_PX, NARROW_PX = 1104, 900  # usual main width; under the second the narrow columns hold
HEIGHT_PX, TOP_PX, BOTTOM_PX = 252, 8, 30
DEPTH_UM, DEPTH_STEP_UM = 640.0, 50.0
TICK_MM = 0.17
TRIANGLE_PX = 10
AXES = {"surface": "2", "flap": "3", "lenticule": "4"}


def column_shares(narrow=False):
    """Shares of the width: (measures, option, gap). One measure column, then three options with a gap between.

    >>> measure, option, gap = column_shares()
    >>> round(measure + 3 * option + 2 * gap, 9)
    1.0
    """
    measure = NARROW_MEASURE_SHARE if narrow else MEASURE_SHARE
    return measure, (1.0 - measure - 2.0 * GAP_SHARE) / 3.0, GAP_SHARE


def option_domains(narrow=False):
    """Where each option's column begins and ends, as shares of the width, by name."""
    measure, option, gap = column_shares(narrow)
    starts = [measure + i * (option + gap) for i in range(3)]
    return {name: (start, start + option) for name, start in zip(palette.OPTIONS, starts, strict=True)}


def flattened(comparison, side, look, meridian_deg=0.0, kept=None, spread=False, width_px=WIDTH_PX):
    """The small front view and three sections with the front drawn flat, depth downwards on one axis.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        look: Look.
        meridian_deg: meridian through the treatment centre [degrees].
        kept: another Comparison whose cuts and floors are drawn as a thin outline.
        spread: whether the 95 % interval of the bed is drawn as a band about the floor of the removal.
        width_px: width the labels are placed for [px].
    """
    narrow = width_px < NARROW_PX
    half = half_width_mm(comparison)
    drawn = outlines(comparison, meridian_deg, half)
    before = outlines(kept, meridian_deg, half) if kept is not None else {}
    placed, scale = _placed(drawn, comparison, half, width_px, narrow)
    traces, notes = small_front(comparison, side, look, column_shares(narrow)[0], width_px, narrow)
    for name, outline in drawn.items():
        band = comparison.results[name].spread if spread else None
        traces += _section_traces(outline, look, AXES[name], scale, before.get(name), band, placed[name][1])
        notes += [_note(label, outline, look, scale) for label in placed[name][0]]
    notes += _below(drawn, side, look, scale, narrow) + [_depth_title(look, narrow, width_px)]
    limbus = float(comparison.cornea.white_to_white_mm)
    return {"data": traces, "layout": _layout(look, half, scale, narrow, width_px, limbus, notes)}


def line_names(comparison, name):
    """Names of the user's line over an option, the longest first: what the line was set for is said over the others."""
    wanted = float(comparison.judgement.bed_line_um)
    line = data("lines")["bed"]
    short = f"bed {whole(wanted)}"
    if name != "flap" and wanted == line["value"]:
        return [f"{short}, {line['for_others']}", short]
    return [short]


def _placed(drawn, comparison, half, width_px, narrow):
    """Labels and leaders of every section by name, and the scale: the depth axis grows until all have room."""
    size = 11.5 if narrow else 12.0
    half_px = column_shares(narrow)[1] * width_px / 2.0
    plot_px = HEIGHT_PX - TOP_PX - BOTTOM_PX
    depth = DEPTH_UM
    while True:
        scale = Scale(half_px / half, plot_px / depth, half_px, plot_px)
        placed = {name: flat_labels(o, scale, size, line_names(comparison, name)) for name, o in drawn.items()}
        lowest = max(label.box.bottom for labels, _ in placed.values() for label in labels)
        thickest = max(o.thickness_um for o in drawn.values()) * scale.per_um
        if max(lowest, thickest + TRIANGLE_PX) <= plot_px:
            return placed, scale
        depth += DEPTH_STEP_UM


def _section_traces(o, look, axes, scale, before, band, leaders):
    """One section from the bed up to the leaders."""
    W = palette.STRETCHED_WIDTHS
    traces = _tissues(o, look, axes)
    if o.available:
        traces += _band(o, band, look, axes)
        dash = palette.DASH[o.name]
        traces.append(lines([o.floor], axes, look.option[o.name], W.floor, dash))
        traces.append(lines([o.cut], axes, look.option[o.name], W.cut, dash))
    if before is not None:
        traces.append(lines(_outline_strokes(before), axes, look.rule2, 1.0))
    traces.append(lines([Curve([o.low_mm, o.high_mm], [0.0, 0.0])], axes, look.ink, W.front))
    traces.append(lines([o.back], axes, look.ink, W.back))
    if o.user_line is not None:
        traces.append(lines([o.user_line], axes, look.ink, W.user, palette.LINE_OF_USER))
    if o.available:
        traces.append(lines(dimension_strokes(o), axes, look.ink, W.dimension))
        traces += _leaders(leaders, look, axes, scale)
        points = _points(o, leaders, scale)
        traces += [marks(points, axes, look.ink)] if points else []
    return traces


def _tissues(o, look, axes):
    """Filled tissues: bed with its iso-depth lines, epithelium, flap or cap, removal."""
    stroma = Curve(
        np.concatenate([[o.low_mm], o.back.position_mm, [o.high_mm]]),
        np.concatenate([[0.0], o.back.depth_um, [0.0]]),
    )
    E = o.epithelium_um
    skin = Curve([o.low_mm, o.high_mm, o.high_mm, o.low_mm], [0.0, 0.0, E, E])
    traces = [
        area(stroma, axes, look.stroma),
        lines(o.iso_depths, axes, look.iso_depth, palette.STRETCHED_WIDTHS.iso_depth),
        area(skin, axes, look.epithelium, palette.EPITHELIUM_HATCH, look.epithelium_hatch),
    ]
    if o.above is not None:
        traces.append(area(o.above, axes, look.above, palette.ABOVE_HATCH, look.above_hatch))
    if o.floor is not None:
        traces.append(area(o.floor, axes, look.removed[o.name], palette.REMOVED_HATCH, look.option[o.name]))
    return traces


def _band(o, spread, look, axes):
    """The 95 % interval of the bed as a light band about the floor of the removal."""
    if spread is None or np.isnan(spread.bed_low_um):
        return []
    position, floor = o.floor.position_mm[1:-1], o.floor.depth_um[1:-1]
    highest = np.maximum(floor + (o.bed_um - float(spread.bed_high_um)), 0.0)
    lowest = floor + (o.bed_um - float(spread.bed_low_um))
    band = Curve(np.concatenate([position, position[::-1]]), np.concatenate([highest, lowest[::-1]]))
    return [area(band, axes, f"rgba({','.join(map(str, palette.channels(look.ink2)))},0.22)")]


def _outline_strokes(o):
    """Back surface, cut and floor of a kept plan."""
    return [o.back] + ([o.cut, o.floor] if o.available else [])


def dimension_strokes(o):
    """The dimension line at the treatment centre with its ticks, and the second at the deepest removal."""
    ends = [0.0, o.cut_um, o.cut_um + o.removed_um, o.thickness_um]
    strokes = [Curve([0.0, 0.0], [0.0, o.thickness_um])]
    strokes += [Curve([-TICK_MM, TICK_MM], [depth, depth]) for depth in ends[1:]]
    if o.deepest is not None:
        p, to = o.deepest.position_mm, o.cut_um + o.deepest.removed_um
        strokes.append(Curve([p, p], [o.cut_um, to]))
        strokes += [Curve([p - TICK_MM / 2, p + TICK_MM / 2], [depth, depth]) for depth in (o.cut_um, to)]
    return strokes


def _leaders(leaders, look, axes, scale):
    """Leaders as one trace, where there are any."""
    strokes = [
        Curve([x / scale.per_mm for x, _ in leader.points], [y / scale.per_um for _, y in leader.points])
        for leader in leaders
    ]
    return [lines(strokes, axes, look.ink, palette.STRETCHED_WIDTHS.leader)] if strokes else []


def _points(o, leaders, scale):
    """Dots at the leaders' ends in the tissue, and the triangle of the least bed, its apex at the place."""
    points = [(0.0, leader.points[0][1] / scale.per_um, "circle", 4.5, 0) for leader in leaders]
    if o.least is not None and o.least.on_meridian:
        below = o.least.depth_um + TRIANGLE_PX / 2.0 / scale.per_um
        points.append((o.least.position_mm, below, "triangle-up", TRIANGLE_PX, 0))
    return points


def _note(label, o, look, scale):
    """A label as words of the figure; on tissue its ground is the plain fill, so that the hatch steps aside."""
    grounds = {"epithelium": look.epithelium, "above": look.above, "stroma": look.stroma}
    axes = AXES[o.name]
    place = {"xref": "x" + axes, "yref": "y" + axes, "yanchor": "middle"}
    if label.keeps == "line":
        x, place["xanchor"], place["xshift"] = 0.0, "left", round(label.box.left, 1)
    elif label.keeps == "left":
        x, place["xanchor"] = label.box.left / scale.per_mm, "left"
    else:
        x, place["xanchor"] = label.x_px / scale.per_mm, "center"
    if label.ground:
        place["bgcolor"] = grounds.get(label.ground) or look.removed[o.name]
    return words(label.text, x, label.y_px / scale.per_um, label.size_px, look.ink, **place)


def _below(drawn, side, look, scale, narrow):
    """Under each section: the words of its two ends, and the name of the bar."""
    notes = []
    for name, o in drawn.items():
        low, high = o.meridian.end_words(side)
        xref = f"x{AXES[name]} domain"
        more = {"yref": "paper", "yanchor": "top", "yshift": -4, "italic": True}
        notes.append(words(low, 0.0, 0.0, 13, look.ink2, xref=xref, xanchor="left", **more))
        notes.append(words(high, 1.0, 0.0, 13, look.ink2, xref=xref, xanchor="right", **more))
        bar = {
            "xref": "x" + AXES[name],
            "yref": "paper",
            "yanchor": "top",
            "yshift": -6,
            "xanchor": "left",
            "xshift": 4,
        }
        notes.append(words("1 mm", 0.5, 0.0, 11, look.ink2, **bar))
    return notes


def _depth_title(look, narrow, width_px):
    """What the axis counts, beside its figures."""
    start = column_shares(narrow)[0]
    more = {"xref": "paper", "yref": "paper", "textangle": -90, "xanchor": "center", "xshift": -36, "yanchor": "middle"}
    return words("depth, µm", start, 0.42, 11, look.ink2, **more)


def _layout(look, half, scale, narrow, width_px, limbus_mm, notes):
    """Four pairs of axes over the columns of the table."""
    depth = scale.depth_px / scale.per_um
    axes = {}
    for name, domain in option_domains(narrow).items():
        axes["xaxis" + AXES[name]] = axis(domain, (-half, half), "y" + AXES[name])
        axes["yaxis" + AXES[name]] = axis((0.0, 1.0), (depth, 0.0), "x" + AXES[name])
    axes["yaxis2"] |= {
        "showticklabels": True,
        "tickvals": list(range(0, int(depth) + 1, 100)),
        "tickfont": {"size": 11, "color": look.ink2},
    }
    bars = [
        {
            "type": "line",
            "xref": "x" + AXES[name],
            "yref": "paper",
            "x0": -0.5,
            "x1": 0.5,
            "y0": -15,
            "y1": -15,
            "ysizemode": "pixel",
            "yanchor": 0,
            "line": {"color": look.ink, "width": 2},
        }
        for name in AXES
    ]
    axes |= small_axes(column_shares(narrow)[0], width_px, scale.depth_px, narrow, limbus_mm)
    return layout(look, None, HEIGHT_PX, (0, 0, TOP_PX, BOTTOM_PX), annotations=notes, shapes=bars, **axes)
