"""The scleral shell that holds the cornea: from the limbus down to a roller at the equator."""

from collections.abc import Sequence

import numpy as np

from tissue.mechanics.shape import Setting
from tissue.vocabulary import Array

COARSER = 3.0  # element length at the equator over that in the cornea
LEAST_ELEMENTS = 6


def shell_nodes(layers: Sequence[Array], setting: Setting) -> tuple[Array, ...]:
    """Two layers of nodes (r, z, place) with the columns of the sclera added to those of the cornea.

    The outer face is a sphere through the front of the limbus; direction and thickness pass from those of the
    last corneal column to those of a concentric shell.

    Args:
        layers: arrays of shape (3, rows + 1, columns).
        setting: Setting.
    """
    outer, inner = layers[0][:2, 0, -1], layers[1][:2, -1, -1]
    R = setting.sclera_radius_mm
    start = np.arcsin(outer[0] / R)
    centre = outer[1] + R * np.cos(start)
    length = R * (np.pi / 2.0 - start)
    angle = start + _graded(length, setting.size_mm) * (np.pi / 2.0 - start)
    whole = np.hypot(*(outer - inner))
    across = np.arctan2(outer[0] - inner[0], inner[1] - outer[1])
    eased = np.clip(R * (angle - start) / setting.sclera_blend_mm, 0.0, 1.0)
    eased = eased**2 * (3.0 - 2.0 * eased)
    direction = across * (1.0 - eased) + angle * eased
    thickness = whole * (1.0 - eased) + setting.sclera_thickness_mm * eased
    r0, z0 = R * np.sin(angle), centre - R * np.cos(angle)
    z0[-1] = centre
    made = []
    for layer in layers:
        share = np.hypot(layer[0, :, -1] - outer[0], layer[1, :, -1] - outer[1]) / whole
        depth = share[:, np.newaxis] * thickness
        r, z = r0 - depth * np.sin(direction), z0 + depth * np.cos(direction)
        z[:, -1] = centre
        made.append(np.concatenate([layer, np.stack([r, z, share[:, np.newaxis] + 0.0 * r])], axis=2))
    return tuple(made)


def _graded(length: float, size: float) -> Array:
    """Shares of a length at which columns stand: the first step near `size`, growing evenly."""
    count = max(LEAST_ELEMENTS, int(np.ceil(length / (COARSER * size))))
    even = np.arange(1, count + 1) / count
    first = min(1.0, size * count / length)
    return first * even + (1.0 - first) * even**2
