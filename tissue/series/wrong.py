"""The error of a table that cannot be read."""


class TableError(ValueError):
    """A table that cannot be read: one line for each fault."""

    def __init__(self, *lines):
        self.lines = list(lines)
        super().__init__("\n".join(lines))


def one_line(error):
    """The words of an error on one line, not too many."""
    return " ".join(str(error).split())[:200]
