"""Lines and polygons of a section: positions along a meridian and depths below the front surface."""

from typing import NamedTuple

import numpy as np

from tissue.ground.vocabulary import Array


class Curve(NamedTuple):
    """Points of a line or polygon: position along the meridian [mm], depth below the front surface [µm]."""

    position_mm: Array
    depth_um: Array


def level(low_mm: float, high_mm: float, depth_um: float) -> Curve:
    """A Curve at one depth."""
    return Curve(np.array([low_mm, high_mm]), np.array([depth_um, depth_um]))


def upright(position_mm: float, upper_um: float, lower_um: float) -> Curve:
    """A Curve at one position, from one depth to another."""
    return Curve(np.array([position_mm, position_mm]), np.array([upper_um, lower_um]))


def closed(curve: Curve | None) -> Curve | None:
    """A Curve that ends where it begins; None stays None."""
    return curve and Curve(*(np.append(part, part[0]) for part in curve))


def dense(curve: Curve, step_mm: float) -> Curve:
    """The same Curve with points no farther apart than `step_mm` along the meridian."""
    position, depth = (np.asarray(part, dtype=float) for part in curve)
    pieces = np.maximum(1, np.ceil(np.abs(np.diff(position)) / step_mm - 1e-9)).astype(int)
    start = np.repeat(np.arange(pieces.size), pieces)
    share = (np.arange(start.size) - np.repeat(np.cumsum(pieces) - pieces, pieces)) / np.repeat(pieces, pieces)
    return Curve(
        np.append(position[start] + share * np.diff(position)[start], position[-1]),
        np.append(depth[start] + share * np.diff(depth)[start], depth[-1]),
    )


def clipped(curve: Curve, low: float, high: float) -> Curve:
    """A floor that ends where the section does."""
    if curve.position_mm[0] >= low and curve.position_mm[-1] <= high:
        return curve
    position = np.clip(curve.position_mm, low, high)
    inner = slice(1, -1)
    depth = np.interp(position[inner], curve.position_mm[inner], curve.depth_um[inner])
    return Curve(position, np.concatenate([curve.depth_um[:1], depth, curve.depth_um[-1:]]))
