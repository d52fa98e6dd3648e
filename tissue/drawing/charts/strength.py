"""Strength of one eye: against depth, one column for each option; and under every relationship, as a dot plot."""

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from tissue.budget.comparison import Comparison, Result
from tissue.budget.strength.relationship import Relationship, relationships
from tissue.budget.strength.strength import density_range, relative_strength
from tissue.drawing.base.palette import ABOVE, ABOVE_HATCH, GLYPH, REMOVED_HATCH, SHORT, SYMBOL, Hatch, Look
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.drawing.base.words import whole
from tissue.drawing.section.section import column_shares, option_domains
from tissue.ground.sources import source
from tissue.ground.vocabulary import Array, Figure, signed
from tissue.removal.options import first_name

ROW_PX, TOP_PX, BOTTOM_PX = 34, 58, 40
NUDGE, NEAR_POINTS = 0.22, 0.9
END_ROWS = 0.09  # half the height of the end of a bar, in rows
USUAL_EYE = (550.0, 53.0)  # decides the order of the rows, which never changes
FRONT_SHARE = 0.4
DIFFERENCE_SHARE = 0.085  # of the width: a column of differences
DENSITY_SPAN = (0.0, 2.35)
CROWDED = 3  # more lines than this under the sum need more room
DRAWN_TO = 0.8  # stromal fraction; behind it only the band of the reconstruction is known
RECONSTRUCTED = "reinstein2013"
LABEL_PX = 17.0  # a layer of at least this height holds its label
MARGINS = (0, 0, 4, 40)  # px: left, right, top, bottom
HEIGHT_PX = 290
Intervals = dict[str, tuple[float, float]]  # by option, the 95 % interval of its strength [%]


@cache
def _flat_to_steep() -> tuple[Relationship, ...]:
    """Relationships in the order of how much of them lies in front."""
    E, CCT = USUAL_EYE[1], USUAL_EYE[0]
    depth = E + FRONT_SHARE * (CCT - E)
    return tuple(sorted(relationships().values(), key=lambda one: float(one.share(depth, CCT, E))))


def relationship_rows(comparison: Comparison) -> list[Relationship]:
    """The relationships from top to bottom, the chosen one first."""
    chosen = relationships()[comparison.judgement.relationship]
    return [chosen, *(one for one in _flat_to_steep() if one is not chosen)]


def row_words(relationship: Relationship) -> str:
    """Name of a relationship in a row: first author, year and property.

    >>> row_words(relationships()["nambiar2023"])
    'Nambiar 2023, in-plane tension'
    """
    if relationship.plane == "none":
        return relationship.label
    found = source(relationship.source)
    return f"{found.authors.split(',')[0]} {found.year}, {relationship.short.replace('2013 model', 'rebuilt')}"


def _values(comparison: Comparison, relationship: Relationship) -> dict[str, float]:
    """Strength of every option by a relationship [%], by name."""
    return {n: float(r.strength.strength_percent[relationship.id]) for n, r in comparison.results.items()}


def dot_plot(
    comparison: Comparison, look: Look, narrow: bool = False, drawn: dict[str, Intervals] | None = None
) -> Figure:
    """Relative strength of the options under every relationship, with its interval and the differences beside it.

    Args:
        comparison: Comparison of one eye.
        look: Look.
        narrow: whether the narrow columns hold.
        drawn: {relationship: {option: 95 % interval of the strength [%]}}; None before it is known.
    """
    start = column_shares(narrow)[0]
    found = [(one, _values(comparison, one)) for one in relationship_rows(comparison)]
    ends = [end for mine in (drawn or {}).values() for pair in mine.values() for end in pair]
    known = [v for v in [*ends, *(v for _, values in found for v in values.values())] if not np.isnan(v)]
    low, high = (10.0 * np.floor(min(known) / 10.0), 10.0 * np.ceil(max(known) / 10.0)) if known else (0.0, 100.0)
    height = TOP_PX + BOTTOM_PX + ROW_PX * len(found)
    frame = layout(look, None, height, (0, 0, TOP_PX, BOTTOM_PX))
    frame["xaxis"] = axis(
        (start, 0.80), (low - 1.0, high + 1.0), "y", showgrid=True, gridcolor=look.rule, dtick=10,
        showticklabels=True, tickfont={"size": 11, "color": look.ink2},
    )  # fmt: skip
    frame["yaxis"] = axis((0.0, 1.0), (len(found) - 0.5, -0.5), "x")
    data, notes = [], _heads(start, look, drawn is not None)
    for i, (one, values) in enumerate(found):
        data += _row(values, i, i == 0, look, None if drawn is None else drawn[one.id])
        notes += _row_words(one, values, i, look)
    data.append(lines([((low - 1.0, high + 1.0), (0.5, 0.5))], "", look.rule2, 1))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _row(values: dict[str, float], at: int, chosen: bool, look: Look, drawn: Intervals | None) -> list[Figure]:
    """Line from least to greatest, the marks of the options and their intervals."""
    known = {name: value for name, value in values.items() if not np.isnan(value)}
    if not known:
        return []
    span = (min(known.values()), max(known.values()))
    data = [lines([(span, (at, at))], "", look.rule2, 1.2)]
    for name, value in known.items():
        near = [other for other in known if other != name and _near(known, drawn, name, other)]
        order = list(known)
        nudge = 0.0 if not near else NUDGE * (1.0 if order.index(name) > order.index(near[0]) else -1.0)
        symbol = SYMBOL[name] if chosen else f"{SYMBOL[name]}-open"
        if drawn is not None:
            data.append(_interval(drawn[name], at + nudge, look.option[name]))
        data.append(marks([(value, at + nudge, symbol, 13 if chosen else 10, 1.8)], "", look.option[name]))
    return data


