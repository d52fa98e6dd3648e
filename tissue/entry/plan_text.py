"""The text of the bare numbers of a TOML file, whose signs the standard reader would lose."""

import re

MARK = "\ue000"  # private to this file: stands before the text of a number that was written without quotes
PIECE = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|(?<==)(?P<space>[ \t]*)(?P<number>[+-]?(?:[0-9][0-9_]*(?:\.[0-9][0-9_]*)?(?:[eE][+-]?[0-9][0-9_]*)?|inf|nan))"
    r"(?=[ \t\n,}#]|\Z)",
    re.DOTALL,
)


def numbers_as_text(text):
    """A valid TOML text in which every bare decimal number after `=` stands in quotes, as it was written.

    Strings, keys, comments, dates, numbers to another base and lists stay as they are. Underscores go.

    >>> numbers_as_text("sphere_D = +4 # not 4").replace(MARK, "")
    'sphere_D = "+4" # not 4'
    """

    def quoted(match):
        if match["number"] is None:
            return match[0]
        return f'{match["space"]}"{MARK}{match["number"].replace("_", "")}"'

    return PIECE.sub(quoted, text)


def bare(value):
    """The text of a number that was written without quotes, None for anything else."""
    return value[len(MARK) :] if isinstance(value, str) and value.startswith(MARK) else None
