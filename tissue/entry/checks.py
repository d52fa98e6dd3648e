"""The checks on what is given, one set for one eye and for a column of eyes: ranges, and what must agree.

NaN, None and an empty text mean *not given*. Ranges bind what is given, not defaults.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from tissue.entry.eye_text import read_of_eye
from tissue.entry.fields import fields, figure
from tissue.entry.notation import shown
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import REFRACTION

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

NUMBERS_OF_REFRACTION = REFRACTION
TREATED = ("treated_sphere_D", "treated_cylinder_D", "treated_axis_deg")
NOTHING = shown("")
FLAPS_AND_CAPS = (
    "flap_um",
    "flap_measured_um",
    "rescue_flap_um",
    "enhancement_flap_um",
    "cap_um",
    "cap_measured_um",
    "recut_cap_um",
)


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong: the field, what was read there, and what is accepted."""

    field: str
    read: str
    accepted: str

    @property
    def text(self) -> str:
        """The fault in one line, without a semicolon.

        >>> Fault("zone_mm", "65", "4 to 9 mm").text
        'zone_mm: read 65, accepted 4 to 9 mm'
        """
        return f"{self.field}: read {self.read}, accepted {self.accepted}"


def fault_of(error: EyeError) -> Fault:
    """The Fault that an EyeError describes.

    >>> fault_of(EyeError("zone_mm", 65, "4 to 9 mm")).text
    'zone_mm: read 65, accepted 4 to 9 mm'
    """
    return Fault(error.field, shown(error.value), " ".join(str(error.limit).replace(";", ",").split()))


@dataclass(frozen=True, eq=False)
class Finding:
    """A check that fails for some eyes.

    Args:
        field: the field at fault.
        mask: true for the eyes at fault [bool, the shape of the columns].
        number: the number in the field of an eye, in words, from its index.
        accepting: what is accepted in an eye, from its index.
        said: words for what was read where the number itself is not at fault, such as "nothing".
    """

    field: str
    mask: np.ndarray
    number: Callable[..., Any]
    accepting: Callable[..., str]
    said: str = ""

    def fault(self, at: int | tuple[int, ...] = (), written: str | None = None) -> Fault:
        """The Fault of one eye.

        Args:
            at: index of the eye; () for one eye.
            written: what stood in the field, where that is known better than its number.
        """
        read = self.said or (self.number(at) if written is None else shown(written))
        return Fault(self.field, read, self.accepting(at))


def is_given(value: ArrayLike | None) -> NDArray[np.bool_]:
    """Where a number or a text is given, by element: not NaN, not None, not empty.

    >>> is_given([1.0, float("nan")]).tolist(), bool(is_given(""))
    ([True, False], False)
    """
    column = np.asarray(value)
    if column.dtype.kind in "fiub":
        return ~np.isnan(column)
    column = column.astype(object)
    return np.equal(column, column) & np.not_equal(column, "") & np.not_equal(column, np.asarray(None))


class Columns:
    """The given values by name, as arrays of one shape; a value that is missing is NaN."""

    def __init__(self, values: Mapping[str, Any], unread: Mapping[str, Any]) -> None:
        arrays = [np.asarray(v) for v in (*values.values(), *unread.values())]
        self.shape = np.broadcast_shapes(*(a.shape for a in arrays))
        self.values = values
        self.unread = unread

    def number(self, name: str) -> NDArray[Any]:
        """The numbers of a field, NaN where not given."""
        value = self.values.get(name)
        return np.asarray(np.nan if value is None else value, dtype=float)

    def has(self, name: str) -> bool | NDArray[Any]:
        """Where a field holds something, whether or not it could be read."""
        return is_given(self.values.get(name)) | np.asarray(self.unread.get(name, False))

    def sound(self, name: str) -> NDArray[Any]:
        """The numbers of a field, NaN where not given or outside the range."""
        value, field = self.number(name), fields()[name]
        return np.where((value >= field.low) & (value <= field.high), value, np.nan)

    def at(self, name: str, index: int | tuple[int, ...]) -> str:
        """One number of a field, in words."""
        return figure(float(np.broadcast_to(self.number(name), self.shape)[index]), fields()[name].kind == "power")


def faults(values: dict[str, float | NDArray[Any] | str], unread: dict[str, bool] | None = None) -> list[Finding]:
    """A Finding for each check that fails; an empty list where all is well.

    Args:
        values: by name of the interface, what was given: numbers [unit of the name] or columns of them, NaN where
            not given; texts or columns of texts. A written `refraction` counts as given, its numbers are not wanted.
        unread: by name, true where something stands that could not be read (it counts as given).

    >>> [f.fault().text for f in faults({"sphere_D": -4.0, "central_thickness_um": 999.0})]
    ['central_thickness_um: read 999, accepted 300 to 900 µm, or 0.3 to 0.9 mm']
    """
    columns = Columns(values, unread or {})
    found = []
    for check in (_ranges, _required, _spelled_twice, _astigmatism, _treated, _thinnest, _deeper_than_epithelium):
        found += check(columns)
    return found


