"""Ctrl-C and other requests to end: the first one ends a command, which then clears up undisturbed."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

NAMES = ("SIGINT", "SIGTERM", "SIGHUP")


def stop_once() -> None:
    """Have the first request to end raise KeyboardInterrupt, and later ones ignored: the process is ending already.

    A second one while it clears up would leave processes that wait for each other for ever.
    """
    asked = [getattr(signal, name) for name in NAMES if hasattr(signal, name)]
    asked = [one for one in asked if signal.getsignal(one) != signal.SIG_IGN]

    def stop(number: int, frame: FrameType | None) -> None:
        for one in asked:
            signal.signal(one, signal.SIG_IGN)
        raise KeyboardInterrupt

    for one in asked:
        signal.signal(one, stop)


@contextmanager
def held_back() -> Iterator[None]:
    """Hold back Ctrl-C until the end of the block. A process started inside ignores it altogether."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
