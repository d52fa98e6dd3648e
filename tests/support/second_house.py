"""A copy of the whole tool in a folder of its own, to which a recipe of DEVELOPERS.md adds what it adds."""

import json
import os
import shutil
import subprocess
import sys

from helpers import ROOT

LIBRARY = "tissue"


class SecondHouse:
    """The copy: text is added to its files as a contributor would, and code is run in it."""

    def __init__(self, folder):
        self.folder = folder
        ignore = shutil.ignore_patterns("__pycache__")
        for name in (LIBRARY, "demo_profiles"):
            shutil.copytree(ROOT / name, folder / name, ignore=ignore)
        shutil.copy(ROOT / "app.py", folder / "app.py")

    def add(self, file, text):
        """Add a text at the end of a file, named from the top of the copy."""
        with (self.folder / file).open("a", encoding="utf-8") as opened:
            opened.write(text)

    def run(self, code):
        """What a program prints in the copy, read as JSON; its last line is the answer."""
        environment = os.environ | {"PYTHONPATH": str(self.folder), "PYTHONDONTWRITEBYTECODE": "1"}
        program = [sys.executable, "-c", code]
        done = subprocess.run(
            program, check=False, cwd=self.folder, env=environment, capture_output=True, timeout=300, encoding="utf-8"
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return json.loads(done.stdout.splitlines()[-1])
