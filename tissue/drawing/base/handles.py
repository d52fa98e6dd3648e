"""Handles, which can be moved in a picture: where each is grasped, how its lines follow its value, its limits.

A place follows a value along a straight line: it moves by a fixed amount for one unit of the value. So the page can
draw a moved line at once, without the arithmetic of the eye; the picture of the new plan follows.
"""

from collections.abc import Sequence
from typing import Any

from tissue.drawing.base.traces import Points, listed
from tissue.entry.fields import fields
from tissue.ground.vocabulary import Figure

SPOKEN = {"µm": "micrometres", "mm": "millimetres"}
DEEPER = {"ArrowDown": [1], "ArrowUp": [-1], "ArrowRight": [1], "ArrowLeft": [-1]}
WIDER = {"ArrowDown": [-1], "ArrowUp": [1], "ArrowRight": [1], "ArrowLeft": [-1]}
ACROSS_UP = {"ArrowDown": [0, -1], "ArrowUp": [0, 1], "ArrowRight": [1, 0], "ArrowLeft": [-1, 0]}


def handle(
    names: tuple[str, ...],
    label: str,
    values: tuple[float, ...],
    keys: dict[str, list[int]],
    *,
    lines: Sequence[Figure],
    grips: Sequence[Figure],
    line: tuple[str, float, str],
    **more: Any,
) -> Figure:
    """One handle as a plain dictionary, which goes to the page with the picture.

    Args:
        names: fields of the plan that it moves; values: the value of each as drawn.
        label: its name; keys: by arrow key, how many steps each value goes.
        lines: of `moving`, what is drawn while it moves; grips: of `grip`, the first one takes the focus.
        line: colour, width [px] and dash of the lines.
        more: step, where it is not that of the field; towards: by field, words of its lesser and greater side;
            value_left: whether its value stands left of where it is grasped.
    """
    first = fields()[names[0]]
    step = more.pop("step", first.step)
    return {
        "names": list(names),
        "label": label,
        "unit": first.unit,
        "spoken": SPOKEN[first.unit],
        "values": listed(values),
        "low": [fields()[name].low for name in names],
        "high": [fields()[name].high for name in names],
        "step": step,
        "places": len(f"{step:g}".partition(".")[2]),
        "keys": keys,
        "lines": lines,
        "grips": grips,
        "line": dict(zip(("colour", "width", "dash"), line, strict=True)),
        **more,
    }


def with_handles(handles: Sequence[Figure]) -> Figure:
    """Handles as a part of a figure's frame, which is sent to the page together with them."""
    return {"meta": {"handles": handles}}


def moving(axes: str, stroke: Points, *by: Points) -> Figure:
    """A stroke and how it follows the values.

    Args:
        axes: suffix of the pair of axes. stroke: points (x, y).
        by: for each value how far the points move (x, y) for one unit of it, each a number for all of them or a list.
    """
    x, y = (listed(part) for part in stroke)
    return {"axes": axes, "x": x, "y": y, "by": [[listed(part) for part in one] for one in by]}


def grip(
    axes: str,
    place: tuple[float, float],
    *by: tuple[float, float],
    along: Points | None = None,
    about: tuple[float, float] | None = None,
) -> Figure:
    """A place where a handle is grasped.

    Args:
        axes: suffix of the pair of axes. place: (x, y).
        by: for each value how far it moves (x, y) for one unit.
        along: stroke that is grasped as well; about: the middle (x, y) of one that grows from there.
    """
    found = {"axes": axes, "x": listed(place[0]), "y": listed(place[1]), "by": [listed(one) for one in by]}
    if along is not None:
        found["along"] = [listed(part) for part in along]
    return found if about is None else found | {"about": listed(about)}
