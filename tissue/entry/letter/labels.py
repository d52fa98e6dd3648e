"""Labels of a clause: which one is in force, and how a kind of refraction or a light changes it."""

from dataclasses import replace

from tissue.entry.letter.reader import Label, Reader, Value


def block(reader: Reader) -> None:
    """End the label in force without putting another in its place."""
    reader.label = Label("blocked" if reader.label.name else "", reader.label.number)


def take_label(reader: Reader, at: int) -> int:
    """Put a label in force; two neighbours count as one label where they belong together, otherwise neither holds."""
    token, letter = reader.tokens[at], reader.letters[at]
    name = "never" if letter == "V" else token.means["label"]
    old = reader.label
    beside = (
        old.at >= 0 and not old.values and set(reader.letters[old.at + 1 : at]) <= set("fz:/,()m") and not old.marked
    )
    if beside and old.name not in ("", "blocked", "never", "refraction"):
        name = _together(old.name, name, reader.letters[old.at + 1 : at])
    reader.count += 1
    reader.label = Label(name, reader.count, at, token, of_power="of_power" in token.means)
    if name == "pupil_mm":
        reader.pupil = True
    return at + 1


def _together(first: str, second: str, between: str) -> str:
    """The one name that two neighbouring labels give."""
    pair = {first, second}
    if first == second or second == "never":
        return second
    if pair == {"central_thickness_um", "thinnest_um"} and not set(between) & set("/,"):
        return "thinnest_um"
    if pair <= {"K", "K1", "K2"}:
        return second if first == "K" or (pair == {"K1", "K2"} and "/" not in between) else first
    return "blocked"


def take_said(reader: Reader, at: int) -> int:
    """Note a kind of refraction or a light."""
    token, label = reader.tokens[at], reader.label
    if reader.letters[at] == "l":
        if _light_behind(reader, at):
            return at + 1
        reader.light = token.means["light"]
        if label.name != "pupil_mm" or label.values:
            reader.count += 1
            reader.label = Label(
                "pupil_mm" if reader.pupil or _pupil_ahead(reader, at) else "light", reader.count, at, token
            )
        return at + 1
    if reader.letters[at + 1 : at + 2] == "e":
        block(reader)
        return at + 2
    if label.name in ("K", "K1", "K2") and not label.values and token.means["kind"] == "objective":
        return at + 1
    last = reader.items[-1] if reader.items else None
    ends = reader.letters[at + 1 : at + 2] in ("", ",", ")")
    if isinstance(last, Value) and last.name == "refraction" and last.last >= at - 2 and ends:
        why = "kind" if last.kind not in ("", token.means["kind"]) else last.why
        reader.items[-1] = replace(last, kind=token.means["kind"], why=why)
        return at + 1
    reader.kind = token.means["kind"]
    reader.count += 1
    reader.label = Label("refraction", reader.count, at, token)
    return at + 1


def _light_behind(reader: Reader, at: int) -> bool:
    """Whether a light follows the pupil that it belongs to right away."""
    last = reader.items[-1] if reader.items else None
    ends = reader.letters[at + 1 : at + 2] in ("", ",", ")", "M")
    if not (isinstance(last, Value) and last.name == "pupil_mm" and last.last >= at - 2 and ends):
        return False
    why = "light" if last.light not in ("", reader.tokens[at].means["light"]) else last.why
    reader.items[-1] = replace(last, light=reader.tokens[at].means["light"], why=why)
    return True


def _pupil_ahead(reader: Reader, at: int) -> bool:
    """Whether the pupil is named right behind the light."""
    return any(token.means.get("label") == "pupil_mm" for token in reader.tokens[at + 1 : at + 4])
