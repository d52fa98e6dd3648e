"""What kind of table a CSV file is: delimiter, decimal sign, byte order mark."""

import csv
import re
from dataclasses import dataclass

DELIMITERS = (";", ",", "\t")
COMMA_NUMBER = re.compile(r"[+-]?[0-9]+,[0-9]+")
POINT_NUMBER = re.compile(r"[+-]?[0-9]+\.[0-9]+")


@dataclass(frozen=True)
class Dialect:
    """How a table is written; what goes out is written the same way."""

    delimiter: str = ","
    decimal: str = "."
    bom: bool = False

    @property
    def words(self):
        """What was understood, for people.

        >>> Dialect(";", ",").words
        'cells apart by semicolon, decimal comma'
        """
        apart = {";": "semicolon", ",": "comma", "\t": "tab"}[self.delimiter]
        return f"cells apart by {apart}, decimal {'comma' if self.decimal == ',' else 'point'}"


def sniff(text, bom=False):
    """The Dialect of a table from its first lines, header included.

    The delimiter is the one that parts the header into most cells; a decimal comma is understood only between
    semicolons or tabs, where numbers with a comma stand and none with a point.

    >>> sniff("sphere_D;zone_mm\\n-4,50;6,5\\n")
    Dialect(delimiter=';', decimal=',', bom=False)
    """
    lines = text.splitlines()
    header = next((line for line in lines if line), "")
    delimiter = max(DELIMITERS, key=lambda sign: (len(next(csv.reader([header], delimiter=sign), [])), sign == ","))
    decimal = "."
    if delimiter != ",":
        cells = [cell.strip() for row in csv.reader(lines[1:1000], delimiter=delimiter) for cell in row]
        with_comma = any(COMMA_NUMBER.fullmatch(cell) for cell in cells)
        if with_comma and not any(POINT_NUMBER.fullmatch(cell) for cell in cells):
            decimal = ","
    return Dialect(delimiter, decimal, bom)
