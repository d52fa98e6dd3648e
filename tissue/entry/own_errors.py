"""A file of own errors: bias and spread found in a surgeon's own eyes. A plan may name such a file."""

from dataclasses import dataclass
from pathlib import Path

from tissue.entry.fields import fields, groups, nearest
from tissue.entry.notation import read_line, shown
from tissue.entry.toml_file import Unreadable, file_bytes, tables
from tissue.ground.errors import EyeError

SCHEMA, KIND = 1, "own errors"
FILE = "a file of own errors"
LONGEST_SOURCE = 200


@dataclass(frozen=True, eq=False)
class OwnErrors:
    """Errors by name of the interface [µm], and which eyes they come from, in words."""

    values: dict[str, float]
    source: str


NO_OWN = OwnErrors({}, "")


def read_own(path: str | Path) -> OwnErrors:
    """The OwnErrors in a file.

    Raises:
        Unreadable: the file cannot be read, is of another kind, or holds a name or value that is not accepted.
    """
    return own_of(file_bytes(path, FILE))


def own_of(data: bytes) -> OwnErrors:
    """The OwnErrors in the bytes of a file; raises as `read_own`.

    >>> own_of(b'schema = 1\\nkind = "own errors"\\nsource = "own series"\\n[errors]\\ncap_sd_um = 3.9').values
    {'cap_sd_um': 3.9}
    """
    document = tables(data, FILE)
    if document.get("kind") != KIND or document.get("schema") != SCHEMA:
        raise Unreadable(f"kind {shown(document.get('kind', 'nothing'))}", f'kind = "{KIND}" and schema = {SCHEMA}')
    strange = [name for name in document if name not in ("schema", "kind", "source", "errors")]
    if strange:
        raise Unreadable(f"{shown(strange[0])}, an unknown name", "schema, kind, source and [errors]")
    errors = document.get("errors")
    if not isinstance(errors, dict) or not errors:
        raise Unreadable("no [errors]", "a table [errors] with at least one error")
    try:
        source = read_line("source", str(document.get("source", "")), LONGEST_SOURCE)
    except EyeError as error:
        raise Unreadable(f"source {shown(error.value)}", str(error.limit)) from None
    return OwnErrors({name: _checked(name, value) for name, value in errors.items()}, source)


def _checked(name: str, value: object) -> float:
    names = groups()["errors"]
    if name not in names:
        raise Unreadable(f"{shown(name)}, an unknown name", f"an error of a plan, nearest {nearest(name, names)}")
    field = fields()[name]
    if isinstance(value, bool) or not isinstance(value, int | float) or not field.low <= value <= field.high:
        raise Unreadable(f"{name} {shown(value)}", field.accepted)
    return float(value)


def own_text(own: OwnErrors) -> str:
    """The text of a file that reads back the same.

    >>> print(own_text(OwnErrors({"cap_sd_um": 3.9}, "own series, 12 eyes")), end="")
    # This file ends with the line "# end of file". Where that line is missing, the file was cut off.
    schema = 1
    kind = "own errors"
    source = "own series, 12 eyes"
    <BLANKLINE>
    [errors]
    cap_sd_um = 3.9
    # end of file
    """
    from tissue.entry.plan_text import new_text

    return new_text({"schema": SCHEMA, "kind": KIND, "source": own.source, "errors": dict(own.values)})


def in_folder(folder: str | Path | None, name: object) -> OwnErrors:
    """The OwnErrors that a plan names, from the plan's own folder.

    Args:
        folder: of the plan; None where it was not read from a folder.
        name: what the plan says.

    Raises:
        Unreadable: the name is a path, there is no folder, or as `read_own`.
    """
    if not isinstance(name, str) or not name or Path(name).name != name or "\\" in name or name in (".", ".."):
        raise Unreadable(shown(name), "the bare name of a file in the folder of the plan")
    if folder is None:
        raise Unreadable(shown(name), "a plan read from its folder, with that file beside it")
    return read_own(Path(folder) / name)
