"""Colours, hatches and lines of every picture, in light and dark."""

from dataclasses import dataclass
from functools import cache

from tissue.removal.options import Every

HEADS = Every(lambda traits: traits.head)
SHORT_HEADS = Every(lambda traits: traits.short.capitalize())
SHORT = Every(lambda traits: traits.short)
ABOVE = Every(lambda traits: traits.above)
DASHES = {"dotted": "dot", "dashed": "dash", "solid": "solid", "dash-dotted": "dashdot"}
DASH = Every(lambda traits: DASHES[traits.dash])
SYMBOL = Every(lambda traits: traits.symbol)
GLYPH = {"circle": "●", "square": "■", "diamond": "◆", "triangle-up": "▲"}
LINE_OF_USER = "longdashdot"  # the dash of the user's line; nothing else uses it
SANS = "Source Sans, sans-serif"
SERIF = "Source Serif, serif"


@dataclass(frozen=True)
class Hatch:
    """Strokes laid over a fill: shape, pitch [px], share of the area they cover [0–1]."""

    shape: str
    size: float
    solidity: float


@dataclass(frozen=True)
class Widths:
    """Line widths of a section [px]."""

    back: float
    front: float
    cut: float
    floor: float
    dimension: float = 1.0
    user: float = 1.0
    iso_depth: float = 0.7


EPITHELIUM_HATCH = Hatch(".", 4.5, 0.20)
ABOVE_HATCH = Hatch("\\", 11, 0.09)
REMOVED_HATCH = Hatch("/", 6, 0.24)
REMOVED_HATCH_TRUE = Hatch("/", 4, 0.30)
STRETCHED_WIDTHS = Widths(back=2.0, front=1.5, cut=2.4, floor=1.6)
TRUE_WIDTHS = Widths(back=1.4, front=1.1, cut=1.6, floor=1.2, iso_depth=0.5)


@dataclass(frozen=True)
class Look:
    """Every colour of one theme.

    ink: text, outlines, dimensions, the user's line. ink2: units, spreads, axes. rule: hairlines. rule2: graphics
    that matter. hues: the colours a procedure may have. stroma also fills the bed. above: fill of a flap or cap.
    removed_share: how much of the option colour is mixed into the stroma where tissue is removed [0–1].
    """

    name: str
    page: str
    panel: str
    ink: str
    ink2: str
    rule: str
    rule2: str
    link: str
    hues: dict[str, str]
    stroma: str
    above: str
    epithelium: str
    epithelium_hatch: str
    above_hatch: str
    iso_depth: str
    removed_share: float

    @property
    def option(self) -> Every[str]:
        """The colour of every procedure."""
        return Every(lambda traits: self.hues[traits.hue])

    @property
    def removed(self) -> Every[str]:
        """The colour of what every procedure removes."""
        return Every(lambda traits: mix(self.stroma, self.hues[traits.hue], self.removed_share))


@cache
def mix(ground: str, colour: str, share: float) -> str:
    """Colour mixed into a ground, channel by channel: `#rrggbb`.

    Args:
        ground, colour: `#rrggbb`.
        share: how much of `colour` [0–1].

    >>> mix("#000000", "#ffffff", 0.5)
    '#808080'
    """
    pairs = zip(channels(ground), channels(colour), strict=True)
    return "#" + "".join(f"{round(a + share * (b - a)):02x}" for a, b in pairs)


def channels(colour: str) -> list[int]:
    """Red, green and blue [0–255] of `#rrggbb`."""
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


_LOOKS = {
    "light": Look(
        name="light",
        page="#FBFAF7",
        panel="#F2EFE8",
        ink="#1D2327",
        ink2="#555C61",
        rule="#DAD5CB",
        rule2="#857F75",
        link="#0B5C8A",
        hues={"green": "#00664A", "blue": "#187BBA", "pink": "#B0508A", "violet": "#6C59B8"},
        stroma="#F4F0E7",
        above="#E9E1D2",
        epithelium="#E2CFA8",
        epithelium_hatch="#8A6D2F",
        above_hatch="#857A69",
        iso_depth="#CFC7B8",
        removed_share=0.20,
    ),
    "dark": Look(
        name="dark",
        page="#13181B",
        panel="#1A2024",
        ink="#ECE8DF",
        ink2="#A9AEAD",
        rule="#343C40",
        rule2="#7D868A",
        link="#7CC4EF",
        hues={"green": "#1F9E7C", "blue": "#74C4F2", "pink": "#D98DBA", "violet": "#B3A5F0"},
        stroma="#212A2E",
        above="#333B3C",
        epithelium="#5E5236",
        epithelium_hatch="#C9AE74",
        above_hatch="#8B938F",
        iso_depth="#3A464B",
        removed_share=0.235,
    ),
}


def look(name: str) -> Look:
    """The Look called `light` or `dark`.

    Raises:
        ValueError: another name.

    >>> look("dark").page
    '#13181B'
    """
    if name not in _LOOKS:
        raise ValueError(f"look {name!r}; accepted {', '.join(_LOOKS)}")
    return _LOOKS[name]
