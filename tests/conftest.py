"""What all tests share: a skip is a failure where everything is installed; the profile of hypothesis."""

import os

import pytest
from hypothesis import HealthCheck, settings

collect_ignore = ["conftest.py"]  # no module of doctests
collect_ignore_glob = ["worked/[!t]*.py"]  # they run by worked/test_worked.py

NO_SKIP = bool(os.environ.get("TISSUE_NO_SKIP"))  # set by .ci/run

# CI says the same of the same sources: its examples are fixed. By hand each run looks at others; what it finds is given
# to the test as an @example.
settings.register_profile(
    "tissue", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=NO_SKIP, print_blob=True
)
settings.load_profile("tissue")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Where TISSUE_NO_SKIP is set a skipped test fails; an expected failure stays one."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail") and NO_SKIP:
        report.outcome = "failed"
        report.longrepr = f"skipped where nothing may be skipped: {report.longrepr}"
    return report
