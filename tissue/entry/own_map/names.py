"""The names of an eye's maps, and whether it has one."""

from collections.abc import Mapping
from typing import Any

THICKNESS, EPITHELIUM = "thickness_map", "epithelium_map"
MAPS = (THICKNESS, EPITHELIUM)


def has_map(values: Mapping[str, Any]) -> bool:
    """Whether a map is among the values of an eye by name.

    >>> has_map({"thickness_map": None}), has_map({"epithelium_map": {"form": "grid"}})
    (False, True)
    """
    return any(values.get(name) is not None for name in MAPS)
