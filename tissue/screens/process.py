"""What the screens change in the running process: all of it stands here, and nowhere else in the screens.

Nothing of a figure depends on it. Without it every change is as right, and slower.
"""

import gc
import sys
from contextlib import suppress
from ctypes import CDLL

from streamlit.runtime import Runtime, exists

SWITCH_S = 0.0005  # a tenth of the usual time that one thread may keep another waiting


def spare_what_is_loaded():
    """Take what is loaded by now out of the collector's sight.

    Streamlit has the collector run in full after every change of a screen. It then looks through every module that was
    ever loaded, which takes longer than the change itself; these modules stay as long as the process does.
    """
    gc.collect()
    gc.freeze()


def send_at_once():
    """Let the thread that sends have its turn soon.

    It asks for it at every message while the rest of the screen is worked out, and would wait ten times as long.
    """
    sys.setswitchinterval(SWITCH_S)


def let_go_of_gone_pages():
    """Let go of pages that are gone, and of the memory they had; asked for by every page that comes.

    Streamlit keeps a page whose line was lost for two minutes, and after that until another line is lost.
    """
    with suppress(AttributeError):  # a page tried without a server has a stand-in that keeps none
        if exists():
            stored_pages().expire()
    gc.collect()
    arrow = sys.modules.get("pyarrow")
    if arrow:
        arrow.default_memory_pool().release_unused()
    with suppress(AttributeError, OSError):  # where the C library knows it
        CDLL(None).malloc_trim(0)


def stored_pages():
    """The pages that Streamlit keeps for a lost line, as its own store that forgets after two minutes."""
    return Runtime.instance()._session_mgr._session_storage._cache  # type: ignore[attr-defined]
