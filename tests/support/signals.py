"""A process that hears its signals, whatever the shell ignores for its background jobs."""

import signal
from contextlib import contextmanager


@contextmanager
def heard(number):
    """A process begun within ends by a signal: a signal that is ignored would stay so in it, one with a handler not.

    Args:
        number: of the signal.
    """
    before = signal.signal(number, signal.SIG_DFL)
    try:
        yield
    finally:
        signal.signal(number, before)
