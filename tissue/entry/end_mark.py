"""The last line of a file that the tool writes: by it a file that was cut off between two lines is known.

The first line announces the last, both are comments. A file without the first, such as one written by hand, has no
such end, and none is asked of it.
"""

LAST = "# end of file"
FIRST = f'# This file ends with the line "{LAST}". Where that line is missing, the file was cut off.'
ACCEPTED = "the whole file; where nothing is missing, the same without its line that announces the end"


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
