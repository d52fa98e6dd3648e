"""Ctrl-C and other requests to end: the first one ends a command, which then clears up undisturbed."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from threading import current_thread, main_thread
from types import FrameType

NAMES = ("SIGINT", "SIGTERM", "SIGHUP")


def stop_once() -> None:
    """Have the first request to end raise KeyboardInterrupt, and later ones ignored: the process is ending already.

    A second one while it clears up would leave processes that wait for each other for ever.
    """
    asked = [one for one in _numbers() if signal.getsignal(one) != signal.SIG_IGN]

    def stop(number: int, frame: FrameType | None) -> None:
        for one in asked:
            signal.signal(one, signal.SIG_IGN)
        raise KeyboardInterrupt

    for one in asked:
        signal.signal(one, stop)


@contextmanager
def held_back() -> Iterator[None]:
    """Note a request to end, and obey it at the end of the block.

    A process started inside ignores what is sent to it and the command together: the command obeys for both.
    Its handler only notes it: blocking it in this thread is not enough, as another thread (a library's own, for
    arithmetic) takes it then, and Python calls the handler here all the same. In a thread other than the main one
    there is nothing to hold back.
    """
    noted: list[int] = []
    main = current_thread() is main_thread()
    before = {one: signal.getsignal(one) for one in _numbers() if main}
    before = {one: handler for one, handler in before.items() if handler not in (None, signal.SIG_IGN)}
    for one in before:
        signal.signal(one, lambda number, frame: noted.append(number))
    try:
        with _blocked():
            yield
    finally:
        for one, handler in reversed(before.items()):  # Ctrl-C last: it may end this block in its middle
            signal.signal(one, handler)
        if noted:
            signal.raise_signal(noted[0])


@contextmanager
def _blocked() -> Iterator[None]:
    """Have this thread and a process that it starts not hear a request to end, where the system can do so.

    A process that looks after what the workers share would die of the end of the terminal, with a traceback.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    told = {signal.SIGINT, signal.SIGHUP} | ({signal.SIGTERM} if hasattr(signal, "sigwaitinfo") else set())
    before = signal.pthread_sigmask(signal.SIG_BLOCK, told)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _numbers() -> list[signal.Signals]:
    """The requests to end that this system has."""
    return [getattr(signal, name) for name in NAMES if hasattr(signal, name)]
