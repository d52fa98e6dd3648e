"""One letter for each token of a clause, so that patterns over tokens are plain regular expressions."""

from collections.abc import Sequence

from tissue.entry.letter.pieces.tokens import Token

WORDS = (  # the first meaning that applies decides
    ("eye", "M"),
    ("plano", "P"),
    ("label", "L"),
    ("never", "V"),
    ("kind", "k"),
    ("light", "l"),
    ("eye_noun", "e"),
    ("comma", ","),
    ("with", "w"),
    ("centre", "z"),
    ("filler", "f"),
    ("doubt", "q"),
)
SIGNS = {
    ",": ",",
    "|": ",",
    ":": ":",
    "=": ":",
    "/": "/",
    "(": "(",
    ")": ")",
    "[": "(",
    "]": ")",
    "-": "-",
    "?": "?",
    "~": "~",
    "±": "?",
    "<": "~",
    ">": "~",
    "≤": "~",
    "≥": "~",
    "≈": "~",
    "@": "x",
    "°": "g",
    "&": ",",
}
KINDS = {"misread": "G", "odd": "Y", "date": "T", "code": "Z", "arrow": "a"}
UNITS = {"um": "m", "mm": "m", "dioptre": "d", "degree": "g"}


def letters_of(tokens: Sequence[Token]) -> str:
    """The letters of a clause, one for each token.

    N signed number, n bare number, P plano, G misread number, Y odd one, T date, Z code; M eye, e its noun, L label,
    V label of what is never read, k kind, l light, p place, s c x words of sphere, cylinder, axis, t DS, u DC,
    d dioptre, m other unit, g degrees; f z w words that may stand between, q doubt, X any other.
    """
    found = ""
    for at, token in enumerate(tokens):
        found += _letter(tokens, at, token, found)
    return found


def _letter(tokens: Sequence[Token], at: int, token: Token, before: str) -> str:
    if token.kind == "number":
        return "N" if token.sign else "n"
    if token.kind == "*":
        return "x" if before[-1:] in ("N", "n") and _number_follows(tokens, at) else "f"
    if token.kind != "word":
        return KINDS.get(token.kind) or SIGNS.get(token.kind, "X")
    return _part_of_refraction(tokens, at, token, before) or _place(token, before) or _plain(token, before)


def _number_follows(tokens: Sequence[Token], at: int) -> bool:
    """Whether a number follows; a colon may stand between."""
    rest = [t.kind for t in tokens[at + 1 : at + 3]]
    return rest[:1] in (["number"], ["misread"]) or (
        rest[:1] in ([":"], ["="]) and rest[1:] in (["number"], ["misread"])
    )


def _part_of_refraction(tokens: Sequence[Token], at: int, token: Token, before: str) -> str:
    """The letter of a word for sphere, cylinder or axis; a single letter counts only beside a number."""
    means, single = token.means, len(token.text) == 1
    if "axis" in means:
        behind = before[-1:] in ("N", "n", "d", "u", "c", "g", "/", ",", ")")
        if single and not (_number_follows(tokens, at) and (behind or token.text in "xX@")):
            return "" if "filler" in means else "X"
        return "x"
    number_before = before[-1:] in ("N", "n", "P", "d")
    if "sphere" in means:
        return "s" if not single or (token.text == "S" and _number_follows(tokens, at)) else "X"
    if "cylinder" in means:
        return "c" if not single or (token.text == "C" and _number_follows(tokens, at)) else "X"
    if "of_sphere" in means:
        if not number_before:
            return "X"
        return "d" if "unit" in means else "t"
    if "of_cylinder" in means:
        return "u" if number_before else "X"
    return ""


def _place(token: Token, before: str) -> str:
    """The letter of a direction; above and below may mean a limit instead."""
    if "place" not in token.means:
        return ""
    return "q" if "doubt" in token.means and before[-1:] not in ("n", "N", "m") else "p"


def _plain(token: Token, before: str) -> str:
    means = token.means
    if "unit" in means:
        return UNITS[means["unit"]] if before[-1:] in ("n", "N", "(") else "X"
    for name, letter in WORDS:
        if name in means:
            return letter
    return "f" if "today" in means else "X"
