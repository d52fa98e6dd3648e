"""The text of a plan file: reads its numbers as they were written, and puts new values into the same text.

A number keeps its text, because the sign of `+4` is required and a plain number would lose it.

The first line of a file that the tool begins announces its last; both are comments. By them a file that was cut off
between two lines is known. Of a file without the first, such as one written by hand, no such end is asked.
"""

import re
import tomllib
from collections.abc import Callable, Mapping, MutableMapping
from typing import Any

LAST = "# end of file"
FIRST = f'# This file ends with the line "{LAST}". Where that line is missing, the file was cut off.'
WHOLE = "the whole file; where nothing is missing, the same without its line that announces the end"
CUT_OFF = "no line end after the last line, as in a file that was cut off: please look whether all of it is here"
# Where an integer may stand whose text its value does not give back, as +4, 1_000, 0x1F and -0; or a time.
LOST = re.compile(r"\+[0-9][0-9_]*(?![0-9_.eE])|[0-9]_[0-9]|0[xob]|-0(?![0-9_.eE])|[0-9]:[0-9]")


class Bare(str):
    """The text of a number that was written without quotes."""


def open_end(text: str) -> str:
    """What is said of a file whose last line has no line end; empty where there is nothing to say.

    A number at a cut is a shorter number: of `zone_mm = 6.50` may be left 6. What is written here has its line end.

    >>> open_end("zone_mm = 6.50\\n"), open_end("zone_mm = 6")[:32], open_end("")
    ('', 'no line end after the last line,', '')
    """
    return CUT_OFF if text and not text.endswith(("\n", f"\n{LAST}")) else ""


def ended(text: str) -> str:
    """A text with a line end at its end; an empty one stays empty.

    >>> ended("zone_mm = 6.50"), ended("zone_mm = 6.50\\n"), ended("")
    ('zone_mm = 6.50\\n', 'zone_mm = 6.50\\n', '')
    """
    return f"{text}\n" if text and not text.endswith("\n") else text


def with_end(text: str) -> str:
    """A text that ends with a line feed, or an empty one, between its two marks.

    >>> print(with_end("cap_um = 120\\n"), end="")
    # This file ends with the line "# end of file". Where that line is missing, the file was cut off.
    cap_um = 120
    # end of file
    """
    return f"{FIRST}\n{text}{LAST}\n"


def announces_end(text: str) -> bool:
    """Whether a line of the text says that a last one follows.

    >>> announces_end(with_end("")), announces_end("cap_um = 120\\n")
    (True, False)
    """
    return FIRST in text and FIRST in _lines(text)


def is_cut_off(text: str) -> bool:
    """Whether the last line is announced and not there, or only a part of the first is; lines behind do no harm.

    >>> is_cut_off(f"{FIRST}\\ncap_um = 120\\n"), is_cut_off(with_end("cap_um = 120\\n") + "zone_mm = 6\\n")
    (True, False)
    >>> is_cut_off("# This file"), is_cut_off("")
    (True, False)
    """
    begun = bool(text) and FIRST.startswith(text)
    return begun or announces_end(text) and LAST not in _lines(text)


def end_moved(text: str) -> str:
    """A text that ends with a line feed, its last mark at its end where its first is there.

    >>> end_moved(with_end("") + "[OS]\\n") == with_end("[OS]\\n"), end_moved("[OS]\\n")
    (True, '[OS]\\n')
    """
    if not announces_end(text):
        return text
    left = [line for line in text.split("\n") if line.strip() != LAST]
    return "\n".join(left) + f"{LAST}\n"


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.split("\n")]


def read_texts(text: str) -> dict[str, Any]:
    """The values of a TOML text; every decimal number without quotes as its text, without underscores.

    Numbers to another base, dates, lists and quoted values are read as usual.

    Raises:
        ValueError: the text is no TOML.

    >>> read_texts("sphere_D = +4 # not 4\\n[OD]\\nzone_mm = 6.50")
    {'sphere_D': '+4', 'OD': {'zone_mm': '6.50'}}
    """
    found = tomllib.loads(text, parse_float=_bare)
    return _texts_of_library(text) if LOST.search(text) else _table(found, _value)


def _bare(written: str) -> Bare:
    return Bare(written.replace("_", ""))


def _table(table: Mapping[str, Any], read: Callable[[Any], Any]) -> dict[str, Any]:
    return {str(key): read(value) for key, value in table.items()}


def _is_of_tables(value: Any) -> bool:
    """Whether it is a list of tables."""
    return isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _value(value: Any) -> Any:
    """A value of the standard reader, an integer as its text."""
    if isinstance(value, Mapping):
        return _table(value, _value)
    if isinstance(value, list):
        return [_table(one, _value) for one in value] if _is_of_tables(value) else _as_usual(value)
    return Bare(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _as_usual(value: Any) -> Any:
    """What stands in a list, its numbers as numbers."""
    if isinstance(value, Mapping):
        return _table(value, _as_usual)
    if isinstance(value, list):
        return [_as_usual(one) for one in value]
    return float(value) if isinstance(value, Bare) else value


def _texts_of_library(text: str) -> dict[str, Any]:
    """What `read_texts` gives, by the library that keeps the text of everything; it is slow to load."""
    import tomlkit

    return _table(tomlkit.parse(text), _item)


def _item(item: Any) -> Any:
    from tomlkit.items import Float, Integer

    if isinstance(item, Mapping):
        return _table(item, _item)
    if _is_of_tables(item):
        return [_table(one, _item) for one in item]
    if isinstance(item, Float | Integer):
        written = item.as_string()
        return _bare(written) if written.lower()[:2] not in ("0x", "0o", "0b") else item.unwrap()
    return _plain(item)


def _plain(item: Any) -> Any:
    """An item of the library as a plain value."""
    return item.unwrap() if hasattr(item, "unwrap") else item


def bare(value: object) -> str | None:
    """The text of a number that was written without quotes, None for anything else."""
    return str(value) if isinstance(value, Bare) else None


def new_text(values: Mapping[str, Any]) -> str:
    """The TOML text of these values, its last line announced by its first, see `with_end`."""
    import tomlkit

    return with_end(tomlkit.dumps(values))


def changed_text(text: str, values: Mapping[str, Any]) -> str:
    """A TOML text with these values put in; an unchanged value keeps its spelling, its place and its comments.

    Its last line has a line end, and is the one that the first announces where it does.

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
    return end_moved(ended(tomlkit.dumps(document)))


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
