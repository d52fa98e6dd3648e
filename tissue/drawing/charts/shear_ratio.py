"""Stress in the bed against how soft the stroma is between its lamellae: one line for each state."""

import numpy as np

from tissue.drawing.base.palette import Look
from tissue.drawing.base.traces import axis, layout, lines, marks, words
from tissue.drawing.charts.stress import TITLES
from tissue.ground.vocabulary import Figure
from tissue.mechanics.states import BARE, LIFTED, SLACK, SLIDING, TAUT
from tissue.removal.options import first_name

DRAWN = {BARE: "bare", LIFTED: "lifts_flap", TAUT: "keeps_cap", SLIDING: "keeps_cap", SLACK: "keeps_cap"}
DASHES = {BARE: "solid", LIFTED: "solid", TAUT: "solid", SLIDING: "dash", SLACK: "dot"}
MARGIN_PX, HEIGHT_PX, LABEL = (44, 8, 10, 44), 300, 0.74  # the lines end at this share of the width; their names follow
APART = 0.055  # of the height, between two names


def draw_shear_ratios(found: dict[float, dict[str, float]], look: Look) -> Figure:
    """Ratios of stress in the bed over the modulus ratio, on a logarithmic scale.

    Args:
        found: {ratio: {state: stress in the bed over the intact eye}}.
        look: Look.
    """
    x = np.log10(sorted(found))
    values = {name: [found[k][name] for k in sorted(found)] for name in DRAWN if name in found[min(found)]}
    every = [value for line in values.values() for value in line]
    low, high = min(1.0, *every), max(every)
    room = 0.06 * (high - low)
    frame = layout(look, None, HEIGHT_PX, MARGIN_PX)
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}}
    at = {"tickvals": x.tolist(), "ticktext": [f"{k:g}" for k in sorted(found)]}
    frame["xaxis"] = axis((0.0, LABEL), (x[0], x[-1]), "y", **ticks, **at)
    span = (low - room, high + room)
    frame["yaxis"] = axis((0.0, 1.0), span, "x", showgrid=True, gridcolor=look.rule, **ticks)
    data, notes = [], []
    for name, line in values.items():
        colour = look.option[first_name(DRAWN[name])]
        data.append(lines([(x, np.array(line))], "", colour, 2.0, DASHES[name]))
        data.append(marks([(a, b, "circle", 5, 0.0) for a, b in zip(x, line, strict=True)], "", colour))
    places = _apart({name: line[-1] for name, line in values.items()}, APART * (span[1] - span[0]))
    for name, place in places.items():
        text = f"{TITLES[name]} {values[name][-1]:.2f}"
        notes.append(words(text, LABEL + 0.012, place, 12, look.ink, xref="paper", xanchor="left"))
    foot = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "top", "yshift": -22}
    notes.append(words("modulus over shear modulus", 0.0, 0.0, 11.5, look.ink2, **foot))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _apart(wanted: dict[str, float], least: float) -> dict[str, float]:
    """Places for names in the order of their lines, none nearer to another than `least`."""
    made, last = {}, -np.inf
    for name in sorted(wanted, key=wanted.__getitem__):
        last = max(wanted[name], last + least)
        made[name] = last
    return made


def describe_shear_ratios(found: dict[float, dict[str, float]]) -> str:
    """The lines in words, with their ends."""
    first, last = min(found), max(found)
    parts = [
        f"{TITLES[name]} {found[first][name]:.2f} to {found[last][name]:.2f}" for name in DRAWN if name in found[first]
    ]
    return f"Stress in the bed as a ratio to the intact eye, from ratio {first:g} to {last:g}: {'; '.join(parts)}."
