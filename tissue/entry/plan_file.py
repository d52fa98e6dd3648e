"""Reads plan files, naming every fault, and writes plan files that read back the same."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from tissue.entry.checks import Fault, fault_of, faults, is_given
from tissue.entry.eye_text import read_of_eye
from tissue.entry.fields import READING, fields, nearest
from tissue.entry.notation import one_line, read_line, read_text, shown
from tissue.entry.own_errors import NO_OWN, OwnErrors, in_folder
from tissue.entry.own_map.maps import faults_in, maps_out_of, tables_of
from tissue.entry.own_map.names import MAPS
from tissue.entry.plan_text import bare, changed_text, new_text, read_texts
from tissue.entry.toml_file import LARGEST_BYTES, Unreadable, file_bytes, tables, text_of
from tissue.entry.whole_file import write_whole
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import EYES, REFRACTION

if TYPE_CHECKING:
    from tissue.entry.own_map.written import WrittenMap
    from tissue.entry.readings import Entry

SCHEMA = 1
KIND = "a plan file"
MOST_FAULTS = 100
LARGEST_WITH_MAPS = 1_000_000  # bytes
ERRORS_FROM = "errors_from"
HEAD = ("schema", "code", "readback", ERRORS_FROM)
PLAIN_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")
IDENTITY = re.compile(r"[0-9a-f]{12}")
READBACK = {  # the values that the last read-back left, and what each accepts
    "date": "text of at most 40 characters",
    "of": "12 hexadecimal digits in quotes",
    "agrees": "true or false",
    "differences": "a list of at most 100 texts",
}


@dataclass(frozen=True, eq=False)
class Plan:
    """What a plan file gives.

    Args:
        code: a pseudonym; empty where none is given.
        eyes: by side (OD, OS), the values given by name [unit of the name]; a written refraction as its numbers.
        typed: by side, what was written, by name; a map as its WrittenMap, there and among the values.
        text: the text of the file it was read from, empty where there is none; its comments and spelling are kept
            when the plan is written again.
        readback: what the last read-back said (date, of, agrees, differences), None where there was none.
        readings: by side, the Entries of what was measured before and after surgery.
        errors_from: name of the file of own errors that it takes, empty where it takes none; own: what stands there.
    """

    code: str
    eyes: dict[str, dict[str, Any]]
    typed: dict[str, dict[str, Any]]
    text: str = ""
    readback: dict | None = None
    readings: "dict[str, tuple[Entry, ...]]" = field(default_factory=dict)
    errors_from: str = ""
    own: OwnErrors = NO_OWN


class PlanError(ValueError):
    """A plan file that cannot be used: it carries every fault, one line each.

    Args:
        file: name of the file.
        faults: pairs of a side (or an empty text) and a Fault.
        sound: by side, the values of the eyes that have no fault.
    """

    def __init__(self, file: str, faults: list[tuple[str, Fault]], sound: dict[str, Any] | None = None) -> None:
        self.file = file
        self.faults = list(faults)
        self.sound = sound or {}
        super().__init__("\n".join(self.lines))

    @property
    def lines(self) -> list[str]:
        """A line for each fault: file, eye, field, what was read, what is accepted."""
        return [one_line(": ".join(filter(None, (self.file, side, fault.text)))) for side, fault in self.faults]


def read_plan(
    source: str | Path | bytes | bytearray, name: str | None = None, folder: str | Path | None = None
) -> Plan:
    """The Plan in a file.

    Args:
        source: path of the file, or its bytes.
        name: what its faults call it; the path as given where None.
        folder: where a file that it names is looked for; that of the path where None.
    Raises:
        PlanError: with every fault that was found.

    >>> plan = read_plan(b'schema = 1\\n[OD]\\nrefraction = "-5.00 -0.75 x 12"\\ncentral_thickness_um = 551')
    >>> plan.eyes["OD"]["cylinder_D"], plan.typed["OD"]["refraction"]
    (-0.75, '-5.00 -0.75 x 12')
    """
    inside = isinstance(source, bytes | bytearray)
    name = name or ("plan" if inside else str(source))
    try:
        data = bytes(source) if isinstance(source, bytes | bytearray) else plan_bytes(source)
        document = tables(data, KIND, read_texts, most_bytes(data))
    except Unreadable as error:
        raise PlanError(name, [("", Fault("file", error.read, error.accepted))]) from None
    found = _head_faults(document)
    own, wrong = _own(document, Path(str(source)).parent if folder is None and not inside else folder)
    found += [("", fault) for fault in wrong]
    eyes, typed, readings = {}, {}, {}
    for side in EYES:
        if isinstance(document.get(side), dict):
            table = dict(document[side])
            measured = table.pop(READING, None)
            maps, wrong = maps_out_of(table, side)
            eyes[side], typed[side], more = _eye(table, side, maps, bool(wrong))
            typed[side] |= maps
            found += [(side, fault) for fault in wrong + more]
            if measured is not None:
                from tissue.entry.readings import read_readings  # imported here: most plans have none

                readings[side], wrong = read_readings(measured, eyes[side])
                found += [(side, fault) for fault in wrong]
    if found:
        at_fault = {side for side, _ in found}
        raise PlanError(name, _first(found), {side: values for side, values in eyes.items() if side not in at_fault})
    code = read_line("code", document["code"], 80) if "code" in document else ""
    own_file = document.get(ERRORS_FROM, "")
    return Plan(code, eyes, typed, text_of(data), document.get("readback"), readings, own_file, own)


def plan_bytes(path: str | Path) -> bytes:
    """The bytes of a plan file; of one that is too large, one byte more than it may have.

    Raises:
        Unreadable: it is not there or cannot be read.
    """
    return file_bytes(path, KIND, LARGEST_WITH_MAPS)


def most_bytes(data: bytes) -> int:
    """How many bytes a plan may have: more where it holds a map."""
    return LARGEST_WITH_MAPS if any(name.encode() in data for name in MAPS) else LARGEST_BYTES


def _own(document: Mapping[str, Any], folder: str | Path | None) -> tuple[OwnErrors, list[Fault]]:
    """The own errors that a plan takes, and the Fault where it cannot have them."""
    if ERRORS_FROM not in document:
        return NO_OWN, []
    try:
        return in_folder(folder, document[ERRORS_FROM]), []
    except Unreadable as error:
        return NO_OWN, [Fault(ERRORS_FROM, error.read, error.accepted)]


def _first(found: list[tuple[str, Fault]]) -> list[tuple[str, Fault]]:
    """The first faults, and how many more there are."""
    left = len(found) - MOST_FAULTS
    more = [("", Fault("file", f"{left} more faults", "a plan without them"))] if left > 0 else []
    return found[:MOST_FAULTS] + more


def _head_faults(document: Mapping[str, Any]) -> list[tuple[str, Fault]]:
    """Faults outside the eyes: in schema or code, an unknown name, or no eye at all."""
    found = []
    if bare(document.get("schema")) != str(SCHEMA):
        schema = _words(document["schema"]) if "schema" in document else "nothing"
        found.append(Fault("schema", schema, str(SCHEMA)))
    if "code" in document:
        found += _code_faults(document["code"])
    for side in EYES:
        if side in document and not isinstance(document[side], dict):
            found.append(Fault(side, _words(document[side]), f"a table [{side}]"))
    found += _readback_faults(document.get("readback", {}))
    strays = [name for name in document if name not in HEAD and name not in EYES]
    found += [_stray(name, number < MOST_FAULTS) for number, name in enumerate(strays)]
    if not any(side in document for side in EYES):
        found.append(Fault("OD", "nothing", "a table [OD] or [OS], one eye at least"))
    return [("", fault) for fault in found]


def _readback_faults(table: Mapping[str, Any]) -> list[Fault]:
    """Faults of the table that `tissue readback` writes: date, of, agrees, differences."""
    if not isinstance(table, dict):
        return [Fault("readback", _words(table), "a table [readback]")]
    found = []
    for name, value in table.items():
        if name not in READBACK:
            found.append(Fault(f"readback.{shown(name)}", "an unknown name", ", ".join(READBACK)))
        elif not _is_readback(name, value):
            found.append(Fault(f"readback.{name}", _words(value), READBACK[name]))
    missing = [name for name in ("of", "agrees") if table and name not in table]
    return found + [Fault(f"readback.{name}", "nothing", READBACK[name]) for name in missing]


def _is_readback(name: str, value: Any) -> bool:
    """Whether a value of the read-back has the right kind."""
    if name == "agrees":
        return isinstance(value, bool)
    if name == "differences":
        return isinstance(value, list) and len(value) <= MOST_FAULTS and all(_is_text(one, 400) for one in value)
    return _is_text(value, 40) if name == "date" else bool(_is_text(value, 12) and IDENTITY.fullmatch(value))


def _is_text(value: Any, most: int) -> bool:
    return isinstance(value, str) and not bare(value) and len(value) <= most and value.isprintable()


def _code_faults(code: Any) -> list[Fault]:
    if not isinstance(code, str) or bare(code):
        return [Fault("code", _words(code), "a pseudonym in quotes")]
    try:
        read_line("code", code, 80)
    except EyeError as error:
        return [fault_of(error)]
    return []


def _stray(name: str, told: bool) -> Fault:
    """The fault of a name that does not belong outside the eyes; told: whether the nearest known name is named."""
    if name in fields():
        return Fault(name, "a value outside an eye", "this name under [OD] or [OS]")
    known = f", nearest {nearest(name, (*HEAD, *EYES))}" if told else ""
    return Fault(shown(name), "an unknown name", f"schema, code, {ERRORS_FROM}, [OD] or [OS]{known}")


def _words(value: Any) -> str:
    """A value of the file in words."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else shown(bare(value) or value)


