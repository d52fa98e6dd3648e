"""Makes a file name of any words that is safe in every folder: no separators, no signs with a meaning to the system."""

import re

from tissue.entry.notation import one_line

LONGEST = 120
MEANS_SOMETHING = re.compile(r'\.*[\\/:*?"<>|][\\/:*?"<>|.]*')
DEVICES = re.compile(r"con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]", re.IGNORECASE)  # names that Windows keeps for itself


def file_name(words: str, ending: str = "") -> str:
    """The words as the name of a file; `plan` where nothing is left of them.

    Args:
        words: any text, such as a pseudonym.
        ending: what comes behind it, such as ".toml".

    >>> file_name("harbour-03", ".toml"), file_name("../../a/b", ".toml"), file_name("C:\\\\x\\n")
    ('harbour-03.toml', 'a-b.toml', 'C-x')
    """
    name = MEANS_SOMETHING.sub("-", one_line(words)).strip(" .-~")[:LONGEST].rstrip(" .-")
    if DEVICES.fullmatch(name.partition(".")[0].strip()):
        name = f"plan-{name}"
    return f"{name or 'plan'}{ending}"