def _finding(
    columns: Columns, field: str, mask: ArrayLike, accepted: Callable[[Any], str] | str, said: str = ""
) -> list[Finding]:
    """The Finding in a list; an empty list where no eye is at fault."""
    mask = np.asarray(mask)
    if not mask.any():
        return []
    return [
        Finding(
            field=field,
            mask=np.broadcast_to(mask, columns.shape),
            number=lambda index: columns.at(field, index),
            accepting=accepted if callable(accepted) else lambda index: accepted,
            said=said,
        )
    ]


def _ranges(columns: Columns) -> list[Finding]:
    found = []
    for name, field in fields().items():
        if field.is_number and name in columns.values:
            value = columns.number(name)
            found += _finding(columns, name, (value < field.low) | (value > field.high), field.accepted)
    return found


def _required(columns: Columns) -> list[Finding]:
    no_refraction = ~(columns.has("refraction") | columns.has("sphere_D"))
    no_thickness = ~(columns.has("central_thickness_um") | columns.has("thickness_map"))
    wanted = f"a refraction as written, or {fields()['sphere_D'].accepted}"
    accepted = fields()["central_thickness_um"].accepted
    thinnest = np.broadcast_to(columns.sound("thinnest_um"), columns.shape)

    def thickness(index: Any) -> str:
        # without any column there are no rows to index
        if np.isnan(thinnest[index] if thinnest.ndim else thinnest):
            return accepted
        given = columns.at("thinnest_um", index)
        return f"{accepted}, thinnest {given} is given, the thickness at the centre is needed too"

    return _finding(columns, "sphere_D", no_refraction, wanted, NOTHING) + _finding(
        columns, "central_thickness_um", no_thickness, thickness, NOTHING
    )


def _spelled_twice(columns: Columns) -> list[Finding]:
    text = columns.has("refraction")
    found = []
    for name in NUMBERS_OF_REFRACTION:
        found += _finding(columns, name, text & columns.has(name), "either this or refraction, not both", "a value")
    both = columns.has("radius_mm") & columns.has("mean_K_D")
    return found + _finding(columns, "mean_K_D", both, "either this or radius_mm, not both", "a value")


def _astigmatism(columns: Columns) -> list[Finding]:
    cylinder = columns.sound("cylinder_D")
    bare = ~np.isnan(cylinder) & (cylinder != 0) & ~columns.has("axis_deg")
    return _finding(columns, "axis_deg", bare, "0 to 180° with a cylinder", NOTHING)


def _treated(columns: Columns) -> list[Finding]:
    sphere, cylinder, axis = (columns.has(name) for name in TREATED)
    power = columns.sound("treated_cylinder_D")
    bare = sphere & ~np.isnan(power) & (power != 0) & ~axis
    together = "the treated refraction whole, sphere and cylinder and, where there is a cylinder, axis"
    return (
        _finding(columns, "treated_sphere_D", ~sphere & (cylinder | axis), together, NOTHING)
        + _finding(columns, "treated_cylinder_D", ~cylinder & (sphere | axis), together, NOTHING)
        + _finding(columns, "treated_axis_deg", bare, "0 to 180° with a treated cylinder", NOTHING)
    )


def _thinnest(columns: Columns) -> list[Finding]:
    thinnest, centre = columns.sound("thinnest_um"), columns.sound("central_thickness_um")
    has, x, y = (columns.has(name) for name in ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm"))

    def at_most(index: Any) -> str:
        return f"at most the thickness at the centre ({columns.at('central_thickness_um', index)} µm)"

    return (
        _finding(columns, "thinnest_um", thinnest > centre, at_most)
        + _finding(columns, "thinnest_um", ~has & (x | y), "the thickness at the place that is given", NOTHING)
        + _finding(columns, "thinnest_x_mm", has & ~x & y, "both coordinates of the place, or neither", NOTHING)
        + _finding(columns, "thinnest_y_mm", has & x & ~y, "both coordinates of the place, or neither", NOTHING)
    )


def _deeper_than_epithelium(columns: Columns) -> list[Finding]:
    default = fields()["epithelium_um"].default
    epithelium = np.where(columns.has("epithelium_um"), columns.sound("epithelium_um"), default)

    def deeper(index: Any) -> str:
        return f"deeper than the epithelium ({figure(float(np.broadcast_to(epithelium, columns.shape)[index]))} µm)"

    found = []
    for name in FLAPS_AND_CAPS:
        found += _finding(columns, name, columns.sound(name) <= epithelium, deeper)
    return found


def check_one(name: str, text: str, side: str | None = None) -> float | str | Fault:
    """The value that a text gives one field, or the Fault; NaN (or an empty text) where nothing is written.

    `faults` checks what must agree between fields; this function does not.

    Args:
        name: of the interface. text: what was written. side: OD or OS, where it is known.

    >>> check_one("zone_mm", "6,4 mm"), check_one("zone_mm", "65").text
    (6.4, 'zone_mm: read 65, accepted 4 to 9 mm')
    """
    field = fields()[name]
    if not text.strip():
        return float("nan") if field.is_number else ""
    try:
        value = read_of_eye(name, text, side)[0]
    except EyeError as error:
        return fault_of(error)
    if field.is_number and not field.low <= value <= field.high:
        return Fault(name, shown(text), field.accepted)
    return value
