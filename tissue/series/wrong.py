"""The error of a table that cannot be read."""


class TableError(ValueError):
    """A table that cannot be read: one line for each fault."""

    def __init__(self, *lines):
        self.lines = list(lines)
        super().__init__("\n".join(lines))
