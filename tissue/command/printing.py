"""Printing by the commands, in UTF-8 whatever the terminal is set to, and the one reader of their arguments."""

import argparse
import json
import os
import sys
from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import Any, NoReturn

from tissue.entry.notation import one_line, shown

DONE = 0


class Unprinted(Exception):
    """Standard output that cannot be written to, in one line."""

    def __init__(self, read: object) -> None:
        super().__init__(f"standard output: read {shown(read, 200)}, accepted a place to write to")


class Parser(argparse.ArgumentParser):
    """Reads the arguments of a command; it refuses in one line, without characters that a terminal would obey."""

    def _print_message(self, message: str, file: Any = None) -> None:
        """Print help and version like every other result."""
        if message:
            print_result(message.rstrip("\n"))

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the arguments and end with 2."""
        say([*self.format_usage().rstrip("\n").split("\n"), f"{self.prog}: error: {one_line(message)}"])
        raise SystemExit(2)


def say(lines: Iterable[str]) -> None:
    """Print lines on standard error, one for each fault; where they cannot be written they are lost."""
    if sys.stderr is None:  # closed before the process began
        return
    if hasattr(sys.stderr, "reconfigure"):
        sys.stderr.reconfigure(encoding="utf-8", errors="backslashreplace")
    with suppress(OSError):
        sys.stderr.write("".join(f"{one_line(line)}\n" for line in lines))
        sys.stderr.flush()


def print_result(result: str | Mapping[str, Any]) -> int:
    """Print a text, or a dictionary as strict JSON.

    Raises:
        Unprinted: standard output cannot be written to.
    """
    if sys.stdout is None:  # closed before the process began
        raise Unprinted("closed")
    text = result if isinstance(result, str) else json.dumps(result, ensure_ascii=False, allow_nan=False, indent=1)
    try:
        sys.stdout.flush()
        sys.stdout.buffer.write(text.encode("utf-8") + b"\n")
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        drop_output()
        raise Unprinted(error.strerror or error) from None
    return DONE


def drop_output() -> None:
    """Discard what is left for standard output, so that the end of the process does not try again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
