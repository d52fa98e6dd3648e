"""Own errors in use on this machine: a file in the folder of settings, which only a button puts there or removes.

Every plan on the screens takes them where it gives no error of its own; no command reads them, so a saved plan holds
their values.
"""

import os
import sys
from functools import lru_cache
from pathlib import Path

from tissue.entry.own_errors import NO_OWN, OwnErrors, own_text, read_own
from tissue.entry.toml_file import Unreadable
from tissue.entry.whole_file import write_whole

NAME = "own_errors.toml"


def machine_file() -> Path:
    """The path of the file: in the folder where programs of this user keep their settings."""
    if sys.platform == "win32":
        folder = os.environ.get("APPDATA") or Path.home() / "AppData" / "Roaming"
    else:
        folder = os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config"
    return Path(folder) / "tissue" / NAME


def machine_errors() -> OwnErrors:
    """The OwnErrors in use on this machine; none where there is no such file or it cannot be read."""
    return _found()[0]


def machine_fault() -> str:
    """Why the file on this machine is not in use, in words; empty where it is, or where there is none."""
    return _found()[1]


def _found() -> tuple[OwnErrors, str]:
    """The OwnErrors of the file, and why there are none in it."""
    path = machine_file()
    try:
        seen = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return NO_OWN, ""
    except OSError as error:
        return NO_OWN, f"{path}: {error.strerror or error}"
    return _read(str(path), seen.st_mtime_ns, seen.st_size)


@lru_cache(maxsize=4)
def _read(path: str, _changed: int, _size: int) -> tuple[OwnErrors, str]:
    try:
        return read_own(path), ""
    except Unreadable as error:
        return NO_OWN, f"{path}: {error}"


def use_here(own: OwnErrors) -> None:
    """Put them in use, whole or not at all.

    Raises:
        OSError: the folder cannot be written to.
    """
    path = machine_file()
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, own_text(own).encode("utf-8"))


def remove_here() -> None:
    """Take them out of use; nothing happens where there are none."""
    machine_file().unlink(missing_ok=True)


def with_own(values: dict) -> dict:
    """The values of an eye, own errors put in where it gives none.

    Args:
        values: by name of the interface.
    """
    return machine_errors().values | values