def _near(values: dict[str, float], drawn: Intervals | None, one: str, other: str) -> bool:
    """Whether two marks, or the bars through them, would cover each other on one line."""
    if abs(values[one] - values[other]) < NEAR_POINTS:
        return True
    return drawn is not None and max(drawn[one][0], drawn[other][0]) < min(drawn[one][1], drawn[other][1])


def _interval(ends: tuple[float, float], at: float, colour: str) -> Figure:
    """A bar between the ends of an interval, closed at both."""
    strokes = [(ends, (at, at)), *(((end, end), (at - END_ROWS, at + END_ROWS)) for end in ends)]
    return lines(strokes, "", colour, 1.6)


def _row_words(relationship: Relationship, values: dict[str, float], at: int, look: Look) -> list[Figure]:
    """Name of the row and the two differences in points."""
    left = {"xref": "paper", "yref": "y", "xanchor": "left"}
    name = row_words(relationship)
    notes = [words(f"<b>{name}</b>" if at == 0 else name, 0.0, at, 12.5, look.ink, **left)]
    mine, others = first_name("keeps_cap"), _compared_with()
    for right, other in others.items():
        points = values[mine] - values[other]
        notes.append(words(signed(points, 1), right, at, 12.5, look.ink, xref="paper", yref="y", xanchor="right"))
    return notes


def _compared_with() -> dict[float, str]:
    """The options that the one with a cap is compared with, by the right edge of their column of differences."""
    others = [name for name in SHORT if name != first_name("keeps_cap")]
    return {1.0 - i * DIFFERENCE_SHARE: others[i] for i in reversed(range(len(others)))}


def _heads(start: float, look: Look, intervals: bool) -> list[Figure]:
    """What the marks, their bars and the two columns of differences are."""
    top = {"xref": "paper", "yref": "paper", "yanchor": "bottom"}
    keys = "     ".join(f"<span style='color:{look.option[n]}'>{GLYPH[SYMBOL[n]]}</span> {SHORT[n]}" for n in SHORT)
    mine = SHORT[first_name("keeps_cap")]
    said = "; bars: 95 % under the errors of measurement and cutting" if intervals else ""
    axis_at = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "top", "yshift": -20}
    return [
        words(keys, start, 1.0, 12.5, look.ink, xanchor="left", yshift=22, **top),
        words(f"{mine} minus …, points", 1.0, 1.0, 11.5, look.ink2, xanchor="right", yshift=22, **top),
        *(
            words(SHORT[name], right, 1.0, 11.5, look.ink2, xanchor="right", yshift=4, **top)
            for right, name in _compared_with().items()
        ),
        words("relative strength, % of this eye before surgery" + said, start, 0.0, 11.5, look.ink2, **axis_at),
    ]


def describe_dots(comparison: Comparison, drawn: dict[str, Intervals] | None = None) -> str:
    """The dot plot in words, with its numbers; arguments as in `dot_plot`."""
    parts = []
    for one in relationship_rows(comparison):
        ends = {} if drawn is None else drawn[one.id]
        said = ", ".join(_said(name, value, ends.get(name)) for name, value in _values(comparison, one).items())
        parts.append(f"{row_words(one)}: {said}.")
    head = "Relative strength in percent under every relationship"
    errors = "" if drawn is None else ", in brackets 95 % under the errors of measurement and cutting"
    return f"{head}{errors}. {' '.join(parts)}"


