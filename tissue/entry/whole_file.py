"""Safe files: only regular files are read, and a file is written whole or not at all."""

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import EINVAL, EISDIR, ENOENT
from glob import escape
from pathlib import Path
from typing import Any

from tissue.entry.notation import shown

STREAM = "-"  # what other programs take for standard output; here a file is written whole or not at all
STREAM_WORDS = "the sign for standard output"
HEAD_BYTES = 200  # of a name, in that of what is written beside it: a name may have 255 bytes


def plain_file(path: Path | str) -> Path:
    """The path of a regular file; refuses a folder, and a device or a pipe, from which reading may never end.

    Raises:
        OSError: there is no such file, or it is not a regular one, in words.
    """
    try:
        kind = os.stat(path).st_mode
    except FileNotFoundError:
        raise OSError(ENOENT, "no such file") from None
    except ValueError:
        raise OSError(EINVAL, "a null character in its name") from None
    if stat.S_ISDIR(kind):
        raise OSError(EISDIR, "a folder")
    if not stat.S_ISREG(kind):
        raise OSError(EINVAL, "a device or a pipe")
    return Path(path)


def same_file(one: Path | str, other: Path | str) -> bool:
    """Whether two paths lead to the same file, whether or not it exists.

    >>> same_file("a/../b.csv", "b.csv"), same_file("a.csv", "b.csv")
    (True, False)
    """
    if os.path.abspath(one) == os.path.abspath(other):
        return True
    return os.path.exists(one) and os.path.exists(other) and os.path.samefile(one, other)


def other_kind(path: str | Path, *endings: str) -> str:
    """Words about an ending that stands for another kind of file than is written; empty where the ending is right.

    Args:
        path: where to write. endings: of the right kind, with their dots; a path without an ending is accepted.

    >>> other_kind("o.xlsx", ".csv"), other_kind("o.CSV", ".csv"), other_kind("o", ".csv")
    ('the ending .xlsx, accepted .csv', '', '')
    >>> other_kind("-", ".csv")
    'the sign for standard output, accepted a name that ends in .csv'
    """
    if str(path) == STREAM:
        return f"{STREAM_WORDS}, accepted a name that ends in {' or '.join(dict.fromkeys(endings))}"
    ending = Path(path).suffix
    if not ending or ending.casefold() in endings:
        return ""
    return f"the ending {shown(ending)}, accepted {' or '.join(dict.fromkeys(endings))}"


@contextmanager
def whole_file(path: str | Path) -> Iterator[Any]:
    """A file to write bytes to; it gets its name only when everything is written.

    What an interrupted run left beside it is removed first. A link stays a link, and a file that is replaced keeps
    its permissions.

    Raises:
        OSError: a folder or a device, or a place that cannot be written to; nothing is left behind.
    """
    import shutil  # imported here: many commands write nothing

    place = _place(path)
    temporary = unfinished(place)
    clear_away(place)
    try:
        with open(temporary, "wb") as file:
            if place.exists():
                shutil.copymode(place, temporary)
            yield file
        os.replace(temporary, place)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def write_whole(path: str | Path, data: bytes) -> None:
    """Write bytes, whole or not at all.

    Raises:
        OSError: as `whole_file`.
    """
    with whole_file(path) as file:
        file.write(data)


def _place(path: str | Path) -> Path:
    """The path of a new file, or of one that may be replaced; a link is followed."""
    if not Path(path).name:
        raise OSError(EINVAL, "no name of a file")
    if str(path) == STREAM:
        raise OSError(EINVAL, STREAM_WORDS)
    with suppress(FileNotFoundError):
        plain_file(path)
    return Path(os.path.realpath(path)) if os.path.islink(path) else Path(path)


def unfinished(place: Path) -> Path:
    """Where a file or folder stands while it is written, until it takes its name.

    >>> unfinished(Path("o.csv")).name.startswith(".o.csv."), len(unfinished(Path("o" * 255)).name) < 255
    (True, True)
    """
    return place.with_name(f".{_head(place)}.{os.getpid()}.part")


def _head(place: Path) -> str:
    """The beginning of a name, all of it where it is not long."""
    name = os.fsencode(place.name)
    return place.name if len(name) <= HEAD_BYTES else name[:HEAD_BYTES].decode("utf-8", "ignore")


def clear_away(path: Path) -> None:
    """Remove the files and folders that an ended process left beside a path."""
    import shutil

    for part in path.parent.glob(f".{escape(_head(path))}.*.part"):
        number = part.name.split(".")[-2]
        if number.isdecimal() and not _runs(int(number)):
            with suppress(OSError):
                shutil.rmtree(part) if part.is_dir() else part.unlink()


def _runs(process: int) -> bool:
    """Whether a process of that number runs; true where this cannot be found out."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        pass
    return True
