"""A map by itself, seen from the front: the picture by which its orientation is confirmed."""

from collections.abc import Sequence

import numpy as np

from tissue.drawing.base.palette import Look
from tissue.drawing.base.rings import Circle
from tissue.drawing.base.traces import Item, area, axis, layout, lines, marks, texts, words
from tissue.drawing.base.words import SIDES, place_words, whole
from tissue.drawing.own_map.layer import REACH_MM, Layer, layer_of
from tissue.eye.measured.surface import FOUR_OFF_MM, Surface
from tissue.ground.vocabulary import EYES, Figure

WIDTH_PX, HEIGHT_PX, HEAD_PX = 460, 486, 46
ROOM_MM = 7.35  # from the vertex to the sides of the picture
ROW_MM = 0.26  # of the names at the sides, above and below the axis
WORD_MM = 5.95  # where the names of the four directions stand
LABELLED_UM = {True: 20.0, False: 4.0}  # levels that carry their number
LABEL_DEG, LABEL_WITHIN_DEG = -38.0, 4.0  # the direction in which they stand, and how near it
LABELS_APART_PX = 20.0  # numbers keep this distance from each other
UP, SIDEWAYS = ("superior", "inferior"), {EYES[0]: ("temporal", "nasal"), EYES[1]: ("nasal", "temporal")}
FOUR = {"up": (0.0, 1.0), "down": (0.0, -1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}


def four_names(side: str) -> dict[str, str]:
    """The name of each direction of the picture in an eye.

    >>> four_names("OS")["left"]
    'nasal'
    """
    return dict(zip(FOUR, (*UP, *SIDEWAYS[side]), strict=True))


def map_view(surface: Surface, side: str, look: Look, missing: Sequence = (), apart: Sequence = ()) -> dict:
    """The picture of one map: lines of equal thickness, the thinnest place, the four directions in words with values.

    Args:
        surface: Surface. side: OD or OS. look: Look.
        missing: places (x, y) from the vertex [mm] without a value.
        apart: places (x, y) from the vertex [mm] of readings that lie apart from the others.
    """
    found = layer_of(surface)
    ring = Circle(0.0, 0.0, REACH_MM)
    data = [area(ring.arc(step_deg=2.0), "", look.stroma, line=(look.rule2, 0.8, "solid"))]
    data += layer_traces(found, look)
    data += _places(surface, look, missing, apart)
    data.append(texts([*_four(surface, side), *_said(found, missing, apart)], "", look))
    title = f"{side} ({SIDES[side]}), {'thickness' if surface.grows else 'epithelium'}, seen from the front, µm"
    place = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "top"}
    notes = [words(title, 0.0, 1.0 + HEAD_PX / (HEIGHT_PX - HEAD_PX), 15, look.ink, serif=True, **place)]
    notes += [words(text, x, y, 11, look.ink, bgcolor=look.stroma) for text, x, y in _levels(found, surface)]
    x, y = float(surface.thinnest_x_mm), float(surface.thinnest_y_mm)
    notes.append(words(whole(surface.thinnest_um), x, y, 13, look.ink, bgcolor=look.stroma, xanchor="right", xshift=-8))
    frame = layout(look, WIDTH_PX, HEIGHT_PX, (0, 0, HEAD_PX, 0), annotations=notes)
    half = ROOM_MM * (HEIGHT_PX - HEAD_PX) / WIDTH_PX
    frame["xaxis"] = axis((0.0, 1.0), (-ROOM_MM, ROOM_MM), "y")
    frame["yaxis"] = axis((0.0, 1.0), (-half, half), "x", scaleanchor="x", scaleratio=1)
    return {"data": data, "layout": frame}


def layer_traces(found: Layer, look: Look, width_px: float = 0.9) -> list[dict]:
    """The lines and the hatch of a Layer."""
    known, beyond = ([stroke for strokes in part.values() for stroke in strokes] for part in found[:2])
    data = []
    if found.hatch:
        data.append(lines(found.hatch, "", look.rule2, 0.7))
    if beyond:
        data.append(lines(beyond, "", look.ink2, 0.8, "dot"))
    return data + ([lines(known, "", look.ink2, width_px)] if known else [])


