"""The text of a plan file: reads its numbers as they were written, and puts new values into the same text.

A number keeps its text, because the sign of `+4` is required and a plain number would lose it.
"""

from collections.abc import Mapping, MutableMapping
from typing import Any

CUT_OFF = "no line end after the last line, as in a file that was cut off: please look whether all of it is here"


class Bare(str):
    """The text of a number that was written without quotes."""


def open_end(text: str) -> str:
    """What is said of a file whose last line has no line end; empty where there is nothing to say.

    A number at a cut is a shorter number: of `zone_mm = 6.50` may be left 6. What is written here has its line end.

    >>> open_end("zone_mm = 6.50\\n"), open_end("zone_mm = 6")[:32], open_end("")
    ('', 'no line end after the last line,', '')
    """
    return CUT_OFF if text and not text.endswith("\n") else ""


def ended(text: str) -> str:
    """A text with a line end at its end; an empty one stays empty.

    >>> ended("zone_mm = 6.50"), ended("zone_mm = 6.50\\n"), ended("")
    ('zone_mm = 6.50\\n', 'zone_mm = 6.50\\n', '')
    """
    return f"{text}\n" if open_end(text) else text


def read_texts(text: str) -> dict[str, Any]:
    """The values of a valid TOML text; every decimal number without quotes as its text, without underscores.

    Numbers to another base, dates, lists and quoted values are read as usual.

    >>> read_texts("sphere_D = +4 # not 4\\n[OD]\\nzone_mm = 6.50")
    {'sphere_D': '+4', 'OD': {'zone_mm': '6.50'}}
    """
    import tomlkit

    return _table(tomlkit.parse(text))


def _table(table: Mapping[str, Any]) -> dict[str, Any]:
    return {str(key): _value(item) for key, item in table.items()}


def _value(item: Any) -> Any:
    from tomlkit.items import Float, Integer

    if isinstance(item, Mapping):
        return _table(item)
    if isinstance(item, list) and item and all(isinstance(one, Mapping) for one in item):
        return [_table(one) for one in item]
    if isinstance(item, Float | Integer):
        written = item.as_string().replace("_", "")
        return Bare(written) if written.lower()[:2] not in ("0x", "0o", "0b") else item.unwrap()
    return _plain(item)


def _plain(item: Any) -> Any:
    """An item of the library as a plain value."""
    return item.unwrap() if hasattr(item, "unwrap") else item


def bare(value: object) -> str | None:
    """The text of a number that was written without quotes, None for anything else."""
    return str(value) if isinstance(value, Bare) else None


def new_text(values: Mapping[str, Any]) -> str:
    """The TOML text of these values."""
    import tomlkit

    return tomlkit.dumps(values)


def changed_text(text: str, values: Mapping[str, Any]) -> str:
    """A TOML text with these values put in; an unchanged value keeps its spelling, its place and its comments.

    Its last line has a line end.

    Args:
        text: valid TOML; where it is empty the values stand alone.
        values: by name, tables as dictionaries; a name of the text that is not among them is removed.

    >>> print(changed_text("# seen twice\\n[OD]\\nzone_mm = 6.50 # as usual\\ncap_um = 120", {"OD": {"zone_mm": 6.5}}))
    # seen twice
    [OD]
    zone_mm = 6.50 # as usual
    <BLANKLINE>
    """
    import tomlkit

    document = tomlkit.parse(text)
    _change(document, values)
    return ended(tomlkit.dumps(document))


def _change(table: MutableMapping[str, Any], values: Mapping[str, Any]) -> None:
    for name in [name for name in table if name not in values]:
        del table[name]
    for name, value in values.items():
        if isinstance(value, Mapping) and isinstance(table.get(name), Mapping):
            _change(table[name], value)
        elif name not in table or not _same(_plain(table[name]), value):
            table[name] = value


def _same(old: Any, new: Any) -> bool:
    """Whether two values count as unchanged: 6.5 and 6.50 do, 6 and 6.0 do not."""
    return type(old) is type(new) and old == new
