"""Reads and writes the tables [OD.thickness_map] and [OD.epithelium_map] of a plan file."""

from collections.abc import Mapping
from typing import Any

from tissue.entry.checks import Fault
from tissue.entry.fields import nearest
from tissue.entry.notation import shown
from tissue.entry.own_map.names import EPITHELIUM, MAPS
from tissue.entry.own_map.written import FORMS, TYPED, WrittenMap

TEXTS = ("form", "positive_x", "positive_y", "x_mm", "y_mm", "values", "method", "left_out")
CONFIRMED, SD = "confirmed_on_picture", "sd_um"
KEYS = (*TEXTS[:3], SD, *TEXTS[3:], CONFIRMED)
LONGEST_METHOD = 80


def pop_maps(table: dict[str, Any], side: str) -> tuple[dict[str, WrittenMap], list[Fault]]:
    """Take the maps out of the table of an eye; returns them by name, and the Faults of those that are no maps.

    Args:
        table: of the eye, numbers as their text; its maps are removed. side: OD or OS.
    """
    maps, found = {}, []
    for name in MAPS:
        if name in table:
            value = table.pop(name)
            wrong = _strange(name, value)
            found += wrong
            if not wrong:
                maps[name] = _written(name, side, value)
    return maps, found


def _strange(name: str, value: Any) -> list[Fault]:
    """Faults in the names and kinds of the values of a map."""
    if not isinstance(value, Mapping):
        return [Fault(name, shown(str(value).lower()), f"a table [OD.{name}] or [OS.{name}]")]
    known = tuple(key for key in KEYS if key != SD or name != EPITHELIUM)
    found = []
    for key, part in value.items():
        if key not in known:
            accepted = f"a name of a map, nearest {nearest(key, known)}"
            found.append(Fault(f"{name}.{shown(key)}", "an unknown name", accepted))
        elif isinstance(part, bool) != (key == CONFIRMED) or not isinstance(part, str | bool):
            accepted = "true or false" if key == CONFIRMED else "a number" if key == SD else "text in quotes"
            found.append(Fault(f"{name}.{key}", shown(str(part).lower()), accepted))
    method = value.get("method", "")
    found += method_faults(name, method) if isinstance(method, str) else []
    missing = [key for key in ("form", "values") if key not in value]
    return found + [Fault(f"{name}.{key}", "nothing", _wanted(key)) for key in missing]


def method_faults(name: str, method: str) -> list[Fault]:
    """The Fault of the text on how a map was measured, where it is not a plain line.

    >>> [fault.read for fault in method_faults("thickness_map", "OCT\\tat noon")], method_faults("thickness_map", "OCT")
    (['OCT at noon'], [])
    """
    if len(method) <= LONGEST_METHOD and method.isprintable():
        return []
    accepted = f"one line of at most {LONGEST_METHOD} characters, without tabs and no-break spaces"
    return [Fault(f"{name}.method", shown(method), accepted)]


def _wanted(key: str) -> str:
    """What a map must have, in words."""
    return ", ".join(FORMS) if key == "form" else "the readings"


def _written(name: str, side: str, value: Mapping[str, Any]) -> WrittenMap:
    """The WrittenMap of a table in which names and kinds are right."""
    texts = {key: str(value[key]).strip("\n") if key == "values" else str(value[key]) for key in TEXTS if key in value}
    return WrittenMap(name, side, confirmed=value.get(CONFIRMED), sd_um=str(value.get(SD, "")), **texts)


def table_of(written: WrittenMap) -> dict[str, Any]:
    """A map as a plan file holds it, in the order of the keys."""
    import tomlkit

    found: dict[str, Any] = {}
    for key in KEYS:
        value = written.confirmed if key == CONFIRMED else getattr(written, key)
        if value in ("", None):
            continue
        if key == SD:
            number = float(str(value).translate(TYPED))
            found[key] = int(number) if number.is_integer() else number
        elif key in ("values", "left_out"):
            found[key] = tomlkit.string(str(value).strip("\n") + "\n", multiline=True)
        else:
            found[key] = value
    return found
