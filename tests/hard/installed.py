"""Does an installed tissue work without its checkout? Run from an empty folder by `.ci/wheel`.

    python tests/hard/installed.py PATH/TO/tissue FOLDER_FOR_FILES

Each command is a process of its own, without a home folder. The folder it runs in and the installation cannot be
written to; where that does not bind (the superuser), nothing may be found written there afterwards. The screens are
started, and their server asked whether it is healthy.
"""

import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

FIRST_PAGE_S = 60
DRAWN = """
from pathlib import Path
import tissue
from streamlit.testing.v1 import AppTest
script = Path(tissue.__file__).parent / "screens" / "start" / "start.py"
app = AppTest.from_file(str(script), default_timeout=120).run()
print(len(app.session_state["day"].desk.figures("OD")[0].comparison.results), len(app.exception))
"""


def environment():
    """What a process is told: no home, nothing of a checkout."""
    left_out = ("HOME", "PYTHONPATH", "VIRTUAL_ENV")
    return {name: value for name, value in os.environ.items() if name not in left_out} | {
        "PYTHONDONTWRITEBYTECODE": "1"
    }


def ran(command, *arguments):
    """What a command printed; ends with its message where it fails."""
    done = subprocess.run(
        [command, *map(str, arguments)], check=False, capture_output=True, text=True, env=environment(), timeout=120
    )
    if done.returncode:
        sys.exit(f"{' '.join(map(str, arguments))}: exit {done.returncode}\n{done.stderr}")
    return done.stdout


def page_is_there(command):
    """Whether `tissue app` serves its page on this machine only."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = [command, "app", f"--server.port={port}", "--server.headless=true"]
    server = subprocess.Popen(words, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    try:
        end = time.monotonic() + FIRST_PAGE_S
        while time.monotonic() < end and server.poll() is None:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=2) as health:
                    return health.status == 200
            except OSError:
                time.sleep(0.2)
        return False
    finally:
        server.terminate()
        print(server.communicate(timeout=20)[0].decode()[-2000:])


def standing(*folders):
    """Every file below some folders, with its size."""
    files = (path for folder in folders for path in folder.rglob("*") if path.is_file())
    return {str(path): path.stat().st_size for path in files}


def main():
    """Try every kind of command once."""
    command, out = sys.argv[1], Path(sys.argv[2])
    before = standing(Path.cwd(), Path(command).parents[1])
    plan = out / "plan.toml"
    plan.write_text(
        'schema = 1\n[OD]\nrefraction = "-6.00 -1.25 x 170"\ncentral_thickness_um = 548\n', encoding="utf-8"
    )
    assert "lenticule" in ran(command, "plan", plan)
    ran(command, "record", plan, out / "page.pdf", "--date", "2026-11-25")
    assert (out / "page.pdf").read_bytes().startswith(b"%PDF")
    ran(command, "demo-series", 50, out / "eyes.csv")
    ran(command, "series", out / "eyes.csv", out / "out.csv")
    assert len((out / "out.csv").read_text("utf-8").splitlines()) == 51
    ran(command, "mechanics", plan, "--eye", "OD")
    assert page_is_there(command), "the screens did not start"
    assert ran(Path(command).parent / "python", "-c", DRAWN).split() == ["3", "0"], "Plan is not drawn"
    assert standing(Path.cwd(), Path(command).parents[1]) == before, "something was written beside the files asked for"
    print("installed: 7 passed, 0 failed")


if __name__ == "__main__":
    main()
