"""A table of a map with the answers to what it leaves open: gives the maps, or the reason why there are none yet."""

from dataclasses import dataclass, field, replace
from typing import Any

from tissue.entry.checks import Fault, fault_of
from tissue.entry.own_map.keys import method_faults
from tissue.entry.own_map.names import EPITHELIUM, THICKNESS
from tissue.entry.own_map.tables import Asked, maps_of_table
from tissue.entry.own_map.taken import apart, faults_of_maps, require_together, surface_of, without_apart
from tissue.entry.own_map.written import WrittenMap
from tissue.entry.typed import read_fields
from tissue.eye.measured.surface import Surface
from tissue.ground.errors import EyeError

LAYERS = {"thickness": THICKNESS, "epithelium": EPITHELIUM}
MAPS = {THICKNESS: "Thickness map", EPITHELIUM: "Epithelium map"}


@dataclass(frozen=True)
class Table:
    """A table as it was given for one eye, with the text that stands for a missing reading."""

    data: bytes
    side: str
    missing: str = ""

    def form(self) -> str:
        """The form of its maps.

        Raises:
            EyeError, Unreadable: it is no table of a map.
        """
        return next(iter(maps_of_table(self.data, Asked(self.side, missing=self.missing)).values())).form


@dataclass(frozen=True)
class Answers:
    """The answers about a table; empty where there is none yet.

    of: what a grid maps. positive_x, positive_y: where the table's x and y run. sd_um: error of a reading.
    method: how it was measured. leave_out: whether readings that lie apart are counted as missing.
    """

    of: str = ""
    positive_x: str = ""
    positive_y: str = ""
    sd_um: str = ""
    method: str = ""
    leave_out: bool = False

    def open_questions(self, form: str) -> list[str]:
        """The questions that are still open, in words."""
        asked = {
            "what it is a map of": form == "grid" and not self.of,
            "where its x runs": form != "sectors" and not self.positive_x,
            "where its y runs": form != "sectors" and not self.positive_y,
        }
        return [words for words, is_open in asked.items() if is_open]


@dataclass(frozen=True)
class Found:
    """What a table and its answers give: the maps with their surfaces, and the reasons against taking them.

    wrong: lines that say why they cannot be taken. apart: whether the only reason is that some readings lie apart.
    """

    maps: dict[str, WrittenMap] = field(default_factory=dict)
    surfaces: dict[str, Surface] = field(default_factory=dict)
    wrong: tuple[str, ...] = ()
    apart: bool = False


def found_in(table: Table, answers: Answers, texts: dict[str, Any]) -> Found:
    """The Found of a table whose questions are answered.

    Args:
        table: Table. answers: Answers, none of them open. texts: by name, what stands in the fields of the eye.
    """
    asked = Asked(table.side, answers.positive_x, answers.positive_y, answers.of, table.missing, answers.sd_um.strip())
    try:
        maps = {
            name: replace(one, method=answers.method.strip()) for name, one in maps_of_table(table.data, asked).items()
        }
        if answers.leave_out:
            maps = {name: without_apart(one) for name, one in maps.items()}
        surfaces = {name: surface_of(one)[1] for name, one in maps.items()}
    except EyeError as error:
        return Found(wrong=(_said(fault_of(error)),))
    try:
        for one in maps.values():
            require_together(one)
    except EyeError as error:
        few = not any(one.fitted.too_many_apart for one in surfaces.values())
        return Found(maps, surfaces, (_said(fault_of(error)),), few)
    method = [_said(fault) for name, one in list(maps.items())[:1] for fault in method_faults(name, one.method)]
    return Found(maps, surfaces, (*method, *_against_fields(maps, texts, table.side)))


def _said(fault: Fault) -> str:
    """A Fault on one line, which calls a map by its name in words instead of its key in the plan file."""
    name, _, key = fault.field.partition(".")
    known = MAPS.get(name)
    if known is None:
        return fault.text
    return replace(fault, field=known if key in ("", "values") else f"{known}, {key}").text


def _against_fields(maps: dict[str, WrittenMap], texts: dict[str, Any], side: str) -> list[str]:
    """Faults between the maps and the readable fields of the eye, whatever else is wrong in the fields."""
    values = read_fields(texts, side)[0]
    before = {fault.text for fault in faults_of_maps({name: one for name, one in values.items() if name not in maps})}
    return [_said(fault) for fault in faults_of_maps(values | maps) if fault.text not in before]


def places_apart(written: WrittenMap) -> list[tuple[float, float]]:
    """Places of the readings that lie apart from the others, from the vertex in the axes of the eye [mm]."""
    read = surface_of(written)[0]
    return [
        (written.to_right * float(read.table_x_mm[k]), written.upwards * float(read.table_y_mm[k]))
        for k in apart(written)
        if k < read.table_x_mm.size
    ]


def places_missing(written: WrittenMap) -> list[tuple[float, float]]:
    """Places without a value, from the vertex in the axes of the eye [mm]."""
    read = surface_of(written)[0]
    return list(zip(read.missing_x_mm.tolist(), read.missing_y_mm.tolist(), strict=True))
