"""Why tissue is taken: light in a simple eye before and with the new curve; and the cornea at its real thickness.

The simple eye has one surface of 60 D before a medium of 4/3 (a reduced eye, common practice). It is as long as the
measured refraction makes it, so that the light meets as far from the back as it does by that refraction.
"""

from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.outline import bent, half_width_mm, outlines
from tissue.drawing.base.palette import Look
from tissue.drawing.base.traces import Item, area, axis, layout, lines, texts
from tissue.drawing.patient.picture import fill_of
from tissue.drawing.patient.place import meridian_deg
from tissue.drawing.patient.words import Story
from tissue.ground.vocabulary import Array, Figure

POWER_D, INDEX = 60.0, 4.0 / 3.0
SMALL_D = 0.125  # a refraction under this counts as none
WIDTH_PX, PX_PER_MM, SIZE_PX = 640, 10.4, 17
BEHIND_MM, HEIGHT_MM, RAY_MM, CORNEA_MM, BALL_MM = 5.0, 24.0, 2.6, 7.8, 12.0  # light before the eye; half height of it
EDGE_MM = 5.5  # half width of the drawn cornea
REAL_WIDTH_PX, MARGIN_PX = 560, 16.0


def kind(comparison: Comparison) -> str:
    """Where light meets in the measured eye: `short` of the back, `behind` it, `apart` or `there`.

    Args:
        comparison: Comparison of one eye.
    """
    powers = [float(power) for power in comparison.measured.at_cornea().powers()]
    if max(map(abs, powers)) < SMALL_D:
        return "there"
    if max(powers) < SMALL_D:
        return "short"
    return "behind" if min(powers) > -SMALL_D else "apart"


def foci_mm(comparison: Comparison) -> list[Any]:
    """Where light meets from the front of the simple eye, and where its back is [mm].

    n/F' with F' = 60 + mean − each meridian, treated powers added after; the back at n/(60 + mean).

    Args:
        comparison: Comparison of one eye.

    Returns the two meridians before, the same with the new curve, and the back.
    """
    measured = np.array(comparison.measured.at_cornea().powers(), dtype=float)
    treated = comparison.treatment.refraction.at_cornea()
    along = np.radians(comparison.measured.axis_deg - treated.axis_deg)
    first, second = treated.powers()
    turned = np.array([first + (second - first) * np.sin(along + at) ** 2 for at in (0.0, np.pi / 2.0)])
    mean = measured.mean()
    before = POWER_D + mean - measured
    return [1000.0 * INDEX / power for power in (before, before + turned, POWER_D + mean)]


def light(told: Story, look: Look) -> Figure:
    """The two simple eyes with their light on the screen; the first alone where nothing is taken.

    Args:
        told: Story.
        look: Look.
    """
    before, after, back = foci_mm(told.comparison)
    words, half = told.words["why"], _half_mm(before, after, back)
    solid, dotted = [], []
    items: list[Item] = []
    eyes = [(before, BEHIND_MM + 1.0, "now"), (after, half + BEHIND_MM + 1.0, "then")]
    for foci, left, name in eyes if told.available else eyes[:1]:
        shift = np.array([[left], [0.0]])
        solid += [line + shift for line in (*_eye(back), *(ray for f in set(foci) for ray in _rays(f, back)))]
        dotted += [line + shift for f in set(foci) if f > back + 0.05 for line in _beyond(f, back)]
        items.append((words[name], left + back / 2.0, -HEIGHT_MM / 2.0 - 1.0, SIZE_PX, "middle center", "ink"))
    items.append((words["drawing"], half, HEIGHT_MM / 2.0 + 2.0, SIZE_PX, "middle center", "ink2"))
    traces = [lines(solid, "", look.ink, 1.4), texts(items, "", look)]
    traces += [lines(dotted, "", look.rule2, 1.4, "dot")] if dotted else []
    tall = HEIGHT_MM / 2.0 + 3.5
    axes = {"xaxis": axis((0, 1), (0.0, 2.0 * half), "y"), "yaxis": axis((0, 1), (tall, -tall), "x")}
    height = round(tall * WIDTH_PX / half)
    return {"data": traces, "layout": layout(look, WIDTH_PX, height, (0, 0, 0, 0), **axes)}


