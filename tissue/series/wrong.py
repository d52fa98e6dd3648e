"""The error of a table that cannot be read."""

from tissue.entry.notation import one_line, shown

MOST_LINES = 100


class TableError(ValueError):
    """A table that cannot be read: one line for each fault."""

    def __init__(self, *lines: str):
        self.lines = [one_line(line) for line in lines]
        super().__init__("\n".join(self.lines))


def first_of(lines: list[str], before: str) -> list[str]:
    """The first of very many lines, and how many more there are.

    Args:
        lines: one for each fault.
        before: what stands before the last one.
    """
    left = len(lines) - MOST_LINES
    more = [f"{before}read {left} more faults, accepted a table without them"] if left > 0 else []
    return [*lines[:MOST_LINES], *more]


def error_words(error: object) -> str:
    """The words of an error on one line, shortened."""
    return shown(getattr(error, "strerror", None) or error, 200)
