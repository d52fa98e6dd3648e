"""The worked notebooks run from top to bottom, each in a process of its own."""

import subprocess
import sys
from pathlib import Path

import pytest

WORKED = sorted(path for path in Path(__file__).parent.glob("*.py") if not path.name.startswith("test_"))


@pytest.mark.parametrize("path", WORKED, ids=lambda path: path.stem)
def test_it_runs(path):
    done = subprocess.run([sys.executable, str(path)], check=False, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    assert path.read_text("utf-8").count("# %%") >= 6


def test_there_are_three():
    assert len(WORKED) == 3
