"""The open lines of a printed page, read from the document's own drawing operations."""

import numpy as np

MM = 72.0 / 25.4  # points a millimetre; PDF 32000-1


def lines_of(operations):
    """Every open line of what draws a page: its width [pt] and its points [mm from the lower left]."""
    width, points, found = 0.0, [], []
    for operands, operator in operations:
        numbers = [float(value) for value in operands] if operator in (b"w", b"m", b"l") else []
        if operator == b"w":
            width = numbers[0]
        elif operator == b"m":
            points = [numbers]
        elif operator == b"l":
            points.append(numbers)
        elif operator == b"S":
            found.append((width, np.array(points) / MM))
            points = []
        elif operator in (b"n", b"f", b"f*", b"B"):
            points = []
    return found
