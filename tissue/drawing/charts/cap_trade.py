"""What a thicker cap keeps open and what it costs: bed over the line, and room for a thin flap, against the cap."""

from typing import NamedTuple

import numpy as np

from tissue.drawing.base.fonts import text_width
from tissue.drawing.base.palette import mix
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.drawing.base.words import whole
from tissue.sources import data

HEIGHT_PX, MARGIN_PX = 300, (52, 176, 34, 44)
STEP_UM, PAD_UM = 25.0, 8.0
TINT = 0.07  # ink in the page, behind the caps of one centre
APART_PX = 34.0  # two names at the right end keep this from each other
BED, ROOM = "bed over the line", "room for a thin flap"


class Trade(NamedTuple):
    """Arrays over cap thickness [µm]: reserve of the bed over the line, room beyond what a thin flap needs.

    cap_now_um: cap of the plan. cap_needed_um: thinnest cap in which the thin flap has room.
    """

    cap_um: object
    reserve_um: object
    room_um: object
    cap_now_um: float
    cap_needed_um: float


def cap_lines(trade, look, width_px):
    """Both lines against the cap, with the plan's cap, the cap a thin flap needs, and one centre's caps.

    Args:
        trade: Trade.
        look: Look.
        width_px: width of the figure [px].
    """
    caps = trade.cap_um
    low, high = _range(trade)
    frame = layout(look, None, HEIGHT_PX, MARGIN_PX)
    ticks = {
        "ticks": "outside",
        "ticklen": 6,
        "tickcolor": look.page,
        "showticklabels": True,
        "tickfont": {"size": 11, "color": look.ink2},
        "showgrid": True,
    }
    frame["xaxis"] = axis((0.0, 1.0), (caps[0], caps[-1]), "y", gridcolor=look.rule, dtick=10, **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (low, high), "x", gridcolor=look.rule, dtick=STEP_UM, **ticks)
    thick = data("ways_out")["enhancement"]["thick_caps"]
    x = np.array([thick["low_um"], thick["high_um"], thick["high_um"], thick["low_um"]])
    traces = [area((x, np.array([low, low, high, high])), "", mix(look.page, look.ink, TINT))]
    traces.append(lines([((caps[0], caps[-1]), (0.0, 0.0))], "", look.ink, 1))
    traces.append(lines([(caps, trade.reserve_um)], "", look.option["lenticule"], 2.2))
    traces.append(lines([(caps, trade.room_um)], "", look.option["flap"], 2.2, "dash"))
    upright, points, notes = _places(trade, look, low, high)
    if upright:
        traces.append(lines(upright, "", look.ink, 0.9, "dot"))
        traces.append(marks(points, "", look.ink))
    return {"data": traces, "layout": frame | {"annotations": notes + _names(trade, thick, look, low, high, width_px)}}


def _range(trade):
    """Ends of the axis [µm], in whole steps, 0 within."""
    both = np.concatenate([trade.reserve_um, trade.room_um, [0.0]])
    both = both[np.isfinite(both)]
    low, high = STEP_UM * np.floor(both.min() / STEP_UM), STEP_UM * np.ceil((both.max() + PAD_UM) / STEP_UM)
    return float(low) - PAD_UM, float(high)


def _places(trade, look, low, high):
    """The plan's cap with both figures; the cap at which the room begins: upright lines, points, words."""
    caps, upright, points, notes = trade.cap_um, [], [], []
    for at, name in ((trade.cap_now_um, "this plan"), (trade.cap_needed_um, "a thin flap fits from")):
        if not caps[0] <= at <= caps[-1]:  # also where it is not known
            continue
        upright.append(((at, at), (low, high)))
        notes.append(words(f"{name} <b>{whole(np.ceil(at - 1e-9))}</b>", at, high, 12, look.ink, yanchor="bottom"))
        if name == "this plan":
            for values, shift in ((trade.reserve_um, 9), (trade.room_um, -10)):
                value = float(np.interp(at, caps, values))
                if np.isfinite(value):
                    points.append((at, value, "circle", 7, 0))
                    notes.append(
                        words(
                            f"<b>{whole(value)}</b>", at, value, 12.5, look.ink, xshift=7, yshift=shift, xanchor="left"
                        )
                    )
    return upright, points or [(trade.cap_needed_um, 0.0, "circle", 7, 0)], notes


def _names(trade, thick, look, low, high, width_px):
    """Names at the right ends of the lines, of the axes, and of the shaded caps."""
    ends = [float(values[-1]) for values in (trade.reserve_um, trade.room_um)]
    per_um = (HEIGHT_PX - MARGIN_PX[2] - MARGIN_PX[3]) / (high - low)
    gap = abs(ends[0] - ends[1]) * per_um if np.isfinite(ends).all() else APART_PX
    shift = max(0.0, (APART_PX / 2.0 - gap) / 2.0)
    notes = []
    for i, (name, end) in enumerate(zip((BED, ROOM), ends, strict=True)):
        if np.isfinite(end):
            upper = end > ends[1 - i] or (end == ends[1 - i] and i == 0) or not np.isfinite(ends[1 - i])
            place = {"xanchor": "left", "xshift": 8, "yshift": shift if upper else -shift}
            notes.append(words(f"{name} <b>{whole(end)}</b>", trade.cap_um[-1], end, 12.5, look.ink, **place))
    corner = {"xref": "paper", "yref": "paper", "xanchor": "left"}
    notes.append(words("µm", 0.0, 1.0, 11.5, look.ink2, yanchor="bottom", xshift=-40, yshift=4, **corner))
    notes.append(words("cap thickness, µm", 0.0, 0.0, 11.5, look.ink2, yanchor="top", yshift=-22, **corner))
    middle = 0.5 * (thick["low_um"] + thick["high_um"])
    per_cap = (width_px - MARGIN_PX[0] - MARGIN_PX[1]) / float(trade.cap_um[-1] - trade.cap_um[0])
    said = f"one centre’s caps<br>{thick['low_um']} to {thick['high_um']}"
    if text_width("one centre’s caps", 11.5) < 2.4 * per_cap * (thick["high_um"] - thick["low_um"]):
        tint = mix(look.page, look.ink, TINT)
        notes.append(words(said, middle, high, 11.5, look.ink2, yanchor="top", yshift=-3, bgcolor=tint))
    return notes


def describe_cap_lines(trade):
    """The picture in words, with its numbers."""
    parts = [
        f"cap {cap:.0f}: bed {whole(trade.reserve_um[i])} over the line, {ROOM} {whole(trade.room_um[i])}"
        for i, cap in enumerate(trade.cap_um)
        if cap % 10 == 0
    ]
    now = f"The plan's cap is {whole(trade.cap_now_um)}"
    needed = f"; a thin flap has room from {whole(np.ceil(trade.cap_needed_um))}" if trade.cap_needed_um > 0 else ""
    return f"In µm; under 0 there is none. {'; '.join(parts)}. {now}{needed}."
