"""Strength against depth, one column an option: what still counts as loaded, what is removed, what is not counted."""

from typing import NamedTuple

import numpy as np

from tissue.drawing.base.palette import ABOVE, ABOVE_HATCH, REMOVED_HATCH
from tissue.drawing.base.traces import area, axis, layout, lines, words
from tissue.drawing.base.words import whole
from tissue.drawing.section.section import column_shares, option_domains
from tissue.strength.relationship import relationships
from tissue.strength.strength import density_range, relative_strength

DENSITY_SPAN = (0.0, 2.35)
CROWDED = 3  # so many lines under the sum need more room
DRAWN_TO = 0.8  # of the stroma: behind it only the band of the reconstruction is known
RECONSTRUCTED = "reinstein2013"
LABEL_PX = 17.0  # a layer holds its label where it is this high
MARGINS = (0, 0, 4, 40)  # px: left, right, top, bottom
HEIGHT_PX = 290


class Layer(NamedTuple):
    """A stretch of depth [µm] with its words, its fill and the hatch over it."""

    top_um: float
    bottom_um: float
    text: str
    counted: bool
    hatch: object


def layers(comparison, result):
    """The layers of one option from the epithelium's back face to the back of the cornea."""
    cornea, option = comparison.cornea, result.option
    E, CCT = float(cornea.epithelium_um), float(cornea.central_thickness_um)
    cut, floor = float(option.cut_um), float(option.cut_um + result.budget.removal_central_um)
    credit, found = float(option.credit), []
    if cut > E:
        share = "not counted" if credit == 0 else ("counted" if credit == 1 else f"{100 * credit:.0f} % counted")
        found.append(Layer(E, cut, f"{ABOVE[option.name]}, {share}", credit > 0, ABOVE_HATCH if credit == 0 else None))
    found.append(Layer(cut, floor, "removed", False, REMOVED_HATCH))
    return [*found, Layer(floor, CCT, "", True, None)]


def strength_profiles(comparison, look, narrow=False, drawn=None):
    """Density of the chosen relationship against depth, with what each option keeps shaded.

    Args:
        comparison: Comparison of one eye.
        look: Look.
        narrow: whether the narrow columns hold.
        drawn: 95 % interval of the strength of each option by its name [%]; None before it is known.
    """
    start = column_shares(narrow)[0]
    deepest = 50.0 * np.ceil((float(comparison.cornea.central_thickness_um) + 1.0) / 50.0)
    data, notes = [], [_axis_words(start, look)]
    frame = layout(look, None, HEIGHT_PX, MARGINS)
    for number, (name, domain) in enumerate(option_domains(narrow).items(), 1):
        result = comparison.results[name]
        axes = "" if number == 1 else str(number)
        frame["xaxis" + axes] = axis(
            domain, DENSITY_SPAN, "y" + axes, tickvals=[0, 1, 2], showticklabels=True, ticks="outside", ticklen=3,
            tickfont={"size": 11, "color": look.ink2}, tickcolor=look.rule2,
        )  # fmt: skip
        more = {"tickvals": list(range(0, int(deepest), 100)), "showticklabels": True} if number == 1 else {}
        tickfont = {"size": 11, "color": look.ink2}
        frame["yaxis" + axes] = axis((0.0, 1.0), (deepest, 0.0), "x" + axes, tickfont=tickfont, **more)
        data += _column(comparison, result, axes, look)
        notes += _notes(comparison, result, axes, deepest, look, errors_words(drawn, name))
    place = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "top", "yshift": -20}
    notes.append(words("strength at that depth, mean of the stroma = 1", start, 0.0, 11, look.ink2, **place))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _axis_words(start, look):
    place = {"xref": "paper", "yref": "paper", "textangle": -90, "xshift": -38, "xanchor": "center"}
    return words("depth, µm", start, 0.5, 11, look.ink2, **place)


def _curve(comparison, top_um, bottom_um):
    """Depth [µm] and density of the chosen relationship between two depths."""
    cornea = comparison.cornea
    depth = np.linspace(top_um, bottom_um, max(2, int((bottom_um - top_um) / 4.0) + 2))
    inside = np.clip(depth, float(cornea.epithelium_um) + 1e-6, float(cornea.central_thickness_um) - 1e-6)
    chosen = relationships()[comparison.judgement.relationship]
    return depth, chosen.density(inside, cornea.central_thickness_um, cornea.epithelium_um)


def _column(comparison, result, axes, look):
    """Areas and lines of one option."""
    cornea = comparison.cornea
    E, CCT = float(cornea.epithelium_um), float(cornea.central_thickness_um)
    data = [_area_of(comparison, layer, result.option.name, axes, look) for layer in _drawn(comparison, result)]
    drawn_to = CCT
    if comparison.judgement.relationship == RECONSTRUCTED:
        share = np.linspace(0.0, 1.0, 81)
        low, high = density_range(share)
        depth = E + share * (CCT - E)
        outline = (np.concatenate([low, high[::-1]]), np.concatenate([depth, depth[::-1]]))
        data.append(area(outline, axes, _veil(look)))
        drawn_to = E + DRAWN_TO * (CCT - E)
    depth, density = _curve(comparison, E, drawn_to)
    frame = [(DENSITY_SPAN, (0.0, 0.0)), (DENSITY_SPAN, (CCT, CCT))]
    return [
        *data,
        lines([(DENSITY_SPAN, (E, E))], axes, look.rule2, 1),
        lines([((0.0, 0.0), (0.0, CCT))], axes, look.rule2, 1),
        lines([(density, depth)], axes, look.ink, 1.8),
        lines(frame, axes, look.ink, 1.5),
    ]