def _places(
    surface: Surface,
    look: Look,
    missing: Sequence[tuple[float, float]],
    apart: Sequence[tuple[float, float]],
) -> list[Figure]:
    """Vertex +, thinnest place ▽, the four places of the values, places without a value, readings apart."""
    x, y = (np.array([one[i] for one in FOUR.values()]) * FOUR_OFF_MM for i in (0, 1))
    points = [(0.0, 0.0, "cross-thin-open", 12.0, 1.4)]
    points += [(float(u), float(v), "circle", 4.5, 0.0) for u, v in zip(x, y, strict=True)]
    points.append((float(surface.thinnest_x_mm), float(surface.thinnest_y_mm), "triangle-down-open", 11, 1.4))
    points += [(u, v, "x-thin-open", 13, 2.0) for u, v in apart]
    data = [marks(points, "", look.ink)]
    near = [(u, v, "circle-open", 4, 0.8) for u, v in missing if np.hypot(u, v) <= REACH_MM]
    return ([marks(near, "", look.ink2)] if near else []) + data


def _four(surface: Surface, side: str) -> list[Item]:
    """Name and value of each direction, outside the disc."""
    values, names = surface.four_um(), four_names(side)
    found: list[Item] = [
        (f"{names[way]} {whole(values[way])}", 0.0, FOUR[way][1] * WORD_MM, 13, "middle center", "italic")
        for way in ("up", "down")
    ]
    for way, position in (("left", "middle right"), ("right", "middle left")):
        x = FOUR[way][0] * ROOM_MM
        found += [
            (names[way], x, ROW_MM, 13, position, "italic"),
            (whole(values[way]), x, -ROW_MM, 13, position, "ink"),
        ]
    return found


def _said(found: Layer, missing: Sequence[tuple[float, float]], apart: Sequence[tuple[float, float]]) -> list[Item]:
    """What the hatch, the small circles, the crosses and the edge of the disc mean, in the lower corners."""
    row = -ROOM_MM * (HEIGHT_PX - HEAD_PX) / WIDTH_PX + ROW_MM
    said: list[Item] = [(f"disc of {2.0 * REACH_MM:g} mm", ROOM_MM, row, 11, "middle left", "ink2")]
    signs = {"hatched: not measured": found.hatch, "○ no reading": missing, "× apart from the others": apart}
    meant = [words for words, there in signs.items() if len(there)]
    return said + [("; ".join(meant), -ROOM_MM, row, 11, "middle right", "ink2")]


def _levels(found: Layer, surface: Surface) -> list[tuple[str, float, float]]:
    """The number of some levels and its place on the line, in one direction."""
    turn = np.radians(LABEL_DEG)
    placed: list[tuple[str, float, float]] = []
    apart = LABELS_APART_PX * 2.0 * ROOM_MM / WIDTH_PX
    for level, strokes in found.known.items():
        x, y = (np.concatenate(part) for part in zip(*strokes, strict=True))
        away = np.abs(np.angle(np.exp(1j * (np.arctan2(y, x) - turn))))
        near = int(np.argmin(away))
        if level % LABELLED_UM[surface.grows] == 0 and away[near] < np.radians(LABEL_WITHIN_DEG):
            at = float(x[near]), float(y[near])
            if all(np.hypot(at[0] - u, at[1] - v) >= apart for _, u, v in placed):
                placed.append((whole(level), *at))
    return placed


def describe_map(surface: Surface, side: str, apart: Sequence = ()) -> str:
    """Alternative text of a map, with its numbers. Arguments as in `map_view`."""
    x, y, of = surface.thinnest_x_mm, surface.thinnest_y_mm, "thickness" if surface.grows else "epithelium"
    four = ", ".join(f"{name} {whole(surface.four_um()[way])}" for way, name in four_names(side).items())
    parts = [
        f"Map of the {of} of the {SIDES[side]} ({side}), seen from the front, in µm",
        f"Centre {whole(surface.central_um)}, least {whole(surface.thinnest_um)}, {place_words(x, y, side)}",
        f"{FOUR_OFF_MM:g} mm off the centre: {four}",
        f"{surface.readings.value_um.size} readings, {surface.missing} missing, known over a disc of "
        f"{2.0 * float(surface.covered_mm(0.0, 0.0)):.1f} mm about the vertex; beyond it is hatched and not measured",
    ]
    if apart:
        where = "; ".join(place_words(u, v, side) for u, v in apart)
        parts.append(f"Readings apart from the others: {where}")
    return ". ".join(parts) + "."
