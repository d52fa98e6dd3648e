"""A command killed while it writes: what stood there is whole, or what is new is; `hard/kill.py` kills twenty times.

The series itself is killed fifty times in test_series.py, as Parquet by the long run; here the other commands that
write, at each step of the writing and at three moments of the clock.
"""

import sys

import pytest
from helpers import plan_text
from kill_cases import OLD, STEPS, commands, left, put_old, run

from tissue.entry.plan_file import read_plan, save
from tissue.entry.whole_file import write_whole

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="killed by a signal")


@pytest.fixture(scope="module", params=["record", "demo-series", "summary"])
def command(request, tmp_path_factory):
    """A command, the folder of its files, and these as they are when nothing is killed; and how long it lasts."""
    folder = tmp_path_factory.mktemp("kill")
    line, files = commands(folder, eyes=20)[request.param]
    lasts = run(line)
    return line, files, folder, {file: (folder / file).read_bytes() for file in files}, lasts


@pytest.mark.parametrize("moment", [*STEPS, 0.3, 0.6, 0.9])
def test_the_old_file_or_the_new_one_is_whole(command, moment):
    line, files, folder, whole, lasts = command
    put_old(folder, files)
    run(line, **({"step": moment} if moment in STEPS else {"after_s": moment * lasts}))
    said, beside = left(folder, files, whole)
    assert set(said.values()) <= {"old", "new"}
    assert all(name.startswith(".") and name.endswith(".part") for name in beside)
    if moment in STEPS:
        assert "new" in said.values() if moment == STEPS[3] else said[files[0]] == "old"


def test_the_next_run_clears_away_what_was_left(command):
    line, files, folder, whole, _ = command
    put_old(folder, files)
    run(line, step=STEPS[1])
    assert left(folder, files, whole)[1] != []
    run(line)
    assert left(folder, files, whole) == (dict.fromkeys(files, "new"), [])


def test_what_a_living_process_writes_is_left_alone(tmp_path):
    """A part of a process that still runs (this one's parent, by its number) is not cleared away."""
    import os

    ours, other = tmp_path / f".out.{os.getppid()}.part", tmp_path / ".out.999999999.part"
    for part in (ours, other):
        part.write_bytes(OLD)
    write_whole(tmp_path / "out", b"new")
    assert sorted(path.name for path in tmp_path.iterdir()) == [ours.name, "out"]


def test_a_plan_command_writes_nothing(tmp_path):
    line, files = commands(tmp_path, eyes=10)["plan"]
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    assert files == []
    run(line)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_plan_that_is_saved_is_whole(tmp_path, monkeypatch):
    """A save that fails half way leaves the plan that stood there, and nothing beside it."""
    from tissue.entry import whole_file

    path = tmp_path / "plan.toml"
    path.write_bytes(OLD)

    class Full:
        """A file on a disc without room: takes a half and fails."""

        def __init__(self, place, mode):
            self.file = open(place, mode)

        def __enter__(self):
            return self

        def __exit__(self, *_):
            self.file.close()

        def write(self, data):
            self.file.write(data[: len(data) // 2])
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole_file, "open", Full, raising=False)
    plan = read_plan(plan_text(OD={"sphere_D": -6.0, "central_thickness_um": 548.0}).encode())
    with pytest.raises(OSError, match="No space"):
        save(plan, path)
    assert path.read_bytes() == OLD and list(tmp_path.iterdir()) == [path]
