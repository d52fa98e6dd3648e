"""Rows read and written in bulk: against Python's csv module, its formatting of numbers, and pyarrow's own columns."""

import csv
import io

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tissue.series.demo import demo_rows
from tissue.series.run import run
from tissue.series.tables import csv_blocks
from tissue.series.tables.arrow_columns import column_of, numbers_in
from tissue.series.tables.cells import fast_numbers, guarded, has_formula, unguard
from tissue.series.tables.digits import digits
from tissue.series.tables.distinct import Distinct
from tissue.series.tables.plain_rows import plain_columns

SIGNS = 'ab1-= ,;\t"é\x0b\x1c\u2028\ufeff'
TEXTS = st.lists(st.text(SIGNS, max_size=8), min_size=1, max_size=6)


@given(TEXTS, st.sampled_from(["\n", "\r\n", "\r"]), st.sampled_from(",;\t"), st.integers(1, 4), st.booleans())
@settings(max_examples=500)
@example(["a,b", "", "c,d"], "\n", ",", 2, True)
@example(["\ufeffa", "b"], "\n", ",", 1, True)
def test_plain_rows_are_those_of_the_csv_module(lines, end, delimiter, width, closed):
    """Source: Python's csv module. What it would read in another way, or not at all, is left to it."""
    text = end.join(lines) + (end if closed else "")
    found = plain_columns(text.encode(), delimiter, width)
    rows = [row for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter) if row]
    even = bool(rows) and {len(row) for row in rows} == {width}
    if found is not None:
        assert even and [list(column) for column in found] == [list(column) for column in zip(*rows, strict=True)]
    elif even and end != "\r" and all(lines) and '"' not in text:
        assert text.startswith("\ufeff")


@given(st.lists(st.text("ab-'=1.", max_size=4), max_size=9))
def test_a_column_is_its_distinct_texts(texts):
    column = Distinct.of(texts)
    assert list(column) == texts and len(column) == len(texts) and len(set(column.distinct)) == len(column.distinct)
    assert list(column.after(2)) == texts[2:]
    assert has_formula(column.distinct) == any(guarded(text) != text or unguard(text) != text for text in texts)


@given(st.one_of(st.floats(-1e7, 1e7), st.text("0123456789+-.,eE ", max_size=7)), st.booleans())
def test_a_plain_number_is_what_python_reads(value, signed):
    """Source: Python's float; a text that is no plain number is odd, never another number."""
    text = str(value)
    (number,), (odd,) = fast_numbers([text], signed)
    if odd or not text:
        assert np.isnan(number)
    else:
        assert number == float(text.replace(",", ".")) and (not signed or number == 0 or text[0] in "+-")


def by_python(value, decimals):
    """A number as Python writes it, which rounds the number itself; a zero without its minus, nothing for NaN."""
    text = "" if np.isnan(value) else f"{value:.{decimals}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


@given(st.lists(st.one_of(st.floats(-2e4, 2e4), st.floats(-1.0, 1.0), st.just(np.nan)), max_size=8), st.integers(0, 4))
def test_digits_are_those_of_python(values, decimals):
    """Source: Python's formatting."""
    expected = [by_python(value, decimals) for value in values]
    assert digits(np.array(values, dtype=float), decimals).tolist() == [text.encode() for text in expected]
    with_comma = digits(np.array(values, dtype=float), decimals, True, b";").tolist()
    assert with_comma == [f";{text}".replace(".", ",").encode() for text in expected]


@pytest.mark.parametrize("decimals", range(5))
def test_digits_at_both_ends_of_what_is_looked_up(decimals):
    """Source: as above; every half from beyond one end to beyond the other, and one step beside it."""
    values = np.concatenate([np.arange(-1100.0, 10100.0, 0.5 if decimals else 1.0), [-1e9, 1e9]])
    values = np.concatenate([values, values + 10.0**-decimals])
    assert digits(values, decimals).tolist() == [by_python(value, decimals).encode() for value in values]


@given(st.lists(st.one_of(st.floats(allow_nan=True, allow_infinity=False), st.none()), max_size=20))
def test_columns_of_numbers_are_those_of_pyarrow(values):
    """Source: pyarrow's own columns of the same values."""
    numbers = np.array([np.nan if value is None else value for value in values], dtype=float)
    theirs = pa.array(numbers, pa.float64(), from_pandas=True)
    assert column_of(numbers).equals(theirs) and column_of(numbers).null_count == theirs.null_count
    assert np.array_equal(numbers_in(theirs), numbers, equal_nan=True)
    assert np.array_equal(
        numbers_in(pa.chunked_array([theirs.slice(3), theirs])), [*numbers[3:], *numbers], equal_nan=True
    )


@given(st.lists(st.tuples(st.text(max_size=4), st.booleans()), max_size=20))
def test_columns_of_texts_and_truth_values_are_those_of_pyarrow(rows):
    """Source: as above; an empty text is null."""
    texts = np.array([text.strip("\0") for text, _ in rows], dtype="U4")
    truths = np.array([truth for _, truth in rows], dtype=bool)
    assert column_of(texts).equals(pa.array([text or None for text in texts.tolist()], pa.string()))
    assert column_of(truths).equals(pa.array(truths.tolist(), pa.bool_()))


def test_numbers_of_every_kind_are_read():
    for kind in (pa.int8(), pa.uint64(), pa.float32(), pa.decimal128(22, 2)):
        assert np.array_equal(numbers_in(pa.array([1, None, 5]).cast(kind)), [1.0, np.nan, 5.0], equal_nan=True)
    assert numbers_in(pa.chunked_array([], pa.int32())).size == 0


def test_a_file_read_in_bulk_goes_out_as_one_read_row_by_row(tmp_path, monkeypatch):
    """Source: Python's csv module reads the second time; some rows are refused, some numbers need a closer look."""
    head, *lines = demo_rows(3000, seed=4)
    lines[7] = lines[7].replace(",-", ",", 1)
    lines[11] = lines[11].replace(",A", ",'tis").replace(",B", ",b c").replace(",C", ",")
    lines[40] = lines[40].replace("-0", "−0", 1)
    source = tmp_path / "in.csv"
    source.write_text("\n".join([head, *lines, ""]), newline="\r\n")
    seen = []
    monkeypatch.setattr(csv_blocks, "plain_columns", lambda *a: seen.append(plain_columns(*a)) or seen[-1])
    run(source, tmp_path / "bulk.csv")
    assert seen and all(seen)
    monkeypatch.setattr(csv_blocks, "FEW_BYTES", 10**9)
    run(source, tmp_path / "rows.csv")
    assert len(seen) == 1 and (tmp_path / "bulk.csv").read_bytes() == (tmp_path / "rows.csv").read_bytes()


def test_a_long_file_is_worked_out_in_blocks_of_rows(tmp_path):
    source, done = tmp_path / "in.csv", []
    source.write_text("\n".join([*demo_rows(30_000, seed=6), ""]))
    run(source, tmp_path / "out.csv", progress=done.append)
    assert done[-1] == 30_000 and np.diff([0, *done]).max() < 1.2 * csv_blocks.ROWS
