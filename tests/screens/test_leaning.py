"""What the screens lean on that nobody promises: the process, and names inside Streamlit's page."""

import gc
import re
import sys
import tomllib
from pathlib import Path

from tissue.screens import frame, process

SCREENS = Path(frame.__file__).parent
NAMES = tomllib.loads((SCREENS / "styles" / "streamlit_names.toml").read_text("utf-8"))


def test_what_is_loaded_is_out_of_the_collectors_sight():
    """Source: Python documentation, gc.freeze: frozen objects are ignored in all further collections."""
    before = gc.get_freeze_count()
    kept = [[] for _ in range(1000)]
    process.spare_what_is_loaded()
    assert gc.get_freeze_count() >= before + len(kept)
    gc.unfreeze()


def test_the_thread_that_sends_gets_its_turn_ten_times_as_soon():
    """Source: Python documentation, sys.setswitchinterval: 5 ms unless set."""
    before = sys.getswitchinterval()
    try:
        process.send_at_once()
        assert abs(sys.getswitchinterval() - 0.0005) < 1e-6
    finally:
        sys.setswitchinterval(before)


def test_every_name_of_streamlit_that_is_leaned_on_stands_in_the_list():
    """Its browser test, in tests/browser/test_leaning_on_streamlit.py, finds each on its screen."""
    files = [f for kind in ("*.css", "*.js", "*.py") for f in SCREENS.rglob(kind)]
    text = "\n".join(file.read_text("utf-8") for file in files)
    used = {name.rstrip("-") for name in re.findall(r'data-testid[\^*$~|]?="?([\w-]+)', text)}
    used |= set(re.findall(r"\.(st[A-Z]\w+)", text))
    assert used == set(NAMES)
