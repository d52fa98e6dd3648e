"""A file written whole or not at all."""

import os
from pathlib import Path


def write_whole(path, data):
    """Write bytes to a temporary file beside the path, then give it its name.

    Raises:
        OSError: the folder cannot be written to; nothing is left behind.
    """
    path = Path(path)
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        temporary.write_bytes(data)
        os.replace(temporary, path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
