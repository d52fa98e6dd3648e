"""Evidence: what every figure, default and line rests on, and what contradicts it."""

from tissue.screens import frame


def show():
    """Draw the screen."""
    frame.begin()