def _half_mm(before: Array, after: Array, back: float) -> float:
    """Half the width of the picture [mm]: room for one eye, more where a long eye or its light needs it."""
    farthest = max(back, *before, *after) + BEHIND_MM + 2.0
    return max(WIDTH_PX / PX_PER_MM / 2.0, farthest)


def describe_light(told: Story) -> str:
    """Alternative text of the two simple eyes."""
    words = told.words["why"]
    after = words["after"] if told.available else ""
    return " ".join(filter(None, (words["head"], words[kind(told.comparison)], after, words["drawing"])))


def _eye(back: float) -> list[Array]:
    """Outline of the simple eye: the cornea, and the ball up to the back."""
    y = np.linspace(-EDGE_MM, EDGE_MM, 41)
    cornea = np.array([CORNEA_MM - np.sqrt(CORNEA_MM**2 - y**2), y])
    turn = np.pi - np.arcsin(EDGE_MM / BALL_MM)
    angles = np.linspace(-turn, turn, 121)
    ball = np.array([back - BALL_MM + BALL_MM * np.cos(angles), BALL_MM * np.sin(angles)])
    return [cornea, np.hstack([cornea[:, :1], ball, cornea[:, -1:]])]


def _rays(focus: float, back: float) -> list[Array]:
    """Two rays from far away that meet at a focus, as far as the back lets them [mm]."""
    end = back if focus >= back else min(back, 2.0 * focus)
    return [np.array([[-BEHIND_MM, 0.0, end], [s, s, s * (1.0 - end / focus)]]) for s in (-RAY_MM, RAY_MM)]


def _beyond(focus: float, back: float) -> list[Array]:
    """Where rays that are stopped by the back would meet [mm]."""
    return [np.array([[back, focus], [s * (1.0 - back / focus), 0.0]]) for s in (-RAY_MM, RAY_MM)]


def real(told: Story, look: Look) -> Figure:
    """The cornea along the meridian of the pictures, width and thickness at one scale.

    Args:
        told: Story.
        look: Look.
    """
    half = half_width_mm(told.comparison)
    one = bent(outlines(told.comparison, meridian_deg(told.comparison, told.way), half)[told.way])
    scale = (REAL_WIDTH_PX - 2.0 * MARGIN_PX) / (2.0 * half)
    front, back = (np.array([curve.position_mm, curve.depth_um / 1000.0]) for curve in (one.front, one.back))
    traces = [area(np.hstack([front, back[:, ::-1]]), "", look.stroma)]
    if told.available and one.removed is not None:
        piece = np.array([one.removed.position_mm, one.removed.depth_um / 1000.0])
        traces.append(area(piece, "", *fill_of("removed", told.way, look)))
    traces.append(lines([front, back], "", look.ink, 1.4))
    deepest = float(back[1].max())
    axes = {
        "xaxis": axis((0, 1), (-half - MARGIN_PX / scale, half + MARGIN_PX / scale), "y"),
        "yaxis": axis((0, 1), (deepest + MARGIN_PX / scale, -MARGIN_PX / scale), "x"),
    }
    height = round(deepest * scale + 2.0 * MARGIN_PX)
    return {"data": traces, "layout": layout(look, REAL_WIDTH_PX, height, (0, 0, 0, 0), **axes)}


def describe_real(told: Story) -> str:
    """Alternative text of the real thickness, with the share that stays."""
    words = told.words["why"]
    share = words["share"].format(**told.figures) if told.available else ""
    return " ".join(filter(None, (words["real"], told.words["bars"]["today_thick"].format(**told.figures), share)))