def _eye(
    table: Mapping[str, Any], side: str, maps: "dict[str, WrittenMap]", unread_map: bool
) -> tuple[dict[str, Any], dict[str, Any], list[Fault]]:
    """Values, written texts and Faults of one eye. maps: by name; unread_map: whether one could not be read."""
    besides: dict[str, float] = {}
    values, typed, found = {}, {}, []
    for number, (name, value) in enumerate(table.items()):
        if name not in fields():
            known = f", nearest {nearest(name)}" if number < MOST_FAULTS else ""
            found.append(Fault(shown(name), "an unknown name", f"a name of the interface{known}"))
        elif not isinstance(value, str):
            found.append(Fault(name, _words(value), fields()[name].accepted))
        else:
            typed[name] = bare(value) or value
            try:
                values[name], more = read_of_eye(name, typed[name], side)
                besides |= more
            except EyeError as error:
                found.append(fault_of(error))
    for name, value in besides.items():
        if values.setdefault(name, value) != value:
            found.append(
                Fault("refraction", shown(typed["refraction"]), f"no other {name} than the one given beside it")
            )
    unread = {fault.field for fault in found if fault.field in fields()} | ({MAPS[0]} if unread_map else set())
    values |= maps
    found += _disagreements(values, typed, unread)
    found += faults_in(values)
    order = list(fields())
    found.sort(key=lambda fault: order.index(fault.field) if fault.field in order else -1)
    return _with_numbers(values), typed, found


