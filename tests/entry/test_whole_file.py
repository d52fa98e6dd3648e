"""Files written whole: what stood there before keeps its place and who may read it."""

import os
import stat
import subprocess
import sys
import time

import pytest
from signals import heard

from tissue.entry.whole_file import whole_file, write_whole

WRITING = """
import signal, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)  # a job in the background is begun without it
from tissue.series.stopping import stop_once
from tissue.entry.whole_file import whole_file
stop_once()
with whole_file(sys.argv[1]) as file:
    file.write(b"half")
    file.flush()
    try:
        print("begun", flush=True)
        time.sleep(60)
    finally:
        print("ending", flush=True)
        time.sleep(0.3)
"""


def test_who_may_read_a_file_stays(tmp_path):
    """A file that only its owner may read is replaced by one that only its owner may read, while it is written too."""
    path = tmp_path / "o.csv"
    path.write_text("old")
    path.chmod(0o600)
    with whole_file(path) as file:
        beside = next(one for one in tmp_path.iterdir() if one != path)
        assert stat.S_IMODE(beside.stat().st_mode) == 0o600
        file.write(b"new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600 and path.read_bytes() == b"new"


@pytest.mark.parametrize("there", [True, False])
def test_a_link_stays_a_link(tmp_path, there):
    (tmp_path / "far").mkdir()
    real, link = tmp_path / "far" / "o.csv", tmp_path / "o.csv"
    if there:
        real.write_text("old")
    link.symlink_to(real)
    write_whole(link, b"new")
    assert link.is_symlink() and real.read_bytes() == b"new"
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["far", "o.csv", "o.csv"]


def test_a_file_is_named_as_the_sign_for_standard_output_only_with_its_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(OSError, match="the sign for standard output"):
        write_whole("-", b"new")
    write_whole("./-", b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["-"]


@pytest.mark.parametrize("name", ["o" * 251 + ".csv", "ä" * 125 + ".csv"])
def test_a_name_as_long_as_a_name_may_be(tmp_path, name):
    """Source: NAME_MAX of the usual file systems, 255 bytes. Before: the name while it is written was too long."""
    left = tmp_path / f".{name[:50]}.999999999.part"
    left.write_bytes(b"of a process that has ended")
    write_whole(tmp_path / name, b"new")
    assert (tmp_path / name).read_bytes() == b"new"
    assert {path.name for path in tmp_path.iterdir()} == {name, left.name}  # of another name


def test_a_link_that_leads_in_a_circle_is_refused(tmp_path):
    link = tmp_path / "o.csv"
    link.symlink_to(link)
    with pytest.raises(OSError):
        write_whole(link, b"new")
    assert link.is_symlink()


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT", "SIGHUP"])
def test_a_request_to_end_leaves_nothing_half_also_when_it_comes_twice(tmp_path, name):
    """The second one comes while the first is being obeyed."""
    import signal

    path = tmp_path / "o.csv"
    path.write_text("old")
    line = [sys.executable, "-c", WRITING, path]
    with heard(getattr(signal, name)):
        process = subprocess.Popen(line, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    for words in (b"begun\n", b"ending\n"):
        assert process.stdout.readline() == words
        process.send_signal(getattr(signal, name))
    process.wait(20)
    process.stdout.close()
    assert path.read_text() == "old" and [one.name for one in tmp_path.iterdir()] == ["o.csv"]


@pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
def test_a_series_stopped_twice_ends(tmp_path):
    """Ctrl-C twice within 50 ms, to the command and its workers as a terminal sends it: one word, no process left."""
    import signal

    from tissue.series.demo import write_demo

    write_demo(60_000, tmp_path / "in.csv")
    line = [sys.executable, "-m", "tissue", "series", tmp_path / "in.csv", tmp_path / "o.csv"]
    for after_s in (0.0, 0.4):
        process = subprocess.Popen(line, stderr=subprocess.PIPE, start_new_session=True)
        while process.poll() is None and not list(tmp_path.glob(".o.csv.*")):  # until its first rows are written
            time.sleep(0.01)
        time.sleep(after_s)
        for _ in range(2):
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGINT)
            time.sleep(0.05)
        try:
            said = process.communicate(timeout=20)[1].decode()
        finally:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
        assert "Traceback" not in said and said.splitlines()[0] in ("stopped", "60000 rows, 0 refused")
    assert {path.name for path in tmp_path.iterdir()} <= {"in.csv", "o.csv"}


def test_a_request_to_end_while_the_command_is_being_loaded_is_one_word():
    """Before: the whole traceback of the imports."""
    asked = """
import runpy, sys
class Pressed:
    def find_spec(self, name, path, target=None):
        if name == "tissue.command.sight":
            raise KeyboardInterrupt
sys.meta_path.insert(0, Pressed())
runpy.run_module("tissue", run_name="__main__")
"""
    done = subprocess.run([sys.executable, "-c", asked], check=False, capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (1, "", "stopped\n")
