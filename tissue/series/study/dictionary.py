"""The data dictionary of a series: unit, meaning and source of each column, from the tables that define them."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from tissue.budget.strength.relationship import relationships
from tissue.entry.fields import fields
from tissue.ground.sources import data, keys, source
from tissue.report.measures import measures, optics_measures
from tissue.series.names import LAST, OWN, POWERS_READ, example, output_names, unit_of
from tissue.series.study.outcomes import UNITS, WORDS, Outcome
from tissue.series.tables.header import EXTRA, Column

STRENGTH = "strength_"
HEADER = ("name", "unit", "meaning", "source")


class Entry(NamedTuple):
    """One column: its name in the table, unit, meaning and source."""

    name: str
    unit: str
    meaning: str
    source: str


def dictionary(columns: Sequence[Column], outputs: Iterable[str], outcomes: dict[str, Outcome]) -> list[Entry]:
    """An Entry for every column that goes out.

    Args:
        columns: Columns of the table.
        outputs: names of the columns that were added.
        outcomes: by name, the columns of outcomes.
    """
    held = {outcome.column: name for name, outcome in outcomes.items()}
    return [_given(column, held) for column in columns] + [_made(name) for name in outputs]


def _given(column: Column, held: dict[str, str]) -> Entry:
    """A column that came with the table."""
    if column.field in EXTRA:
        return Entry(column.name, "", data("outputs")[column.field]["meaning"], "the table")
    if column.field is not None:
        field = fields()[column.field]
        factor = f" Read as {field.unit} by the factor {column.factor:g}." if column.factor != 1.0 else ""
        unit = field.unit if column.factor == 1.0 else f"{column.factor:g} {field.unit}"
        also = "".join(f" Read as {other.field} too." for other in column.more)
        return Entry(column.name, unit, f"Input {column.field}: {field.meaning}{factor}{also}", "the table")
    if column.name in held:
        name = held[column.name]
        return Entry(column.name, UNITS[name], f"Outcome {name}, as the map says.", "the table")
    return Entry(column.name, "", "Passed through untouched.", "the table")


def _made(name: str) -> Entry:
    """A column that was added."""
    if name in (*LAST, POWERS_READ):
        return Entry(name, "", data("outputs")[name]["meaning"], "this tool")
    option, figure = next((one, name.removeprefix(f"{one}_")) for one in _options() if name.startswith(f"{one}_"))
    which = "Of the option that the eye had." if option == OWN else f"{_options()[option].capitalize()}."
    meaning, key = _figure(figure)
    return Entry(name, unit_of(name), f"{which} {meaning}", _cited(key))


def titled(name: str) -> str:
    """A column in words with its unit, for a figure; a column of the table's own by its name.

    >>> titled("own_cut_planned_um"), titled("achieved_SE_D"), titled("bed OCT")
    ('Planned cap or flap depth, own option, µm', 'Achieved spherical equivalent, D', 'bed OCT')
    """
    if name in WORDS:
        return f"{WORDS[name]}, {UNITS[name]}" if UNITS[name] else WORDS[name]
    if name in fields():
        return fields()[name].heading
    option = next((one for one in _options() if name.startswith(f"{one}_")), "")
    figure = name.removeprefix(f"{option}_")
    label = data("outputs").get(figure, {}).get("label") or _labels().get(figure)
    if name not in output_names() or label is None:
        return name
    which = "own option" if option == OWN else _options()[option]
    return f"{label}, {which}, {unit_of(name)}".removesuffix(", ")


def _labels() -> dict[str, str]:
    """The labels of an option's figures, by their names."""
    return {one.figure: one.label.format(line="the line") for one in measures().values()}


def _options() -> dict[str, str]:
    """Titles of the options by name."""
    return {name: result.option.title for name, result in example().results.items()} | {OWN: ""}


def _figure(figure: str) -> tuple[str, str]:
    """Meaning and source key of a figure."""
    row = data("outputs").get(figure)
    if row:
        return row["meaning"], row.get("source", "")
    name = figure.removeprefix(STRENGTH).removesuffix("_percent")
    if figure.startswith(STRENGTH) and name in relationships():
        return f"Relative strength that stays, by the relationship {name}.", name
    bare = figure.removeprefix("optics_")
    measure = next(one for one in (*measures().values(), *optics_measures().values()) if one.figure == bare)
    return f"{measure.label.format(line='the line')}: {measure.formula} {measure.limits}".strip(), measure.source


def _cited(key: str) -> str:
    """A citation, or words that there is none."""
    return source(key).citation if key in keys() else "a definition"
