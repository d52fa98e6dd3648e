"""The state while a clause is read: its tokens, the label in force, the marks and values found."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tissue.entry.letter.pieces.letters import letters_of
from tissue.entry.letter.pieces.tokens import Token


@dataclass(frozen=True, eq=False)
class Mark:
    """A mark of an eye: OD, OS, both, or an order of the two, with its first and last token."""

    eye: Any
    first: int
    last: int


@dataclass(frozen=True, eq=False)
class Value:
    """A value of a clause, before its eye is known.

    name: interface name, K, K1, K2, refraction, or unread. what: a Number, a Power or a place. first, last: its first
    and last token, without its label. label: number of the label it stands under, 0 for none. kind, light: what was
    said. eye: given where it does not come from the marks of this clause.
    """

    name: str
    what: Any
    first: int
    last: int
    label: int = 0
    kind: str = ""
    light: str = ""
    why: str = ""
    labelled_at: int = -1
    eye: Any = None


class Label:
    """The label that is in force while a clause is read."""

    def __init__(
        self, name: str = "", number: int = 0, at: int = -1, token: Token | None = None, of_power: bool = False
    ) -> None:
        self.name, self.number, self.at, self.token, self.of_power = name, number, at, token, of_power
        self.values, self.comma, self.marked, self.spreads = 0, False, False, at < 0


class Reader:
    """The state while a clause is read, with the Marks and Values found so far (`items`)."""

    def __init__(self, tokens: Sequence[Token], dotted: bool, label: str, kind: str, table: bool) -> None:
        self.tokens, self.letters, self.dotted = tuple(tokens), letters_of(tokens), dotted
        self.kind, self.light, self.pupil, self.table = kind, "", False, table
        self.label, self.count = Label(label, 1) if label else Label(), 1
        self.items: list[Any] = []  # Marks and Values in their order
        self.inner: list[Any] = []
        self.doubt, self.plain_before = -1, -2
