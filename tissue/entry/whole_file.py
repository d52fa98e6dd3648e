"""Files that are files: read only where there is a plain one, written whole or not at all."""

import os
import shutil
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


def plain_file(path: Path | str) -> Path:
    """The path of a plain file; neither a folder nor a device nor a pipe, which may never end or never begin.

    Raises:
        OSError: no such file, or no plain one, in words.
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
    """Whether two paths lead to one file, there already or not.

    >>> same_file("a/../b.csv", "b.csv"), same_file("a.csv", "b.csv")
    (True, False)
    """
    if os.path.abspath(one) == os.path.abspath(other):
        return True
    return os.path.exists(one) and os.path.exists(other) and os.path.samefile(one, other)


def other_kind(path: str | Path, *endings: str) -> str:
    """Words of the ending of a path that says another kind of file than what is written there; empty: none.

    Args:
        path: where to write. endings: of that kind, with their dots; no ending at all says nothing.

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
    """A file to write bytes to that takes its name only when all is written.

    What a run that was killed left beside it is cleared away first. A link stays a link, and a file that is replaced
    keeps who may read it.

    Raises:
        OSError: a folder or a device, or a place that cannot be written to; nothing is left behind.
    """
    place = _place(path)
    temporary = place.with_name(f".{place.name}.{os.getpid()}.part")
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
    """The path where a new file may stand, or one that may be replaced; of a link the place it leads to."""
    if not Path(path).name:
        raise OSError(EINVAL, "no name of a file")
    if str(path) == STREAM:
        raise OSError(EINVAL, STREAM_WORDS)
    with suppress(FileNotFoundError):
        plain_file(path)
    return Path(os.path.realpath(path)) if os.path.islink(path) else Path(path)


def clear_away(path: Path) -> None:
    """Remove what a process that has ended left beside a path, a file or a folder."""
    for part in path.parent.glob(f".{escape(path.name)}.*.part"):
        number = part.name.split(".")[-2]
        if number.isdecimal() and not _runs(int(number)):
            with suppress(OSError):
                shutil.rmtree(part) if part.is_dir() else part.unlink()


def _runs(process: int) -> bool:
    """Whether a process of that number is there; taken to be where it cannot be told."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        pass
    return True
