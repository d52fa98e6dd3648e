"""What a plan asks of the maps of an eye: the files that answer are loaded where there is a map."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tissue.entry.own_map.names import MAPS, has_map

if TYPE_CHECKING:  # most eyes have no map
    from tissue.entry.checks import Fault
    from tissue.entry.own_map.written import WrittenMap
    from tissue.eye.measured.own_map import OwnMap


def maps_out_of(table: dict[str, Any], side: str) -> "tuple[dict[str, WrittenMap], list[Fault]]":
    """Take the maps out of the table of an eye, see `keys.pop_maps`."""
    if not has_map(table):
        return {}, []
    from tissue.entry.own_map.keys import pop_maps

    return pop_maps(table, side)


def tables_of(values: Mapping[str, Any]) -> dict[str, Any]:
    """The maps of an eye's values as a plan file holds them, by name."""
    if not has_map(values):
        return {}
    from tissue.entry.own_map.keys import table_of

    return {name: table_of(values[name]) for name in MAPS if values.get(name)}


def faults_in(values: Mapping[str, Any]) -> "list[Fault]":
    """Faults of the maps of an eye and of what was typed beside them, see `taken.faults_of_maps`."""
    if not has_map(values):
        return []
    from tissue.entry.own_map.taken import faults_of_maps

    return faults_of_maps(values)


def own_map(values: Mapping[str, Any]) -> "OwnMap | None":
    """The OwnMap of an eye's values by name; None where it has no map.

    Raises:
        EyeError: a map that cannot be taken.
    """
    if not has_map(values):
        return None
    from tissue.entry.own_map.taken import own_map_of

    return own_map_of(values)
