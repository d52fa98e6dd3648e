"""Reads a table of the day as plans: one row for each eye, the columns of a series, one plan for each patient."""

from typing import Any

from tissue.entry import plan_file
from tissue.entry.fields import fields
from tissue.entry.notation import shown
from tissue.entry.own_map.names import EPITHELIUM, THICKNESS
from tissue.entry.typed import read_fields
from tissue.ground.vocabulary import EYES
from tissue.series.names import output_names
from tissue.series.tables.cells import unguard
from tissue.series.tables.csv_blocks import decoded, read_rows
from tissue.series.tables.dialect import sniff
from tissue.series.tables.header import EXTRA, header_columns
from tissue.series.tables.swallowed import refuse_open_quote, refuse_swallowed_rows
from tissue.series.wrong import TableError, first_of

MOST_EYES = 1000
MAP_CELLS = {THICKNESS: "central_thickness_um", EPITHELIUM: "epithelium_um"}  # a table cannot hold a map
BY_MAP = "a measured map"  # the word in its place


def day_plans(data: bytes, name: str) -> tuple[list[plan_file.Plan], list[str]]:
    """The plans of a table, in the order of their first rows, and the eyes left out because they have a map.

    Figures in the table, as in one that the tool wrote, are not read but worked out again.

    Args:
        data: of the file. name: what faults call it.
    Raises:
        TableError: no table, a column or cell that cannot be read, an eye twice; with its line.
    """
    heads, rows, lines = _table(data, name)
    if len(rows) > MOST_EYES:
        raise TableError(f"{name}: read {len(rows)} rows, accepted up to {MOST_EYES} eyes")
    inputs = [head for head in heads if head in fields()]
    typed: dict[str, dict[str, dict[str, str]]] = {}
    faults, left_out = [], []
    for row, line in zip(rows, lines, strict=True):
        cells = dict(zip(heads, row, strict=False))
        code, side = (cells.get(one, "").strip() for one in ("patient", "side"))
        side = side.upper()
        if BY_MAP in (cells.get(cell) for cell in MAP_CELLS.values()):
            left_out.append(f"{name}: line {line}: {shown(code)} {side} has a measured map: open its plan file")
            continue
        eyes = typed.setdefault(code, {})
        told = _row_faults(row, heads, code, side, eyes)
        eyes[side] = {head: cells[head] for head in inputs if cells.get(head, "").strip()}
        told += [fault.text for fault in read_fields(eyes[side], side)[1].values()] if not told else []
        faults += [f"{name}: line {line}: {words}" for words in told]
    if faults:
        raise TableError(*first_of(faults, f"{name}: "))
    return [_plan(code, eyes, name) for code, eyes in typed.items()], left_out


def _table(data: bytes, name: str) -> tuple[list[str], list[list[str]], list[int]]:
    """Head, rows and the lines where these begin.

    Raises:
        TableError: no table, or one without the columns that say whose eye a row is.
    """
    text = decoded(data, name, 1)
    if "\0" in text or not text.strip():
        raise TableError(f"{name}: file: read {'a NUL' if text.strip() else 'nothing'}, accepted a table with a header")
    sign = sniff(text).delimiter
    refuse_open_quote(name, sign, text.encode(), 1)
    rows, lines = read_rows(text, sign, 1)
    heads = [unguard(cell) for cell in rows[0]]
    numbered = [i for i, head in enumerate(heads) if head in fields() and fields()[head].is_number]
    refuse_swallowed_rows(name, sign, heads, rows, lines, numbered)
    plain = [head for head in heads if head not in output_names()]
    missing = [one for one in EXTRA if one not in plain]
    if missing:
        raise TableError(f"{name}: header: read no column {' and no column '.join(missing)}, accepted both")
    header_columns(plain, None, f"{name}: ")
    return heads, [[unguard(cell) for cell in row] for row in rows[1:]], lines[1:]


def _row_faults(row: list[str], heads: list[str], code: str, side: str, eyes: dict[str, Any]) -> list[str]:
    """Faults of a row itself."""
    if len(row) != len(heads):
        return [f"row: read {len(row)} cells, accepted {len(heads)}, as in the header"]
    if not code:
        return ["patient: read nothing, accepted a code"]
    if side not in EYES:
        return [f"side: read {shown(side) if side else 'nothing'}, accepted OD or OS"]
    return [f"side: read {side} of {shown(code)} twice, accepted each eye once"] if side in eyes else []


def _plan(code: str, eyes: dict[str, dict[str, str]], name: str) -> plan_file.Plan:
    """The plan of one patient, read as if it were a plan file.

    Raises:
        TableError: the code cannot stand in a file.
    """
    values = {side: read_fields(texts, side)[0] for side, texts in eyes.items()}
    written = plan_file.dumps(plan_file.Plan(code, values, eyes)).encode()
    try:
        return plan_file.read_plan(written, f"{name}, patient {shown(code)}")
    except plan_file.PlanError as error:
        raise TableError(*error.lines) from None
