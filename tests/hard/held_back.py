"""A browser that gets one part in so many of the time: as slow as on a slow machine, and costing this one no more.

What a browser's own tool for this does is to spin: six times slower is six times the work. Here the processes that draw
its pages are stopped and let go on in turn, so that many pages can be tried at once.
"""

import os
import signal
import time
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Thread

RUN_S = 0.004  # at a stretch; a picture of the screen takes four of them


def drawing(pid):
    """Ids of the processes that draw pages, of all that came from a process."""
    try:
        children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
        words = Path(f"/proc/{pid}/cmdline").read_text()
    except OSError:
        return []
    own = [int(pid)] if "--type=renderer" in words and "chrome-webui" not in words else []
    return own + [one for child in children for one in drawing(child)]


def worked_s(pids):
    """Seconds that the one of them with the most to do has worked so far, each by the thread that draws."""
    return max((_worked_ns(pid) for pid in pids), default=0) / 1e9


def _worked_ns(pid):
    try:
        return int(Path(f"/proc/{pid}/schedstat").read_text().split()[0])
    except OSError:
        return 0


def tell(pids, what):
    """A signal to each that is still there."""
    for pid in pids:
        try:
            os.kill(pid, what)
        except ProcessLookupError:
            continue


@contextmanager
def held_back(rate):
    """The browsers started by this process work so many times slower, until what is given is called, or to the end."""
    pids, over = drawing(os.getpid()), Event()

    def in_turn():
        while not over.is_set():
            start, before = time.monotonic(), worked_s(pids)
            time.sleep(RUN_S)
            pause = rate * (worked_s(pids) - before) - (time.monotonic() - start)
            if pause > 0.0:  # none where they had nothing to do, or were kept waiting by others on this machine
                tell(pids, signal.SIGSTOP)
                time.sleep(pause)
                tell(pids, signal.SIGCONT)

    holder = Thread(target=in_turn, daemon=True)

    def let_go():
        over.set()
        holder.join()

    holder.start()
    try:
        yield let_go
    finally:
        let_go()
