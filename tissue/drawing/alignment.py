"""What a rotation leaves of a cylinder, as a picture."""

import numpy as np

from tissue.drawing.traces import axis, layout, lines, marks, words
from tissue.rotation import rotation_residual

MOST_DEG = 15.0
MARGIN_PX = (58, 14, 30, 44)
TABLE_DEG = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15)


def rotation_lines(refraction, turn_deg, look):
    """Cylinder left against rotation, with the rotation in question marked; parts of the cylinder as a second scale.

    Args:
        refraction: treated Refraction at the spectacle plane.
        turn_deg: rotation in question [degrees], counter-clockwise.
        look: Look.
    """
    turns = np.linspace(-MOST_DEG, MOST_DEG, 121)
    left = np.abs(rotation_residual(refraction, turns).cylinder_D)
    most = max(float(left.max()), 0.25)
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "showgrid": True}
    frame = layout(look, None, 300, MARGIN_PX)
    frame["xaxis"] = axis((0.0, 1.0), (-MOST_DEG, MOST_DEG), "y", gridcolor=look.rule, dtick=5, **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (0.0, 1.08 * most), "x", gridcolor=look.rule, **ticks)
    at = float(np.abs(rotation_residual(refraction, turn_deg).cylinder_D))
    data = [
        lines([(turns, left)], "", look.ink, 2),
        lines([((turn_deg, turn_deg), (0.0, at))], "", look.rule2, 1, "dot"),
        marks([(turn_deg, at, "circle", 10, 1.5)], "", look.ink),
    ]
    place = {"xanchor": "left", "yanchor": "bottom", "yshift": 6}
    notes = [
        words("cylinder left, D", 0.0, 1.0, 12, look.ink2, "paper", "paper", **place),
        words(f"<b>{at:.2f}</b>", turn_deg, at, 12.5, look.ink, yanchor="bottom", yshift=8),
        words(
            "rotation, °, counter-clockwise to the right",
            *(0.0, 0.0, 11.5, look.ink2, "paper", "paper"),
            xanchor="left",
            yanchor="top",
            yshift=-22,
        ),
    ]
    return {"data": data, "layout": frame | {"annotations": notes}}


def describe_rotation(refraction, turn_deg):
    """The picture in words, with its numbers."""
    at = rotation_residual(refraction, turn_deg)
    five, ten = (float(np.abs(rotation_residual(refraction, turn).cylinder_D)) for turn in (5.0, 10.0))
    return (
        f"Cylinder left against rotation: {abs(float(at.cylinder_D)):.2f} D at {turn_deg:g}°, {five:.2f} D at 5°, "
        f"{ten:.2f} D at 10°; the spherical equivalent does not change."
    )