def _disagreements(values: Mapping[str, Any], typed: Mapping[str, Any], faulty: set[str]) -> list[Fault]:
    """Faults of range and between fields; a field that could not be read counts as given."""
    given = {name: typed[name] if name == "refraction" else value for name, value in values.items()}
    unread = dict.fromkeys(faulty, True)
    return [finding.fault(written=typed.get(finding.field)) for finding in faults(given, unread)]


def _with_numbers(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values with a written refraction replaced by its numbers."""
    values = dict(values)
    if "refraction" in values:
        numbers = dict(zip(REFRACTION, values.pop("refraction"), strict=True))
        values |= {name: number for name, number in numbers.items() if not np.isnan(number)}
    return values


def dumps(plan: Plan) -> str:
    """The text of a plan file that reads back as the same Plan.

    >>> print(dumps(Plan("harbour-03", {"OD": {"sphere_D": 2.0, "central_thickness_um": 548.0}}, {})))
    # This file ends with the line "# end of file". Where that line is missing, the file was cut off.
    schema = 1
    code = "harbour-03"
    <BLANKLINE>
    [OD]
    sphere_D = "+2.00"
    central_thickness_um = 548
    # end of file
    <BLANKLINE>
    """
    document: dict[str, Any] = {"schema": SCHEMA} | ({"code": plan.code} if plan.code else {})
    document |= {ERRORS_FROM: plan.errors_from} if plan.errors_from else {}
    for side in EYES:
        if side in plan.eyes:
            document[side] = _table(plan.eyes[side], plan.typed.get(side, {}))
            document[side] |= tables_of(plan.eyes[side])
            if plan.readings.get(side):
                document[side][READING] = [entry.typed for entry in plan.readings[side]]
    if plan.readback is not None:
        document["readback"] = plan.readback
    return changed_text(plan.text, _as_it_stood(plan, document)) if plan.text else new_text(document)


def _as_it_stood(plan: Plan, document: dict[str, Any]) -> dict[str, Any]:
    """The document, in the file's own spelling for every value that has not changed."""
    before, written = _before(plan), tomllib.loads(plan.text)
    for side in [side for side in EYES if side in document and side in before.eyes]:
        values, old = plan.eyes[side], before.eyes[side]
        same = [name for name in document[side] if name in old and values.get(name) == old[name]]
        document[side] |= {name: written[side][name] for name in same if name in written[side]}
        if READING in document[side] and _typed(before, side) == _typed(plan, side):
            document[side][READING] = written[side][READING]
    return document


def _typed(plan: Plan, side: str) -> list[dict[str, str]]:
    """What was written in the readings of one eye."""
    return [entry.typed for entry in plan.readings.get(side, ())]


def _before(plan: Plan) -> Plan:
    """The plan as it was when its text was read."""
    return plan_alone(plan.text.encode("utf-8"))


def plan_alone(data: bytes) -> Plan:
    """The Plan in the bytes of a file, without the file of own errors that it may name.

    Raises:
        PlanError: as `read_plan`.

    >>> text = b'schema = 1\\nerrors_from = "own.toml"\\n[OD]\\nsphere_D = -5\\ncentral_thickness_um = 551'
    >>> plan_alone(text).errors_from
    ''
    """
    try:
        values = tables(data, KIND, most=most_bytes(data))
    except Unreadable:
        values = {}
    if ERRORS_FROM not in values:
        return read_plan(data)
    alone = changed_text(text_of(data), {name: value for name, value in values.items() if name != ERRORS_FROM})
    return read_plan(alone.encode("utf-8"))


def _table(values: Mapping[str, Any], typed: Mapping[str, Any]) -> dict[str, Any]:
    """The table of one eye, in the order of the form; a typed text is kept while it still says the same."""
    values = {name: value for name, value in values.items() if is_given(value)}
    table = {}
    numbers = {name: values[name] for name in REFRACTION if name in values}
    if numbers and _reading("refraction", typed) == numbers:
        table["refraction"] = typed["refraction"]
        values = {name: value for name, value in values.items() if name not in REFRACTION}
    return table | {name: _written(name, values[name], typed) for name in fields() if name in values}


def _reading(name: str, typed: Mapping[str, Any]) -> dict[str, float]:
    """The values of a typed text, by name; empty where nothing was typed or it cannot be read."""
    try:
        return _with_numbers({name: read_text(name, typed[name])}) if name in typed else {}
    except EyeError:
        return {}


def _written(name: str, value: Any, typed: Mapping[str, Any]) -> Any:
    """One value as it is written: words as typed, a power as text with its sign, a whole number without a point."""
    known = fields()[name]
    if not known.is_number:
        return value
    if _reading(name, typed) == {name: value} and not PLAIN_NUMBER.fullmatch(typed[name]):
        return typed[name]
    if known.kind == "power":
        text = f"{value:+.2f}"
        return text if float(text) == value else f"{float(value):+}"
    return int(value) if float(value).is_integer() else float(value)


def save(plan: Plan, path: str | Path) -> None:
    """Write a Plan, whole or not at all.

    Raises:
        OSError: the folder cannot be written to.
    """
    write_whole(path, dumps(plan).encode("utf-8"))
