"""Compares all places: a field with one reading is filled, any other becomes a question with its reason."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isnan
from typing import Any

import numpy as np

from tissue.entry.letter.dates import newest
from tissue.entry.letter.found import PARTS, Candidate, Where, spelled_value
from tissue.entry.letter.values.powers import spelled
from tissue.eye.refraction import Refraction
from tissue.ground.vocabulary import EYES

Day = str | tuple[int, ...] | None  # the newest date: "today", or year, month and day

ALIKE_D = 0.005
BESIDE_A_PAIR_D = 0.15  # a mean K may differ this much from its pair, by the rounding of both; choice
SAME = 1e-9
MOST_CHOICES = 8


@dataclass(frozen=True, eq=False)
class Ask:
    """A question: eye (or None), field, place in the letter, reason, and what may have been meant."""

    eye: str | None
    field: str
    at: Where
    why: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Fill:
    """A field that is filled: its value, where it stands, and other places that say the same."""

    value: Any
    at: Where
    also: tuple[Where, ...] = ()


class Settled:
    """The fields that were found, by eye, and the questions that are left to ask."""

    def __init__(self) -> None:
        self.eyes: dict[str, dict] = {eye: {} for eye in EYES}
        self.asks: list[Ask] = []


def settle(found: list[Candidate], corrections: Sequence[tuple[str | None, str | None]]) -> Settled:
    """The Settled result of all Candidates.

    Args:
        found: Candidates in the order of the letter.
        corrections: pairs (eye or None, field or None) that a correction names.
    """
    settled = Settled()
    dates = {c.said.date for c in found}
    last = newest(dates)
    found = _assembled([c for c in found if c.name != "never" and not (c.name == "pupil_mm" and c.light == "bright")])
    for c in found:
        if c.eye is None and c.name != "vertex_mm":
            settled.asks += _asks_of(c, c.why or "eye", c.choices)
    for eye in EYES:
        of_eye = [c for c in found if c.eye == eye or (c.eye is None and c.name == "vertex_mm")]
        unnamed = [c for c in found if c.eye is None and c.name == "refraction"]
        _refraction(settled, eye, [c for c in of_eye if c.name == "refraction"], last, unnamed)
        _curvature(settled, eye, [c for c in of_eye if c.name in ("mean_K_D", "radius_mm", "pair", "K1", "K2")], last)
        for name in dict.fromkeys(c.name for c in of_eye):
            if name not in ("refraction", "mean_K_D", "radius_mm", "pair", "K1", "K2", "place", "light"):
                _scalar(settled, eye, name, [c for c in of_eye if c.name == name], last)
        _thinnest(settled, eye, [c for c in of_eye if c.name == "place"])
    _correct(settled, corrections)
    return settled


def _asks_of(c: Candidate, why: str, choices: tuple[str, ...] = ()) -> list[Ask]:
    """The questions of one Candidate: one, or one for each half of a place."""
    if c.name == "place":
        names = list(c.places) if len(c.places) == 2 else ["thinnest_x_mm"]
        return [Ask(c.eye, name, at, why) for name, at in zip(names, c.places.values(), strict=False)]
    choices = tuple(choices) if len(choices) <= MOST_CHOICES else ()
    name = {"part": "refraction", "pair": _k_name(c), "K1": "mean_K_D", "K2": "mean_K_D"}.get(c.name, c.name)
    return [Ask(c.eye, name, at, why, choices) for at in (c.places["all"], *c.also)]


def _k_name(c: Candidate) -> str:
    return "radius_mm" if c.form == "mm" else "mean_K_D"


def _assembled(found: Sequence[Candidate]) -> list[Candidate]:
    """The Candidates with the labelled parts of one refraction joined: those of the same eye, block and kind."""
    whole, order = [], []
    open_parts: dict[Any, Any] = {}
    for c in found:
        if c.name != "part":
            whole.append(c)
            continue
        key = c.eye, c.said.block, c.said.kind
        group = open_parts.get(key)
        if group is None or any(set(c.places) & set(other.places) - {"all"} for other in group):
            group = open_parts[key] = []
            order.append(group)
        group.append(c)
    stray = any(c.eye is None and c.form != "sphere" for group in order for c in group)
    return whole + [made for group in order for made in _one_refraction(group, stray)]


def _one_refraction(group: list[Candidate], stray: bool) -> list[Candidate]:
    """The refraction that some parts make; asked where a part is missing or doubtful, or a stray one may belong."""
    first = group[0]
    numbers = [np.nan] * 3
    places = {}
    for c in group:
        for n, part in enumerate(PARTS):
            if part in c.places:
                numbers[n] = c.value[n]
                places[part] = c.places[part]
    why = next((c.why for c in group if c.why), "")
    sphere, cylinder, axis = numbers
    if not why and (isnan(sphere) or (not isnan(cylinder) and cylinder != 0 and isnan(axis))):
        why = "axis" if isnan(axis) and not isnan(sphere) else "two-values"
    if not why and isnan(cylinder) and (stray or not isnan(axis)):
        why = "axis"
    if isnan(sphere) and not [c for c in group if c.why] and first.eye is None:
        why = "eye"
    if not isnan(cylinder) and cylinder == 0:
        axis = np.nan
    if why:
        return [
            replace(c, name="refraction", why=why, places={**c.places}, choices=EYES if why == "eye" else ())
            for c in group
        ]
    places["all"] = next(iter(places.values()))
    doubt = next((c.said.doubt for c in group if c.said.doubt), "")
    return [
        Candidate(
            first.eye, "refraction", (sphere, cylinder, axis), places, replace(first.said, doubt=doubt), form="whole"
        )
    ]


def _refraction(
    settled: Settled,
    eye: str,
    some: Sequence[Candidate],
    last: Day,
    unnamed: Sequence[Candidate],
) -> None:
    """Settle the refraction of one eye by the kinds, dates and places of its Candidates."""
    firm = [c for c in some if c.said.kind != "objective"]
    some = firm or some
    if not some:
        return
    why = _why_refraction(some, firm, last) or _goes_on_below(some, unnamed)
    if why:
        choices = _refraction_choices(some, last)
        for c in some:
            own = c.choices if c.why in ("sign", "decimal") and len(some) == 1 else choices
            settled.asks += _asks_of(c, why, own)
        return
    kept = next((c for c in some if c.said.kind == "manifest"), some[0])
    sphere, cylinder, axis = kept.value
    fields = {"sphere": sphere, "cylinder": cylinder, "axis": axis}
    for part, value in fields.items():
        if part in kept.places and not isnan(value):
            also = tuple(c.places[part] for c in some if c is not kept and part in c.places)
            settled.eyes[eye][PARTS[part]] = Fill(float(value), kept.places[part], also)
    kinds = {c.said.kind for c in some if c.said.kind}
    said_of_all = all(c.said.kind for c in some)
    kind = "manifest" if "manifest" in kinds else next(iter(kinds), "") if said_of_all else ""
    if kind:
        places = [c.said.kind_at for c in some if c.said.kind == kind and c.said.kind_at]
        if places:
            settled.eyes[eye]["refraction_kind"] = Fill(kind, places[0])


def _why_refraction(some: Sequence[Candidate], firm: Sequence[Candidate], last: Day) -> str:
    """The reason to ask for a refraction; empty where all places say the same."""
    reasons = [c.why or c.said.doubt for c in some if c.why or c.said.doubt]
    if reasons:
        return reasons[0]
    if not firm:
        return "kind"
    if not all(_same_refraction(some[0].value, c.value) for c in some[1:]):
        if len({c.said.date for c in some}) > 1:
            return "date"
        return "kind" if len({c.said.kind for c in some}) > 1 else "two-values"
    return _older(some, last)


def _goes_on_below(some: Sequence[Candidate], unnamed: Sequence[Candidate]) -> str:
    """The reason to ask where the next line has another refraction without an eye, which may belong to this eye too."""
    lines = {c.places["all"].line + 1 for c in some}
    unlike = [c for c in unnamed if c.places["all"].line in lines]
    return "two-values" if any(c.why != "eye" or not _same_refraction(c.value, some[0].value) for c in unlike) else ""


def _older(some: Sequence[Candidate], last: Day) -> str:
    """The reason to ask where all places of a value stand under an older date."""
    return "" if any(c.said.date in (None, last) for c in some) else "date"


def _same_refraction(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    """Whether two refractions are the same, in either cylinder form."""
    vectors = [
        Refraction(s, 0.0 if isnan(c) else c, 180.0 if isnan(a) else a).power_vector() for s, c, a in (one, other)
    ]
    return max(abs(a - b) for a, b in zip(*vectors, strict=True)) < ALIKE_D


def _refraction_choices(some: Sequence[Candidate], last: Day) -> tuple[str, ...]:
    """What may have been meant, newest first, each once."""
    found: dict[str, None] = {}
    for c in sorted(some, key=lambda c: c.said.date != last):
        spellings = c.choices if c.choices and c.choices != EYES else ()
        if not spellings and c.value is not None and not isnan(c.value[0]) and not c.why:
            spellings = (spelled(c.value),)
        found |= dict.fromkeys(spellings)
    return tuple(found)


def _scalar(settled: Settled, eye: str, name: str, some: list[Candidate], last: Day) -> None:
    """Settle one number of one eye."""
    if name == "pupil_mm":
        some = [c for c in some if c.light != "bright"]
        if not some:
            return
    why = next((c.why or c.said.doubt for c in some if c.why or c.said.doubt), "")
    if not why and name == "pupil_mm" and any(not c.light for c in some):
        why = "light"
    if not why and any(abs(c.value - some[0].value) > SAME for c in some):
        why = "date" if len({c.said.date for c in some}) > 1 else "two-values"
    why = why or _older(some, last)
    if why:
        values = [c for c in sorted(some, key=lambda c: c.said.date != last) if c.value is not None]
        sure = len(some) > 1 or why in ("light", "date", "kind", "two-values")
        choices = tuple(dict.fromkeys(spelled_value(name, c.value) for c in values if c.why != "range")) if sure else ()
        for c in some:
            if c.eye is not None or why != "eye":
                settled.asks += _asks_of(c, why, c.choices or choices)
        return
    settled.eyes[eye][name] = _fill(some[0].value, some)


def _fill(value: float, some: Sequence[Candidate]) -> Fill:
    places = [place for c in some for place in (c.places["all"], *c.also)]
    return Fill(float(value), places[0], tuple(places[1:]))


def _curvature(settled: Settled, eye: str, some: list[Candidate], last: Day) -> None:
    """Settle the mean K or the radius of one eye from means, pairs and the two meridians."""
    if not some:
        return
    some, leftover = _paired(some)
    why = next((c.why or c.said.doubt for c in [*some, *leftover] if c.why or c.said.doubt), "")
    if not why and leftover:
        why = "two-values"
    if not why and len({c.form == "mm" for c in some}) > 1:
        why = "unit"
    means, pairs = [c for c in some if c.name != "pair"], [c for c in some if c.name == "pair"]
    kept = means or pairs
    if not why:
        why = _unlike_curvatures(kept, pairs if means else []) or _older(some, last)
    if why:
        choices = (
            tuple(dict.fromkeys(spelled_value(_k_name(c), c.value) for c in some if not c.why)) if len(some) > 1 else ()
        )
        for c in [*some, *leftover]:
            settled.asks += _asks_of(c, why, choices)
        return
    same = [c for c in pairs if c not in kept and abs(c.value - kept[0].value) <= SAME]
    settled.eyes[eye][_k_name(kept[0])] = _fill(kept[0].value, [*kept, *same])


def _unlike_curvatures(kept: Sequence[Candidate], pairs: Sequence[Candidate]) -> str:
    if any(abs(c.value - kept[0].value) > SAME for c in kept):
        return "date" if len({c.said.date for c in kept}) > 1 else "two-values"
    limit = BESIDE_A_PAIR_D if kept[0].form != "mm" else BESIDE_A_PAIR_D * kept[0].value ** 2 / 337.5
    return "two-values" if any(abs(c.value - kept[0].value) > limit + SAME for c in pairs) else ""


def _paired(some: list[Candidate]) -> tuple[list[Candidate], list[Candidate]]:
    """The flat and steep meridians joined to pairs, and those that have no partner."""
    others = [c for c in some if c.name not in ("K1", "K2")]
    first, second = ([c for c in some if c.name == name] for name in ("K1", "K2"))
    if len(first) != len(second):
        return others, [*first, *second]
    for a, b in zip(first, second, strict=True):
        if a.why or b.why or a.form != b.form:
            return others, [*first, *second]
        mean = round((a.value + b.value) / 2, 9)
        others.append(Candidate(a.eye, "pair", mean, a.places, a.said, form=a.form, also=(b.places["all"],)))
    return others, []


def _thinnest(settled: Settled, eye: str, places: Sequence[Candidate]) -> None:
    """Settle the place of the thinnest point; ask for centre and thinnest point where the thinnest is thicker."""
    fields = settled.eyes[eye]
    for c in places:
        sound = not c.why and not c.said.doubt and "thinnest_um" in fields and len({p.value for p in places}) == 1
        if not sound:
            settled.asks += _asks_of(c, c.why or "place")
        elif "thinnest_x_mm" not in fields:
            for name, value in zip(("thinnest_x_mm", "thinnest_y_mm"), c.value, strict=True):
                also = tuple(p.places[name] for p in places if p is not c)
                fields[name] = Fill(float(value), c.places[name], also)
    if "thinnest_um" in fields and "central_thickness_um" in fields:
        if fields["thinnest_um"].value > fields["central_thickness_um"].value:
            for name in ("central_thickness_um", "thinnest_um"):
                _ask_again(settled, eye, name, "two-values")


def _ask_again(settled: Settled, eye: str, name: str, why: str) -> None:
    """Turn a filled field into a question."""
    fill = settled.eyes[eye].pop(name)
    value = fill.value
    choice = value if isinstance(value, str) else spelled_value(name, value)
    for at in (fill.at, *fill.also):
        settled.asks.append(Ask(eye, name, at, why, (choice,)))


def _correct(settled: Settled, corrections: Sequence[tuple[str | None, str | None]]) -> None:
    """Ask for what a correction names; for everything where it names nothing."""
    for eye, name in corrections:
        for side in EYES if eye not in EYES else (eye,):
            _correct_eye(settled, side, name)


def _correct_eye(settled: Settled, side: str, name: str | None) -> None:
    fields = settled.eyes[side]
    refraction = [n for n in ("sphere_D", "cylinder_D", "axis_deg") if n in fields]
    if name in (None, "refraction") and refraction:
        choice = spelled(
            tuple(fields[n].value if n in fields else np.nan for n in ("sphere_D", "cylinder_D", "axis_deg"))
        )
        for n in refraction:
            fill = fields.pop(n)
            settled.asks += [Ask(side, "refraction", at, "two-values", (choice,)) for at in (fill.at, *fill.also)]
        fields.pop("refraction_kind", None)
    for field in list(fields):
        named = name is None or field == name or (name == "mean_K_D" and field == "radius_mm")
        if named and field not in ("sphere_D", "cylinder_D", "axis_deg", "refraction_kind"):
            _ask_again(settled, side, field, "two-values")
