"""What kind of table a CSV file is: delimiter, decimal sign, byte order mark."""

import csv
import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import islice

DELIMITERS = (";", ",", "\t")
COMMA_NUMBER = re.compile(r"[+-]?[0-9]+,[0-9]+")
POINT_NUMBER = re.compile(r"[+-]?[0-9]+\.[0-9]+")


@dataclass(frozen=True)
class Dialect:
    """How a table is written; the output is written in the same way."""

    delimiter: str = ","
    decimal: str = "."
    bom: bool = False

    @property
    def words(self) -> str:
        """What was understood, for people.

        >>> Dialect(";", ",").words
        'cells apart by semicolon, decimal comma'
        """
        apart = {";": "semicolon", ",": "comma", "\t": "tab"}[self.delimiter]
        return f"cells apart by {apart}, decimal {'comma' if self.decimal == ',' else 'point'}"


def sniff(text: str, bom: bool = False, telling: Callable[[str], bool] | None = None) -> Dialect:
    """The Dialect of a table from its first lines, header included.

    The delimiter is the one that splits the header into most cells. A decimal comma is understood only between
    semicolons or tabs, where more numbers with a comma stand than with a point.

    Args:
        text: whole lines.
        bom: whether a byte order mark stood before them.
        telling: function of a column's name to whether its numbers tell the decimal sign; every column where None.

    >>> sniff("sphere_D;zone_mm\\n-4,50;6,5\\n")
    Dialect(delimiter=';', decimal=',', bom=False)
    """
    header = next((line for line in text.splitlines() if line), "")
    delimiter = max(DELIMITERS, key=lambda sign: (len(next(csv.reader([header], delimiter=sign), [])), sign == ","))
    if delimiter == ",":
        return Dialect(delimiter, ".", bom)
    names, *rows = list(islice(filter(None, csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)), 1000)) or [
        []
    ]
    places = [i for i, name in enumerate(names) if telling is None or telling(name)]
    cells = [row[i].strip() for row in rows for i in places if i < len(row)]
    with_comma, with_point = (sum(map(bool, map(form.fullmatch, cells))) for form in (COMMA_NUMBER, POINT_NUMBER))
    return Dialect(delimiter, "," if with_comma > with_point else ".", bom)
