"""The printed tables as parameters of tests."""

import csv
from pathlib import Path

import pytest

PUBLISHED = Path(__file__).parents[1] / "published"


def published(name):
    """Rows of a printed table as pytest parameters; a row that disagrees with another source is a strict xfail."""
    with (PUBLISHED / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            marks = [pytest.mark.xfail(reason=row["disagrees"], strict=True)] if row.get("disagrees") else []
            yield pytest.param(row, id=row["check"], marks=marks)
