"""A tagged page read from the document alone: its elements in order, and every piece of text with its place and size.

Source: PDF 32000-1, 9 (text), 14.7 (logical structure) and 14.8 (tagged PDF).
"""

import re
from typing import NamedTuple

import numpy as np
from page_lines import MM
from pypdf.generic import ContentStream


class Piece(NamedTuple):
    """A text as it was set: number of its element or None, text, size [pt], edges and base line [mm, lower left]."""

    number: int | None
    text: str
    size_pt: float
    left: float
    right: float
    base: float


def elements_of(reader):
    """Every structure element in order of reading: (role, its dictionary, numbers of its content)."""

    def walk(element):
        held = element.get_object()
        kids = held["/K"] if isinstance(held["/K"], list) else [held["/K"]]
        yield held["/S"], held, [kid for kid in kids if isinstance(kid, int)]
        for kid in kids:
            if not isinstance(kid, int):
                yield from walk(kid)

    return [found for top in reader.trailer["/Root"]["/StructTreeRoot"]["/K"] for found in walk(top)]


def operations_of(reader):
    """What draws the first page, in order, as (operands, operator); what else is read here is read from it."""
    return ContentStream(reader.pages[0].get_contents(), reader).operations


def content_of(operations):
    """The marked content of the page: by its number (role, whether it shows text), and whether text stands outside."""
    found, stack, outside = {}, [], False
    for operands, operator in operations:
        if operator == b"BDC":
            stack.append(int(operands[1]["/MCID"]))
            found[stack[-1]] = [operands[0], False]
        elif operator == b"BMC":
            stack.append(None)
        elif operator == b"EMC":
            stack.pop()
        elif operator in (b"Tj", b"TJ", b"'"):
            if stack and stack[-1] is not None:
                found[stack[-1]][1] = True
            else:
                outside = True
    assert not stack
    return found, outside


def pieces_of(reader, operations):
    """Every Piece of text of the page, in the order in which it is drawn."""
    known = reader.pages[0]["/Resources"]["/Font"]
    fonts = {name: _letters(one.get_object()) for name, one in known.items()}
    found, number, font, size, place = [], None, None, 0.0, (0.0, 0.0)
    for operands, operator in operations:
        if operator in (b"BDC", b"BMC", b"EMC"):
            number = int(operands[1]["/MCID"]) if operator == b"BDC" else None
        elif operator == b"Tf":
            font, size = fonts[operands[0]], float(operands[1])
        elif operator == b"Tm":
            place = float(operands[4]) / MM, float(operands[5]) / MM
        elif operator == b"Tj":
            letters = [font[code] for code in operands[0].original_bytes]
            wide = sum(width for _, width in letters) * size / 1000.0 / MM
            text = "".join(letter for letter, _ in letters)
            found.append(Piece(number, text, size, place[0], place[0] + wide, place[1]))
    return found


def _letters(font):
    """By code: the letter of a font and its width [thousandths of its size]."""
    known = font["/ToUnicode"].get_data().decode("latin-1")
    letters = {int(code, 16): chr(int(to, 16)) for code, to in re.findall(r"<(\w\w)> <(\w{4})>\s*\n", known)}
    return {code + font["/FirstChar"]: (letters.get(code, ""), float(w)) for code, w in enumerate(font["/Widths"])}


def drawn_shapes(operations):
    """What is drawn and cut off by no other shape: (whether it is a line, its points [mm, lower left])."""
    clipped, asked, points, found = [False], False, [], []
    for operands, operator in operations:
        if operator == b"q":
            clipped.append(clipped[-1])
        elif operator == b"Q":
            clipped.pop()
        elif operator in (b"m", b"l"):
            points.append([float(value) / MM for value in operands])
        elif operator in (b"W", b"W*"):
            asked = True
        elif operator in (b"S", b"s", b"f", b"f*", b"B", b"n") and (operator != b"n" or asked):
            if points and not clipped[-1]:
                found.append((operator in (b"S", b"s", b"B"), np.array(points)))
            clipped[-1], asked, points = clipped[-1] or asked, False, []
    return found