def _drawn(comparison, result):
    return layers(comparison, result) if result.available else []


def _veil(look):
    return "rgba(29,35,39,.14)" if look.name == "light" else "rgba(236,232,223,.16)"


def _area_of(comparison, layer, name, axes, look):
    """One layer between the axis and the curve."""
    depth, density = _curve(comparison, layer.top_um, layer.bottom_um)
    outline = (np.concatenate([[0.0], density, [0.0]]), np.concatenate([depth[:1], depth, depth[-1:]]))
    fill = look.removed[name] if layer.counted else look.page
    return area(outline, axes, fill, layer.hatch, look.rule2)


def _notes(comparison, result, axes, deepest, look, errors):
    """Words of one column: its layers, and what is counted."""
    E = float(comparison.cornea.epithelium_um)
    here = {"xref": "x" + axes, "yref": "y" + axes, "xanchor": "left", "xshift": 6}
    per_um = (HEIGHT_PX - MARGINS[2] - MARGINS[3]) / deepest
    notes = [words("epithelium, no strength", 0.0, E / 2.0, 11, look.ink2, **here)]
    if not result.available:
        return [*notes, words(f"no figures: {result.why_not}", 0.0, deepest / 2.0, 12, look.ink, **here)]
    thin = [errors] if errors else []
    for layer in layers(comparison, result):
        if not layer.text:
            continue
        if (layer.bottom_um - layer.top_um) * per_um < LABEL_PX:
            thin.append(layer.text)
            continue
        ground = look.removed[result.option.name] if layer.counted else look.page
        middle = (layer.top_um + layer.bottom_um) / 2.0
        notes.append(words(layer.text, 0.0, middle, 12, look.ink, bgcolor=ground, **here))
    return notes + _sum(comparison, result, thin, axes, deepest, look)


def errors_words(drawn, name):
    """What the errors of measurement and cutting do to the strength of an option, in words; empty where not known.

    >>> errors_words({"flap": (45.24, 51.6)}, "flap")
    '45.2–51.6 under the errors, 95 %'
    """
    if drawn is None or np.isnan(drawn[name]).any():
        return ""
    low, high = drawn[name]
    return f"{low:.1f}–{high:.1f} under the errors, 95 %"


def _sum(comparison, result, thin, axes, deepest, look):
    """What is counted, its range, and the layers too thin for their own words."""
    place = {"xref": "x" + axes, "yref": "y" + axes, "xanchor": "right", "align": "right"}
    found = result.strength
    value = found.strength_percent[comparison.judgement.relationship]
    text = "no strength given" if np.isnan(value) else f"<b>{value:.1f} %</b> counted"
    more = list(thin)
    if comparison.judgement.relationship == RECONSTRUCTED and not np.isnan(found.strength_low_percent):
        more.insert(0, f"{found.strength_low_percent:.1f}–{found.strength_high_percent:.1f} over all fitting curves")
    low = (0.80 if len(more) < CROWDED else 0.75) * float(comparison.cornea.central_thickness_um)
    notes = [words(text, DENSITY_SPAN[1] - 0.06, low, 14, look.ink, yanchor="bottom", **place)]
    if more:
        lines_ = "<br>".join(more)
        notes.append(words(lines_, DENSITY_SPAN[1] - 0.06, low, 11.5, look.ink2, yanchor="top", **place))
    return notes


def describe_profiles(comparison, drawn=None):
    """The profiles in words, with their numbers; arguments as in `strength_profiles`."""
    chosen = relationships()[comparison.judgement.relationship]
    parts = []
    for result in comparison.results.values():
        value = result.strength.strength_percent[chosen.id]
        if not result.available or np.isnan(value):
            parts.append(f"{result.option.title}: no strength given.")
            continue
        stretches = "; ".join(
            f"{layer.text or 'counted'} from {whole(layer.top_um)} to {whole(layer.bottom_um)} µm"
            for layer in layers(comparison, result)
        )
        errors = errors_words(drawn, result.option.name)
        counted = f"{value:.1f} % counted{', ' if errors else ''}{errors}"
        parts.append(f"{result.option.title}: {counted}; {stretches}.")
    return f"Strength against depth by {chosen.label}. " + " ".join(parts)


def credited(comparison, result, credit):
    """Relative strength [%] of an option if the layer above its cut counted by `credit` [0–1]; NaN where none is given.

    Args:
        comparison: Comparison of one eye.
        result: one of its Results.
        credit: share of the layer above the cut that counts [0–1].
    """
    cornea, option = comparison.cornea, result.option
    chosen = relationships()[comparison.judgement.relationship]
    known = result.strength.strength_percent[chosen.id]
    value = relative_strength(
        chosen, cornea.central_thickness_um, cornea.epithelium_um, option.cut_um, option.removal.central_um, credit
    )
    return np.where(np.isnan(known), np.nan, value)[()]
