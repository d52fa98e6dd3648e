"""What the tests of the screens share: they leave the process as they found it."""

import sys

import pytest


@pytest.fixture(autouse=True)
def the_main_module_stays():
    """Streamlit's test runner puts its own script in its place, and a process that is started later would run it."""
    kept = sys.modules["__main__"]
    yield
    sys.modules["__main__"] = kept
