"""What all tests share: a skip is a failure where everything is installed, and where the printed tables stand."""

import csv
import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

PUBLISHED = Path(__file__).parent / "published"

settings.register_profile("tissue", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("tissue")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Where TISSUE_NO_SKIP is set a skipped test fails; an expected failure stays one."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail") and os.environ.get("TISSUE_NO_SKIP"):
        report.outcome = "failed"
        report.longrepr = f"skipped where nothing may be skipped: {report.longrepr}"
    return report


def published(name):
    """Rows of a printed table as pytest parameters; a row that disagrees with another source is a strict xfail."""
    with (PUBLISHED / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            marks = [pytest.mark.xfail(reason=row["disagrees"], strict=True)] if row.get("disagrees") else []
            yield pytest.param(row, id=row["check"], marks=marks)
