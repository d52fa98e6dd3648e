"""Reads the readings of a plan file: what was measured of an eye before and after surgery. It names every fault."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tissue.entry.checks import Fault, fault_of
from tissue.entry.fields import Field, fields, nearest, reading_fields
from tissue.entry.notation import read_choice, read_number, read_refraction, shown
from tissue.eye.reading import THICKNESSES, Reading
from tissue.ground.errors import EyeError
from tissue.removal.options import Every

MOST_READINGS = 20
MEASURED = (*THICKNESSES, "K_D", "refraction")
BY_LAYERS = ("epithelium_um", "cut_um", "bed_um")  # measured only by methods that tell layers apart
TELLS_LAYERS = ("oct", "vhf")
AFTER_ONLY = ("cut_um", "bed_um", "K_D", "refraction")
MEASURED_CUTS = Every(lambda traits: traits.measured_field)  # for each operation done; None where nothing is cut


@dataclass(frozen=True, eq=False)
class Entry:
    """One reading as given: values by name (a refraction as sphere, cylinder, axis), and the texts as written."""

    values: dict[str, Any]
    typed: dict[str, str]

    @property
    def reading(self) -> Reading:
        """The Reading of these values."""
        values = dict(self.values)
        refraction = values.pop("refraction", None)
        SE = None if refraction is None else refraction[0] + refraction[1] / 2.0
        return Reading(SE_D=SE, **values)


def read_entry(typed: Mapping[str, str]) -> tuple[Entry, list[Fault]]:
    """One reading from its written texts by name, and its Faults.

    >>> read_entry({"days": "90", "method": "oct", "thickness_um": "95"})[1][0].text
    'thickness_um: read 95, accepted 200 to 900 µm'
    """
    values: dict[str, Any] = {}
    found = []
    for name, field in reading_fields().items():
        if typed.get(name, "").strip():
            try:
                values[name] = _value(field, typed[name])
            except EyeError as error:
                found.append(fault_of(error))
    given = {name: text for name, text in typed.items() if text.strip()}
    return Entry(values, given), found or list(_faults(values))


def _value(field: Field, text: str) -> Any:
    """The value that a text gives one field of a reading."""
    if field.kind == "refraction":
        return read_refraction(text, field.name)
    if field.choices:
        return read_choice(field, text)
    value = read_number(field, text)
    if not field.low <= value <= field.high or (field.name == "days" and value != int(value)):
        raise EyeError(field.name, shown(text), f"whole {field.accepted}" if field.name == "days" else field.accepted)
    return value


def _faults(values: Mapping[str, Any]) -> Iterator[Fault]:
    """Faults between the fields of one reading."""
    known = reading_fields()
    for name in ("days", "method"):
        if name not in values:
            yield Fault(name, "nothing", known[name].accepted)
    if not any(name in values for name in MEASURED):
        yield Fault("thickness_um", "nothing", f"something measured: {', '.join(MEASURED)}")
    method, days = values.get("method", TELLS_LAYERS[0]), values.get("days", 0.0)
    for name in BY_LAYERS:
        if name in values and method not in TELLS_LAYERS:
            yield Fault(name, f"a value by {method}", f"{' or '.join(TELLS_LAYERS)}, which tell layers apart")
    for name in AFTER_ONLY:
        if name in values and days < 0:
            yield Fault(name, "a value before surgery", "days of 0 or more")


def read_readings(tables: Any, eye: Mapping[str, Any]) -> tuple[tuple[Entry, ...], list[Fault]]:
    """The readings of one eye, and every Fault with the number of its reading.

    Args:
        tables: the value of `reading` in the file, numbers as their text.
        eye: values of the eye by name.

    >>> read_readings([{"days": "9", "methd": "oct"}], {})[1][0].text
    'reading 1: methd: read an unknown name, accepted a name of a reading, nearest method'
    """
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        return (), [Fault("reading", "something else", "tables [[OD.reading]] or [[OS.reading]]")]
    if not 1 <= len(tables) <= MOST_READINGS:
        return (), [Fault("reading", f"{len(tables)} readings", f"1 to {MOST_READINGS}")]
    entries, found = [], []
    for number, table in enumerate(tables, 1):
        strange = list(_strange(table))
        entry, wrong = read_entry(_texts(table))
        entries.append(entry)
        wrong = strange or wrong or list(_against(entry.values, eye))
        found += [Fault(f"reading {number}: {fault.field}", fault.read, fault.accepted) for fault in wrong]
    return tuple(entries), found


def _texts(table: Mapping[str, Any]) -> dict[str, str]:
    """What was written under the names of a reading."""
    return {name: str(text) for name, text in table.items() if name in reading_fields() and isinstance(text, str)}


def _strange(table: Mapping[str, Any]) -> Iterator[Fault]:
    """Faults of unknown names, and of values that are neither text nor number."""
    names: Sequence[str] = tuple(reading_fields())
    for name, value in table.items():
        if name not in names:
            yield Fault(shown(name), "an unknown name", f"a name of a reading, nearest {nearest(name, names)}")
        elif not isinstance(value, str):
            yield Fault(name, shown(str(value).lower()), reading_fields()[name].accepted)


def _against(values: Mapping[str, Any], eye: Mapping[str, Any]) -> Iterator[Fault]:
    """Faults of a reading that contradicts its eye."""
    done = eye.get("done")
    measured = MEASURED_CUTS.get(str(done))
    if "cut_um" in values and done:
        title = fields()["done"].label.lower()
        if measured is None:
            yield Fault("cut_um", "a value", f"none after {done} ({title}): nothing was cut")
        elif eye.get(measured) is not None:
            yield Fault("cut_um", "a value", f"either this or {measured}, not both")
    whole = values.get("thickness_um", eye.get("central_thickness_um"))
    if whole is not None and values.get("bed_um", 0.0) >= whole:
        yield Fault("bed_um", f"{values['bed_um']:g}", f"less than the thickness ({whole:g} µm)")
