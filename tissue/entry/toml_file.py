"""Reads a small TOML file with care: its bytes, its tables, and what is wrong with it, in words."""

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tissue.entry.notation import shown
from tissue.entry.plan_text import LAST, WHOLE, is_cut_off
from tissue.entry.whole_file import plain_file

LARGEST_BYTES = 100_000
MOST_PARTS = 8  # most parts of a dotted key; the time to read one grows with their square
DOTTED = re.compile(rf"""(?<![\w.-])(?:(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){{{MOST_PARTS}}}""")
COMMENT = re.compile(r"^[ \t]*#.*", re.MULTILINE)


class Unreadable(ValueError):
    """A file that cannot be used: what was found in it, and what is accepted."""

    def __init__(self, read: str, accepted: str) -> None:
        self.read, self.accepted = read, accepted
        super().__init__(f"read {read}, accepted {accepted}")


def file_bytes(path: Path | str, kind: str, most: int = LARGEST_BYTES) -> bytes:
    """The bytes of a small file; of one that is too large, one byte more than the limit.

    Args:
        path: of a regular file; a device or a pipe is refused.
        kind: what it should be, such as "a plan file".
        most: bytes it may have.

    Raises:
        Unreadable: it is not there, cannot be read or is too large.
    """
    try:
        with open(plain_file(path), "rb") as file:
            return file.read(most + 1)
    except OSError as error:
        raise Unreadable(shown(error.strerror or error), kind) from None


def tables(
    data: bytes, kind: str, reader: Callable[[str], dict[str, Any]] | None = None, most: int = LARGEST_BYTES
) -> dict[str, Any]:
    """The tables of a TOML file.

    Args:
        data: its bytes.
        kind: what it should be, such as "a plan file".
        reader: function that reads a text; the standard one where None; it refuses what that one does.
        most: bytes it may have.

    Raises:
        Unreadable: too large, no UTF-8, cut off before the last line that it announces, no TOML, too deep.

    >>> tables(b"a = 1", "a plan file")
    {'a': 1}
    """
    if len(data) > most:
        words = f"{most // 1000} kB" if most < 1_000_000 else f"{most // 1_000_000} MB"
        raise Unreadable(f"more than {words}", f"{kind} of at most {words}")
    try:
        text = text_of(data)
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Unreadable(f"bytes that are not UTF-8 in line {line}", "a TOML file in UTF-8") from None
    if is_cut_off(text):
        raise Unreadable(f'no last line "{LAST}", as in a file that was cut off', WHOLE)
    if DOTTED.search(COMMENT.sub("", text)):
        raise Unreadable("values too deeply nested", f"a key of at most {MOST_PARTS} parts")
    try:
        return (reader or tomllib.loads)(text)
    except RecursionError:
        raise Unreadable("values too deeply nested", f"{kind} that is flat") from None
    except ValueError as error:
        accepted = "valid TOML (plain numbers as in -4.75, anything else in quotes)"
        raise Unreadable(_where(error, text), accepted) from None


def text_of(data: bytes) -> str:
    """The text of a file's bytes, without a byte order mark, its lines ended by a line feed.

    Raises:
        UnicodeDecodeError: the bytes are not UTF-8.
    """
    return data.decode("utf-8-sig").replace("\r\n", "\n")


def _where(error: ValueError, text: str) -> str:
    """The line that the TOML reader could not read, with its number."""
    at = re.search(r"at line ([0-9]+)", str(error))
    if at is None:
        return shown(error)
    line = text.split("\n")[int(at[1]) - 1]
    return f"line {at[1]}, {shown(line)}"
