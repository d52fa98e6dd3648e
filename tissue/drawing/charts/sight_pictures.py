"""Pictures of what is seen as PNG, with exactly the computed greys."""

import io

import numpy as np

from tissue.ground.vocabulary import Array, rounded

GAMMA = 2.2  # of a screen; common practice
BAR_ARCMIN, BAR_ROWS, BAR_LEVEL = 30, 2, 0.62


def rings_png(rings: Array) -> bytes:
    """Landolt rings, luminance [0–1], as a PNG with the greys that a screen shows at that luminance."""
    return _png(np.power(rings, 1.0 / GAMMA))


def lights_png(lights: Array, px_per_arcmin: int = 0) -> bytes:
    """Lights at night, brightness [0–1], as a PNG; with a bar of 30′ at its foot where the pixels to 1′ are told."""
    marked = lights.copy()
    if px_per_arcmin:
        wide, left = BAR_ARCMIN * px_per_arcmin, 8
        marked[-10 : -10 + BAR_ROWS, left : left + wide] = BAR_LEVEL
    return _png(marked)


def _png(grey: Array) -> bytes:
    """Levels [0–1] as a PNG of 8 bits."""
    from PIL import Image

    file = io.BytesIO()
    Image.fromarray(np.round(255.0 * grey).astype(np.uint8), "L").save(file, "png", optimize=True)
    return file.getvalue()


def describe_seen(column: str, pupil_mm: float, light_percent: float, contrast: float) -> str:
    """Alternative text of the rings and lights of one place.

    Args:
        column: what is looked through, in words; pupil_mm: the pupil.
        light_percent: light within 10′; contrast: MTF at 10 cycles per degree.
    """
    return (
        f"{column}, pupil {pupil_mm:g} mm: {rounded(light_percent, 1)} % of the light within 10 minutes of arc, "
        f"MTF at 10 cycles per degree {rounded(contrast, 3)}."
    )