def _said(name: str, value: float, ends: tuple[float, float] | None) -> str:
    """The strength of one option in words, with its interval where it is known."""
    if np.isnan(value):
        return f"{SHORT[name]} not given"
    return f"{SHORT[name]} {value:.1f}" + ("" if ends is None else f" ({ends[0]:.1f}–{ends[1]:.1f})")


class Layer(NamedTuple):
    """A stretch of depth [µm] with its words, its fill and the hatch over it."""

    top_um: float
    bottom_um: float
    text: str
    counted: bool
    hatch: Hatch | None


def layers(comparison: Comparison, result: Result) -> list[Layer]:
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


def strength_profiles(
    comparison: Comparison, look: Look, narrow: bool = False, drawn: Intervals | None = None
) -> Figure:
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


def _axis_words(start: float, look: Look) -> Figure:
    place = {"xref": "paper", "yref": "paper", "textangle": -90, "xshift": -38, "xanchor": "center"}
    return words("depth, µm", start, 0.5, 11, look.ink2, **place)


def _curve(comparison: Comparison, top_um: float, bottom_um: float) -> tuple[Array, Array]:
    """Depth [µm] and density of the chosen relationship between two depths."""
    cornea = comparison.cornea
    depth = np.linspace(top_um, bottom_um, max(2, int((bottom_um - top_um) / 4.0) + 2))
    inside = np.clip(depth, float(cornea.epithelium_um) + 1e-6, float(cornea.central_thickness_um) - 1e-6)
    chosen = relationships()[comparison.judgement.relationship]
    return depth, np.asarray(chosen.density(inside, cornea.central_thickness_um, cornea.epithelium_um))


def _column(comparison: Comparison, result: Result, axes: str, look: Look) -> list[Figure]:
    """Areas and lines of one option."""
    cornea = comparison.cornea
    E, CCT = float(cornea.epithelium_um), float(cornea.central_thickness_um)
    data = [_area_of(comparison, layer, result.option.name, axes, look) for layer in _drawn(comparison, result)]
    drawn_to = CCT
    if comparison.judgement.relationship == RECONSTRUCTED:
        share = np.linspace(0.0, 1.0, 81)
        low, high = density_range(share)
        depth = E + share * (CCT - E)
        outline = (np.concatenate([low, np.flip(high)]), np.concatenate([depth, depth[::-1]]))
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


def _drawn(comparison: Comparison, result: Result) -> list[Layer]:
    return layers(comparison, result) if result.available else []


def _veil(look: Look) -> str:
    return "rgba(29,35,39,.14)" if look.name == "light" else "rgba(236,232,223,.16)"


def _area_of(comparison: Comparison, layer: Layer, name: str, axes: str, look: Look) -> Figure:
    """One layer between the axis and the curve."""
    depth, density = _curve(comparison, layer.top_um, layer.bottom_um)
    outline = (np.concatenate([[0.0], density, [0.0]]), np.concatenate([depth[:1], depth, depth[-1:]]))
    fill = look.removed[name] if layer.counted else look.page
    return area(outline, axes, fill, layer.hatch, look.rule2)


def _notes(comparison: Comparison, result: Result, axes: str, deepest: float, look: Look, errors: str) -> list[Figure]:
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


def errors_words(drawn: Intervals | None, name: str) -> str:
    """The effect of measurement and cutting errors on the strength of an option, in words; empty where not known.

    >>> errors_words({"flap": (45.24, 51.6)}, "flap")
    '45.2–51.6 under the errors, 95 %'
    """
    if drawn is None or np.isnan(drawn[name]).any():
        return ""
    low, high = drawn[name]
    return f"{low:.1f}–{high:.1f} under the errors, 95 %"


def _sum(
    comparison: Comparison, result: Result, thin: Sequence[str], axes: str, deepest: float, look: Look
) -> list[Figure]:
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
        place |= {"yanchor": "top", "bgcolor": look.page}
        notes.append(words(lines_, DENSITY_SPAN[1] - 0.06, low, 11.5, look.ink2, **place))
    return notes


def describe_profiles(comparison: Comparison, drawn: Intervals | None = None) -> str:
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


def credited(comparison: Comparison, result: Result, credit: float) -> float:
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
    return float(np.where(np.isnan(known), np.nan, value))
