"""What a line inherits from the line above when it continues with the other eye: old, objective, or another label."""

from dataclasses import dataclass
from typing import Any

from tissue.entry.letter.values.scalars import SIGNED
from tissue.ground.vocabulary import EYES

ASIDE, OBJECTIVE, LABELLED = "aside", "objective", "labelled"
WORDS = set("LVkl")


@dataclass(frozen=True, eq=False)
class Above:
    """A line that was read: its number, the eyes marked in it, and the state of its values."""

    line: int = -1
    eyes: frozenset[Any] = frozenset()
    state: str = ""


def state_of(read: list[Any], unread: bool) -> str:
    """The state of the values of a line where it casts doubt on the line below; otherwise empty.

    Args:
        read: Owned values in their order.
        unread: whether a clause with numbers was set aside.
    """
    if unread:
        return ASIDE
    values = [item.value for item in read if item.value.name != "place"]
    whole = any(value.name == "refraction" for value in values)
    if values and not whole and (values[-1].name == "never" or values[-1].name in SIGNED):
        return LABELLED
    return OBJECTIVE if any(value.kind == "objective" for value in values) else ""


def goes_on_below(above: Above, number: int, letters: str, begins: Any) -> bool:
    """Whether a line continues the line above with the other eye, without a word of its own.

    Args:
        above: Above.
        number: of the line.
        letters: of its first clause.
        begins: the eye that it begins with, or None.
    """
    if above.line != number - 1 or len(above.eyes) != 1 or begins not in EYES or begins in above.eyes:
        return False
    first = next((at for at, letter in enumerate(letters) if letter in "NnP"), len(letters))
    return not WORDS & set(letters[:first])


def doubt_below(state: str, value: Any) -> str:
    """Why a value of such a line must be asked; empty where the line above gives no reason.

    Args:
        state: of the line above.
        value: Value.
    """
    if state == ASIDE:
        return "date"
    if value.name != "refraction":
        return ""
    if state == OBJECTIVE and not value.kind:
        return "kind"
    return "kind" if state == LABELLED and "cylinder" not in value.what.pieces else ""
