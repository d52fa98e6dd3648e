"""Reads one field of one eye as letters write it: with a mark of the eye, an axis word, acuity, a direction."""

from typing import Any

from tissue.entry.notation import LONGEST, read_text
from tissue.ground.errors import EyeError


def read_of_eye(name: str, text: str, side: str | None) -> tuple[Any, dict[str, float]]:
    """The value that a text gives for one field of one eye, and what else it says: a vertex distance.

    `read_text` reads first; only a text that it refuses is then read in the way of a letter.

    Args:
        name: of the interface.
        text: what was written.
        side: OD or OS; None where it is not known, then a mark of an eye or a direction is refused.
    Raises:
        EyeError: it cannot be read, or it is of the other eye.

    >>> read_of_eye("refraction", "OD -4,50 -1,25 Achse 12 (1,0), VD 13", "OD")
    ((-4.5, -1.25, 12.0), {'vertex_mm': 13.0})
    >>> read_of_eye("mean_K_D", "43.25/44.50 @ 12", "OD"), read_of_eye("thinnest_x_mm", "0.6 temporal", "OD")
    ((43.875, {}), (-0.6, {}))
    """
    try:
        return read_text(name, text), {}
    except EyeError:
        if len(text) <= LONGEST and text.isprintable():
            from tissue.entry.letter.one_field import as_in_a_letter

            found = as_in_a_letter(name, text, side)
            if found is not None:
                return found
        raise
