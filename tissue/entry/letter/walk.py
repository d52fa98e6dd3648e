"""Goes through the lines of a letter one by one and collects Candidates, with what the headings above them say."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from tissue.entry.letter.above import Above, doubt_below, goes_on_below, state_of
from tissue.entry.letter.clause import inner_clauses, read_clause
from tissue.entry.letter.dates import date_of
from tissue.entry.letter.eyes import Owned, owned, with_both
from tissue.entry.letter.found import Candidate, Said, Where, candidates, plain_name
from tissue.entry.letter.heads import SET_ASIDE, Heads, is_heading, take_heading, take_prose
from tissue.entry.letter.pieces.letters import letters_of
from tissue.entry.letter.pieces.lines import Clause, Line, clause_of
from tissue.entry.letter.pieces.tokens import Token
from tissue.entry.letter.reader import Reader, Value
from tissue.entry.letter.tables import cells_of, columns_of, is_row, parts_of_row
from tissue.ground.vocabulary import EYES

CONTINUES = re.compile(r"\s*(?:[a-zß-ÿ]|[+-]?[\d.,])")


class Walk:
    """What was found so far: Candidates, matters, and what correction words name."""

    def __init__(self, lines: list[Line]) -> None:
        self.found: list[Candidate] = []
        self.matters: list[tuple[Line, Clause, str]] = []
        self.corrections: list[tuple[str | None, str | None]] = []
        self.heads = Heads()
        self.dotted = any("." in t.digits for line in lines for t in line.tokens if t.kind == "number")
        self.carried: frozenset = frozenset()
        self.next_begins = ""
        self.above = Above()


def walk(lines: list[Line]) -> Walk:
    """The Walk after all Lines of a letter."""
    known = Walk(lines)
    for line, following in zip(lines, [*lines[1:], None], strict=True):
        known.next_begins = letters_of(following.tokens[:2])[:1] if following else ""
        _line(known, line)
    return known


def _line(known: Walk, line: Line) -> None:
    heads = known.heads
    if not line.tokens:
        if not heads.fresh:
            heads.clear()
        known.carried = frozenset()
        return
    date = date_of(line)
    if date is not None and date != heads.date:
        heads.date = date
        heads.block += 1
    known.matters += [(line, clause, what) for clause in line.clauses for what in clause.matters]
    columns = columns_of(line)
    if columns:
        heads.columns, heads.fresh, heads.eye = columns, True, None
        heads.block += 1
        return
    if heads.columns and _row(known, line):
        heads.fresh = False
        return
    if is_heading(line):
        _note_corrections(known, line, [])
        take_heading(heads, line)
        return
    before = len(known.found)
    _clauses(known, line)
    if len(known.found) == before:
        take_prose(heads, line)
    heads.fresh = heads.fresh and len(known.found) == before and not _numbers(line.tokens)


def _row(known: Walk, line: Line) -> bool:
    """Read a line as a row of the columns above it; False where it is none."""
    cells, mark = cells_of(line)
    if not is_row(cells, known.heads.columns, mark):
        return False
    parts = parts_of_row(cells, known.heads.columns)
    block = known.heads.block if known.heads.columns.by_eye else ("row", line.number)
    if parts is None:
        _ask_row(known, cells)
        return True
    for eye, label, cell in parts:
        if cell and not set(letters_of(cell)) <= set("-"):
            _cell(known, line, eye, label, cell, block)
    return True


def _ask_row(known: Walk, cells: list[list[Token]]) -> None:
    """Ask whose numbers they are where a row separated by spaces has too few cells."""
    label = letters_of(cells[0])
    name = next(
        (t.means["label"] for t in cells[0] if "label" in t.means), "refraction" if set(label) & set("sxck") else ""
    )
    numbers = [t for cell in cells[1:] for t in cell if t.kind == "number"]
    if name and name != "never":
        known.found += [
            Candidate(None, plain_name(name), None, {"all": Where(t.line, t.start, t.end)}, Said(), "eye", EYES)
            for t in numbers
        ]


def _cell(known: Walk, line: Line, eye: str, label: list[Token], cell: list[Token], block: Any) -> None:
    """Read one cell under its label."""
    label = [token for token in label if token.kind != "," and token.means.get("unit") is None]
    tokens = [*label, *cell]
    clause = clause_of(tokens, line.plain) if label and label[0].line == line.number else clause_of(cell, line.plain)
    head_said = clause_of(label, "").said if label else frozenset()
    if (clause.said | head_said) & set(SET_ASIDE) or known.heads.aside or _aside_head(label):
        return
    reader = read_clause(tokens, known.dotted, known.heads.label if not label else "", known.heads.kind, table=True)
    found, _, _ = owned(reader.items, reader.letters, eye)
    unknown = "X" in reader.letters[: len(label)] and not set(reader.letters[: len(label)]) & set("LVkscx")
    for item in found:
        said = _said(
            known, item, reader, ("denied" in clause.said | head_said and "range") or (unknown and "kind") or ""
        )
        known.found += candidates(item, reader.tokens, replace(said, block=block))


def _aside_head(label: list[Token]) -> bool:
    return any(name in t.means for t in label for name in ("words", "decided", "person", "matters"))


def _said(known: Walk, item: Owned, reader: Reader, doubt: str = "") -> Said:
    """What the letter says about one value."""
    kind, heads = item.value.kind, known.heads
    place = None
    if kind:
        last = [t for t in reader.tokens if t.means.get("kind") == kind]
        place = Where(last[0].line, last[0].start, last[0].end) if last else heads.kind_at
    return Said(kind, place, heads.date, heads.block, doubt or ("date" if heads.aside_doubt else ""))


def _clauses(known: Walk, line: Line) -> None:
    """Read the clauses of a line one after another; an eye holds to the end of its line."""
    heads = known.heads
    held, marked, gathered, carry, kind = heads.eye, set(), [], heads.label, heads.kind
    state, set_aside = _state_above(known, line), False
    for number, clause in enumerate(line.clauses):
        inherited = known.carried if number == 0 and CONTINUES.match(line.plain) else frozenset()
        known.carried = frozenset()
        begins = letters_of(clause.tokens)[:1]
        label = carry if (begins in ("M", "n", "N") or number == 0) else ""
        reader = read_clause(clause.tokens, known.dotted, label, kind)
        found, held, seen = owned(reader.items, reader.letters, held)
        found = [replace(item, clause=number) for item in found]
        marked |= seen
        kind = reader.kind
        carry = reader.label.name if found and reader.label.name not in ("blocked", "light", "refraction") else ""
        aside = (clause.said | inherited) & set(SET_ASIDE) and "denied" not in clause.said
        foreign = heads.aside and not heads.aside_doubt
        anew = foreign and set(reader.letters) & set("Lk")
        unread = aside or _unread(clause.matters) or "matters" in inherited or (foreign and not anew)
        inner = list(_inner(known, reader, line, found, held))
        flagged = [c for c, *_ in inner if c.said & {*SET_ASIDE, "denied"} and not _numbers(c.tokens)]
        if any(c.said & set(SET_ASIDE) - {"denied"} and "denied" not in c.said for c in flagged):
            unread = True
        doubt = (
            "date"
            if anew or (set_aside and begins in ("M", "n", "N"))
            else "range"
            if "denied" in clause.said or any("denied" in c.said for c in flagged)
            else ""
        )
        _note_corrections(known, line, found, clause)
        if not unread:
            gathered += [(item, reader, doubt or doubt_below(state, item.value)) for item in found]
        set_aside = set_aside or bool(unread and _numbers(clause.tokens))
        for _, inner_found, inner_reader in inner:
            gathered += [(item, inner_reader, "") for item in inner_found]
        _carry(known, line, clause, number, bool(aside or _unread(clause.matters)))
    eyes = marked or {token.means["eye"] for token in line.tokens if "eye" in token.means}
    known.above = Above(line.number, frozenset(eyes), state_of([item for item, _, _ in gathered], set_aside))
    end = next((token.end for token in reversed(line.tokens) if token.kind not in (",", "/")), 0)
    values = with_both([item for item, _, _ in gathered], marked)
    for item, (_, reader, doubt) in zip(values, gathered, strict=True):
        doubt = doubt or ("axis" if _goes_on(known, end, item.value, reader) else "")
        known.found += candidates(item, reader.tokens, _said(known, item, reader, doubt))
    if marked:
        heads.eye = None


def _state_above(known: Walk, line: Line) -> str:
    """The state of the line above, where this line continues it with the other eye; otherwise an empty text."""
    first = line.clauses[0].tokens if line.clauses else ()
    begins = first[0].means.get("eye") if first else None
    return known.above.state if goes_on_below(known.above, line.number, letters_of(first), begins) else ""


def _goes_on(known: Walk, end: int, value: Value, reader: Reader) -> bool:
    """Whether a value at the end of its line may continue in the next line, which begins with a sign or a number."""
    if not known.next_begins or reader.tokens[value.last].end != end:
        return False
    if known.next_begins in "/xa~?)":
        return value.name != "refraction" or "axis" not in value.what.pieces or known.next_begins != "x"
    power = value.what
    if value.name != "refraction" or power is None or "cylinder" in power.pieces or "axis" in power.pieces:
        return False
    return known.next_begins in ("Nn" if power.form == "sphere" else "Nnc(")


def _unread(matters: Iterable[str]) -> bool:
    """Whether the numbers of a clause with such matters stay unread; those beside monovision are read."""
    return bool(set(matters) - {"monovision"})


def _numbers(tokens: Sequence[Token]) -> bool:
    return any(t.kind in ("number", "misread") for t in tokens)


def _carry(known: Walk, line: Line, clause: Clause, number: int, aside: bool) -> None:
    """Carry a sentence about the past or about matters into the next line where it does not end in this one."""
    last = number == len(line.clauses) - 1
    if last and aside and line.plain.rstrip()[-1:] not in ".!?:;":
        known.carried = frozenset(clause.said | ({"matters"} if _unread(clause.matters) else set()))


def _inner(
    known: Walk, reader: Reader, line: Line, found: Sequence[Owned], held: str | tuple[str, str] | None
) -> Iterator[tuple[Clause, list[Owned], Reader]]:
    """Read the brackets of a clause, each as a clause with the eye in force there and, after a K, its label."""
    for clause, place, last in inner_clauses(reader, line.plain):
        bracketed = any("in_brackets" in t.means for t in clause.tokens)
        known.matters += [(line, clause, what) for what in clause.matters]
        if clause.said & {*SET_ASIDE, "denied"} or bracketed or _unread(clause.matters):
            yield clause, [], reader
            continue
        label = last.name if isinstance(last, Value) and last.name in ("K", "K1", "K2") else ""
        inside = read_clause(clause.tokens, known.dotted, label, "")
        eye = _eye_at(reader, found, place, held)
        some, _, _ = owned(inside.items, inside.letters, eye)
        yield clause, some, inside


def _eye_at(
    reader: Reader, found: Sequence[Owned], place: int, held: str | tuple[str, str] | None
) -> str | tuple[str, str] | None:
    """The eye in force at a bracket: that of the value before it."""
    values = [item for item in reader.items[:place] if not hasattr(item, "eye") or hasattr(item, "what")]
    before = found[len(values) - 1].eye if values and len(values) <= len(found) else None
    return before or (held if not values else None)


def _note_corrections(known: Walk, line: Line, found: Sequence[Owned], clause: Clause | None = None) -> None:
    """Note what the clause of a correction names: fields and eyes, a field, an eye, or nothing."""
    for some in [clause] if clause else line.clauses:
        denied = "denied" in some.said and _numbers(some.tokens)
        if "correction" not in some.said and not denied:
            continue
        letters = letters_of(some.tokens)
        pairs: set[tuple[Any, str | None]] = {
            (item.eye, plain_name(item.value.name)) for item in found if item.value.name not in ("never", "unread")
        }
        if not pairs:
            names: set[str | None] = {plain_name(t.means["label"]) for t in some.tokens if "label" in t.means}
            names |= {"refraction" for c in letters if c in "scx"}
            eyes = {t.means["eye"] for t, c in zip(some.tokens, letters, strict=True) if c == "M"}
            pairs = {(eye, name) for eye in eyes or {None} for name in names or {None}}
            if denied and "correction" not in some.said:
                pairs = {pair for pair in pairs if pair[1]}
        known.corrections += list(pairs)
