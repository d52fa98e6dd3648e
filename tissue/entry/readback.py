"""Read-back: compares what a second person typed with the values of a plan, and names likely slips."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from tissue.entry.checks import Fault, check_one, fault_of, faults
from tissue.entry.fields import fields, figure, nearest
from tissue.entry.notation import shown, write
from tissue.entry.own_map.names import MAPS
from tissue.entry.plan_file import KIND, REFRACTION, SCHEMA, PlanError
from tissue.entry.plan_text import bare, read_texts
from tissue.entry.toml_file import Unreadable, file_bytes, tables
from tissue.eye.refraction import PowerVector, Refraction
from tissue.eye.slips import ALIKE_D, ALIKE_DEG, guard, in_order, less, names_of, point_moved
from tissue.ground.errors import EyeError, given
from tissue.ground.vocabulary import EYES, Flags

TREATED = tuple(f"treated_{name}" for name in REFRACTION)
WANTED = ("refraction", "central_thickness_um", "zone_mm")
HASHED = (*REFRACTION, "central_thickness_um", "zone_mm", "cap_um", "flap_um", "procedure")
DIGITS_OF_HASH = 12
HAIR = 1e-9  # equal axes may differ by this much in their last digits


@dataclass(frozen=True, eq=False)
class Difference:
    """One value that was typed differently from the plan.

    field: name; refraction, treated and eye besides. plan, typed: values; a refraction as three numbers in minus form,
    NaN for the axis without a cylinder. names: slips that explain it. residual: power vector of plan less typed [D].
    """

    field: str
    plan: Any
    typed: Any
    names: tuple[str, ...]
    residual: PowerVector | None = None


@dataclass(frozen=True, eq=False)
class ReadEye:
    """The read-back of one eye: names compared, names wanted but not typed, and the Differences."""

    compared: list[str] = field(default_factory=list)
    not_typed: list[str] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)

    @property
    def agrees(self) -> bool:
        """Whether nothing differs and nothing wanted is missing."""
        return not self.differences and not self.not_typed


def read_typed(source: Any, name: str | None = None) -> dict[str, dict[str, Any]]:
    """The values in a file of typed values, by side and by name; apart from them the file needs only `schema`.

    Args:
        source: path of the file, or its bytes.
        name: what its faults call it; the path as given where None.
    Raises:
        PlanError: with every fault that was found.

    >>> read_typed(b'schema = 1\\n[OD]\\nrefraction = "-6 -3.75 x 100"')["OD"]["axis_deg"]
    100.0
    """
    inside = isinstance(source, bytes | bytearray)
    name = name or ("typed" if inside else str(source))
    try:
        document = tables(bytes(source) if inside else file_bytes(source, KIND), KIND, read_texts)
    except Unreadable as error:
        raise PlanError(name, [("", Fault("file", error.read, error.accepted))]) from None
    found = [] if bare(document.get("schema")) == str(SCHEMA) else [("", _no_schema(document))]
    strays = [key for key in document if key not in ("schema", "code", *EYES)]
    found += [("", Fault(shown(key), "an unknown name", "schema, code, [OD] or [OS]")) for key in strays]
    eyes = {}
    for side in EYES:
        if side in document:
            eyes[side], wrong = typed_values(document[side])
            found += [(side, fault) for fault in wrong]
    if found:
        raise PlanError(name, found)
    return eyes


def _no_schema(document: Mapping[str, Any]) -> Fault:
    return Fault("schema", shown(document.get("schema", "")), str(SCHEMA))


def typed_values(texts: Any) -> tuple[dict[str, Any], list[Fault]]:
    """Values by name from the texts of one eye, and the Faults; a written refraction as its numbers.

    Args:
        texts: by name, what was typed.
    """
    if not isinstance(texts, dict):
        return {}, [Fault("eye", shown(texts), "a table [OD] or [OS]")]
    values, found = {}, []
    for name, text in texts.items():
        value = _value_of(name, text)
        if isinstance(value, Fault):
            found.append(value)
        else:
            values[name] = value
    found += _disagreements(values, {fault.field for fault in found})
    written = values.pop("refraction", None)
    if written is not None:
        values |= {name: number for name, number in zip(REFRACTION, written, strict=True) if not np.isnan(number)}
    return values, found


def _value_of(name: str, text: Any) -> Any:
    """The value of one name, or the Fault."""
    if name not in fields():
        return Fault(shown(name), "an unknown name", f"a name of the interface, nearest {nearest(name)}")
    if not isinstance(text, str):
        return Fault(name, shown(text), fields()[name].accepted)
    if not text.strip():
        return Fault(name, "nothing", fields()[name].accepted)
    try:
        return check_one(name, text)
    except EyeError as error:
        return fault_of(error)


def _disagreements(values: Mapping[str, Any], unread: Iterable[str]) -> list[Fault]:
    """Faults within a typed refraction; no other field is required."""
    some = {name: value for name, value in values.items() if name in ("refraction", *REFRACTION, *TREATED)}
    some = some | ({"refraction": "typed"} if "refraction" in some else {})
    if not set(some) & {"refraction", *REFRACTION} and not set(some) & set(TREATED):
        return []
    found = [finding.fault() for finding in faults(some, {name: True for name in unread if name in fields()})]
    needed = {"central_thickness_um"} | (set() if set(some) & {"refraction", *REFRACTION} else {"sphere_D"})
    return [fault for fault in found if fault.field not in needed]


def read_back(plan: dict[str, Any], typed: dict[str, Any]) -> dict[str, ReadEye]:
    """By side, the ReadEye of every eye that is planned or was typed.

    Args:
        plan: by side, every name with the value used, as `entry.eye.used` gives it, and the cut field of its planned
            option: (values, cut fields).
        typed: by side, the values that were typed, by name.
    """
    return {side: _eye(side, plan, typed) for side in EYES if side in plan or side in typed}


def _eye(side: str, plan: Mapping[str, Any], typed: Mapping[str, Any]) -> ReadEye:
    """One eye."""
    if side not in plan:
        swapped = ("other-eye",) if len(plan) == 1 and set(typed) == {side} else ()
        return ReadEye(differences=[Difference("eye", None, side, swapped)])
    values, cuts = plan[side]
    mine = typed.get(side, {})
    other = next((plan[s][0] for s in plan if s != side), None)
    found = ReadEye()
    if "sphere_D" in mine:
        _compare_refraction(found, "refraction", REFRACTION, values, mine, other)
    if "treated_sphere_D" in mine:
        _compare_refraction(found, "treated", TREATED, values, mine, other)
    for name, value in mine.items():
        if name not in (*REFRACTION, *TREATED):
            _compare_value(found, name, values, value, other)
    found.not_typed.extend(_not_typed(found.compared, values, cuts))
    return found


def _not_typed(compared: list[str], values: Mapping[str, Any], cuts: Sequence[str]) -> list[str]:
    """Wanted names that were not typed; all cut depths where any one of them would have been enough."""
    wanted = [name for name in WANTED if name not in compared]
    if values["procedure"]:
        wanted += [name for name in ("procedure", *cuts) if name not in compared]
    elif not set(cuts) & set(compared):
        wanted += cuts
    return wanted


def _refraction(values: Mapping[str, Any], names: Sequence[str]) -> Refraction:
    """Sphere, cylinder and axis as a Refraction in minus form."""
    sphere, cylinder, axis = (values.get(name, np.nan) for name in names)
    vertex = values.get("vertex_mm", 12.0)
    return Refraction(sphere, given(cylinder, 0.0), given(axis, 180.0), vertex).minus()


def numbers_of(refraction: Any) -> tuple[float, float, float]:
    """Sphere, cylinder and axis as they are compared; the axis is NaN without a cylinder."""
    axis = refraction.axis_deg if abs(refraction.cylinder_D) >= ALIKE_D else np.nan
    return float(refraction.sphere_D), float(refraction.cylinder_D), float(axis)


def _compare_refraction(
    found: ReadEye,
    name: str,
    names: Sequence[str],
    values: Mapping[str, Any],
    mine: Mapping[str, Any],
    other: Mapping[str, Any] | None,
) -> None:
    """Compare a whole refraction, both in minus form."""
    found.compared.append(name)
    meant, typed = (
        _refraction(values, names),
        _refraction({"vertex_mm": values["vertex_mm"]} | _only(mine, names), names),
    )
    if _same_refraction(meant, typed):
        return
    others = [_refraction(other, names)] if other else []
    slips = names_of(meant, typed, others)
    if name == "treated" and values["target_D"]:
        of_target = guard(_refraction(values, REFRACTION), values["target_D"], typed).names
        slips |= {slip: True for slip in of_target if slip.startswith("target")}
    found.differences.append(
        Difference(name, numbers_of(meant), numbers_of(typed), in_order(slips), less(meant, typed))
    )


def _only(values: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    return {name: values[name] for name in names if name in values}


def _same_refraction(meant: Refraction, typed: Refraction) -> bool:
    """Whether powers agree within half of their last digit, and axes within a twentieth of a degree."""
    one, other = numbers_of(meant), numbers_of(typed)
    powers = all(abs(a - b) < ALIKE_D for a, b in zip(one[:2], other[:2], strict=True))
    apart = abs(one[2] - other[2]) % 180.0
    return powers and (np.isnan(one[2]) or np.isnan(other[2]) or min(apart, 180.0 - apart) <= ALIKE_DEG + HAIR)


def _compare_value(
    found: ReadEye, name: str, values: Mapping[str, Any], typed: Any, other: Mapping[str, Any] | None
) -> None:
    """Compare one typed value with the value used."""
    found.compared.append(name)
    plan = values[name]
    if _same(name, plan, typed):
        return
    slips = _slips_of_value(name, values, typed, other)
    found.differences.append(Difference(name, _plain(plan), typed, in_order(slips)))


def _plain(value: Any) -> float | str | None:
    """A used value as a plain Python object; None where none is used."""
    if isinstance(value, str):
        return value or None
    return None if np.isnan(value) else float(value)


def _same(name: str, plan: Any, typed: Any) -> bool:
    if isinstance(typed, str) or isinstance(plan, str):
        return str(plan) == str(typed)
    limit = ALIKE_D if fields()[name].kind == "power" else 0.0
    return abs(float(plan) - typed) <= limit


def _slips_of_value(
    name: str, values: Mapping[str, Any], typed: Any, other: Mapping[str, Any] | None
) -> dict[str, Flags]:
    """The slips, by name, that turn the value of one field into what was typed."""
    plan = _plain(values[name])
    fellow = _plain(other[name]) if other else None
    found = {"fellow-eye": fellow is not None and fellow != plan and fellow == typed}
    if isinstance(plan, float) and isinstance(typed, float):
        found["sign"] = fields()[name].kind == "power" and plan != 0 and abs(plan + typed) < ALIKE_D
        found["digits"] = _digits_exchanged(figure(abs(plan)), figure(abs(typed))) and plan * typed > 0
        found["decimal"] = bool(point_moved(plan, typed))
    if name == "central_thickness_um":
        thinnest = _plain(values["thinnest_um"])
        found["thinnest-for-centre"] = thinnest is not None and thinnest != plan and thinnest == typed
    return found


def _digits_exchanged(meant: str, typed: str) -> bool:
    """Whether two neighbouring digits of a written number are exchanged; the point may lie between them.

    >>> _digits_exchanged("548", "584"), _digits_exchanged("6.5", "5.6"), _digits_exchanged("548", "845")
    (True, True, False)
    """
    digits = [c for c in meant if c.isdigit()]
    if len(meant) != len(typed) or meant == typed or meant.find(".") != typed.find("."):
        return False
    other = [c for c in typed if c.isdigit()]
    return any([*digits[:at], digits[at + 1], digits[at], *digits[at + 2 :]] == other for at in range(len(digits) - 1))


def agrees(eyes: dict[str, ReadEye]) -> bool:
    """Whether every eye agrees.

    Args:
        eyes: by side, ReadEye.
    """
    return all(eye.agrees for eye in eyes.values())


def identity(plan: dict[str, Any]) -> str:
    """A hash of the values and maps that are read back; it tells which plan a read-back belongs to.

    Args:
        plan: by side, (values used, cut fields); among the values the WrittenMaps of an eye that has some.

    >>> values = {"sphere_D": -6.0, "cylinder_D": 0.0, "central_thickness_um": 548.0, "zone_mm": 6.5}
    >>> identity({"OD": (values | {"cap_um": 120.0, "flap_um": 110.0, "procedure": "", "vertex_mm": 12.0}, ())})
    'd50081eb8f66'
    """
    lines = []
    for side in EYES:
        if side in plan:
            lines += [*_identity_lines(side, plan[side][0]), *_map_lines(side, plan[side][0])]
    return hashlib.sha256("\n".join(lines).encode("utf-8")).hexdigest()[:DIGITS_OF_HASH]


def _identity_lines(side: str, values: Mapping[str, Any]) -> Iterator[str]:
    """Name and value of each hashed item, with the refraction in minus form."""
    minus = _refraction(values, REFRACTION)
    sphere, cylinder, axis = float(minus.sphere_D), float(minus.cylinder_D), float(minus.axis_deg)
    numbers = {"sphere_D": sphere + 0.0, "cylinder_D": cylinder + 0.0, "axis_deg": axis % 180.0 or 180.0}
    for name in HASHED:
        value = numbers[name] if name in numbers else values[name]
        if name == "axis_deg" and not cylinder:
            continue
        if isinstance(value, str):
            if value:
                yield f"{side}.{name}={value}"
        else:
            yield f"{side}.{name}={float(value):.10g}"


def _map_lines(side: str, values: Mapping[str, Any]) -> Iterator[str]:
    """Each map as it was written, without spaces and without the words that change no figure of the plan."""
    for name in MAPS:
        if (one := values.get(name)) is not None:
            said = one.form, one.positive_x, one.positive_y, one.x_mm, one.y_mm, one.values
            yield f"{side}.{name}={'|'.join(' '.join(part.split()) for part in said)}"


def words_of(name: str, value: Any) -> str:
    """A compared value in words.

    >>> words_of("refraction", (-6.0, -3.75, 10.0)), words_of("zone_mm", 6.5), words_of("cap_um", None)
    ('−6.00 −3.75 × 10', '6.5 mm', 'nothing')
    """
    if value is None:
        return "nothing"
    if isinstance(value, tuple):
        sphere, cylinder, axis = value
        return write(sphere, cylinder, 180.0 if np.isnan(axis) else axis)[0]
    if isinstance(value, str):
        return value
    return f"{figure(value, fields()[name].kind == 'power')} {fields()[name].unit}".strip()
