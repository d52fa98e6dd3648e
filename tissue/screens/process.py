"""Everything that the screens change in the running process is here, and nowhere else in the screens.

No figure depends on it. Without it every change gives the same result, only slower; but for `look_at_one_moment`.
"""

import gc
import sys
from contextlib import suppress
from ctypes import CDLL
from threading import Thread
from time import sleep
from typing import Any

from streamlit.runtime import Runtime, exists
from streamlit.runtime.state.session_state import SessionState, WStates

MMAP_THRESHOLD, LARGE_BYTES = -3, 2**20  # the former is the number of a setting in the C library of Linux
LOOKED_EVERY_S, LET_GO_S = 20.0, 1.0  # how often pages are looked for, and how long one that is gone takes to end
SWITCH_S = 0.0005  # a tenth of the usual time for which one thread may keep another waiting


def spare_what_is_loaded() -> None:
    """Hide everything loaded so far from the garbage collector.

    Streamlit has the collector run in full after every change of a screen. It then looks through every module that was
    ever loaded, which takes longer than the change itself; these modules stay as long as the process does.
    """
    gc.collect()
    gc.freeze()


def send_at_once() -> None:
    """Let the sending thread have its turn soon.

    It needs it at every message while the rest of the screen is worked out, and would wait ten times as long.
    """
    sys.setswitchinterval(SWITCH_S)


class OneMoment(dict):
    """A dictionary that is gone through as it is at one moment, whatever is put in or taken out meanwhile."""

    def __iter__(self) -> Any:
        return iter(list(self.keys()))

    def items(self) -> Any:
        return list(super().items())


def look_at_one_moment() -> None:
    """Have the library go through what it keeps of a page as that is at one moment.

    It begins a run beside the one before, which may still be putting a state in, or be clearing up at its end. To go
    through a dictionary that changes is an error: the page showed that in the place of its fields for a moment, and
    what was typed then was lost.
    """
    for holder, name in (WStates, "states"), (SessionState, "_old_state"), (SessionState, "_new_session_state"):
        place = getattr(holder, name)
        if not isinstance(place, property):
            setattr(holder, name, _kept_as_one_moment(place))


def _kept_as_one_moment(place: Any) -> property:
    """The attribute at a place of a class (its `__slots__`): what is put there becomes a OneMoment."""
    return property(place.__get__, lambda holder, value: place.__set__(holder, OneMoment(value)))


def return_large_memory() -> None:
    """Give large arrays and tables memory blocks of their own, which go back to the system with them.

    Without it the C library keeps blocks up to 32 MB among the small ones, and pyarrow keeps its own pool.
    """
    with suppress(AttributeError, OSError, TypeError):  # where the C library knows it
        CDLL(None).mallopt(MMAP_THRESHOLD, LARGE_BYTES)
    arrow = sys.modules.get("pyarrow")
    if arrow:
        arrow.set_memory_pool(arrow.system_memory_pool())


def watch_for_gone_pages() -> Any:
    """Look from time to time for pages that are gone and release them; returns the thread that looks.

    Streamlit keeps a page whose connection was lost for two minutes, and then until another connection is lost.
    """
    watch = Thread(target=_watch, daemon=True)
    watch.start()
    return watch


def _watch() -> None:
    """Release pages that are gone, and again at the next look, because one may still be ending at the first."""
    before: dict[str, Any] = {}
    again = False
    while True:
        sleep(LOOKED_EVERY_S)
        with suppress(AttributeError):  # in tests without a server a stand-in keeps no pages
            stored, connected = pages() if exists() else ({}, set())
            gone = [name for name in before if name not in stored and name not in connected]
            for name in gone:
                _end(before[name])
            before = stored
            if gone:
                sleep(LET_GO_S)
            if gone or again:
                let_go()
            again = bool(gone)


def pages() -> tuple[dict[str, Any], set[str]]:
    """Streamlit's pages: those kept after a lost connection, by name, unless their time is over; names of others."""
    manager: Any = Runtime.instance()._session_mgr
    with manager._storage_lock:
        kept = manager._session_storage._cache
        kept.expire()
        stored = {name: info.session for name in list(kept) if (info := kept.get(name))}
        return stored, set(manager._active_session_info_by_id)


def _end(page: Any) -> None:
    """End a page that is gone and empty it: Streamlit itself keeps the last one until there is another."""
    page.shutdown()
    page.session_state.clear()


def let_go() -> None:
    """Release what gone pages held, including objects hidden from the collector, and return the memory."""
    gc.unfreeze()
    gc.collect()
    gc.freeze()
    arrow = sys.modules.get("pyarrow")
    if arrow:
        arrow.default_memory_pool().release_unused()
    with suppress(AttributeError, OSError):  # where the C library knows it
        CDLL(None).malloc_trim(0)
