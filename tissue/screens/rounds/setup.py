"""The choices that make a round: whose eyes, which kinds of question, how many, and the seed that repeats it."""

from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any

import streamlit as st

from tissue.entry import plan_file
from tissue.entry.checks import Fault, fault_of
from tissue.entry.notation import shown as as_read
from tissue.ground.errors import EyeError
from tissue.paper.teach_page import teach_page
from tissue.rounds.cases import Case, cases_of, each_with_other, published_cases
from tissue.rounds.kinds import round_of
from tissue.rounds.question import Question, kinds
from tissue.screens.desk.dialogs import FILE_MB
from tissue.screens.desk.link import PDF, File, NotMade, hand
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.press import pressed
from tissue.screens.desk.state import SIDES, day, demo_files, desk
from tissue.screens.fields.own_fields import Cell, own_fields
from tissue.screens.html import notes, part, put, strip
from tissue.screens.rounds.record import open_record

INVENTED, PUBLISHED, ON_DESK, FILE = (
    "Invented eyes",
    "Published eyes",
    "The plan on the desk",
    "A plan file of your own",
)
EYES = (INVENTED, PUBLISHED, ON_DESK, FILE)
OF_DESK = "the plan on the desk"
MOST, USUAL = 60, 10
TRIED = 12  # questions offered to a sheet, which takes as many as have room
MOST_SEED = 999_999  # seeds stay short enough to be written on a board
FIELDS = "rounds_fields"
CELLS = (
    Cell("count", f"Questions, 1 to {MOST}", limits=(1, MOST, 1)),
    Cell("seed", "Seed: the same number, the same round", limits=(0, MOST_SEED, 1)),
)
FIRST = {"count": str(USUAL), "seed": "1"}
ACCEPTED = {"count": (1, MOST), "seed": (0, MOST_SEED)}
LEFT_OUT = "Questions that do not fit an eye are left out: none asks about a procedure that this eye does not have."


def setup(session: Any) -> None:
    """The choices of a round, and the button that begins it.

    Args:
        session: Session of the screen.
    """
    put(part("A new round"))
    eyes = _kept(session, "eyes", lambda key: st.segmented_control("Eyes", EYES, selection_mode="multi", key=key))
    cases, said = _cases(session, eyes)
    wanted = _kept(session, "kinds", _kinds)
    texts, faults = own_fields(FIELDS, CELLS, FIRST, _check)
    if said:
        put(strip(*said))
    words = f"Eyes to ask about: {len(cases)}." if cases else "No eye to ask about yet."
    put(notes(words, LEFT_OUT))
    able = bool(cases) and not faults
    if pressed("rounds_begin", "Begin the round", type="primary", disabled=not able) and able:
        questions = round_of(cases, int(texts["seed"]), int(texts["count"]), wanted)
        if questions:
            session.begin(questions, int(texts["seed"]), plan=desk().id if ON_DESK in eyes else "")
            st.rerun()
        put(strip("None of these eyes carries a question of these kinds. Choose other eyes or kinds."))
    _to_teach_from(cases, wanted, texts if not faults else None)
    open_record(session)


def _to_teach_from(cases: list[Case], wanted: list[Any], texts: dict[str, str] | None) -> None:
    """The button that gives out a sheet of questions and one of solutions, made from the choices.

    Args:
        cases, wanted: Cases and ids of kinds.
        texts: number and seed as in the fields; None where one of them cannot be read.
    """
    put(part("A page to teach from"))
    put(notes("Of the eyes, kinds and seed above: one sheet of up to four questions, one of their solutions, A4."))

    def make(_: Desk) -> File:
        if texts is None:
            raise NotMade("Not made: number or seed cannot be read.")
        questions = round_of(cases, int(texts["seed"]), TRIED, wanted)
        title = "; ".join(case.label for case in cases) if len(cases) < 3 else ""
        try:
            page = teach_page(questions, title or "Rounds", str(date.today()), texts["seed"])
        except ValueError as error:
            raise NotMade(f"Not made: {error}.") from None
        return "rounds-teach.pdf", PDF, page

    hand("rounds_teach", "Questions and solutions as PDF", make)


def _kept(session: Any, name: str, draw: Callable[[str], list[Any]]) -> list[Any]:
    """A choice that is kept when the screen is left."""
    key = f"rounds_{name}"
    st.session_state.setdefault(key, session.chosen[name])
    session.chosen[name] = list(draw(key))
    return session.chosen[name]


def _kinds(key: str) -> list[str]:
    titles = {name: f"{kind.group}: {kind.title[0].lower()}{kind.title[1:]}" for name, kind in kinds().items()}
    label = "Kinds of question (none chosen: all of them)"
    return st.multiselect(label, list(titles), format_func=titles.__getitem__, key=key, placeholder="All kinds")


def _check(name: str, text: str) -> Fault | None:
    """The Fault of a field, or None."""
    low, high = ACCEPTED[name]
    words = text.strip()
    if words.isascii() and words.isdigit() and len(words) <= len(str(high)) and low <= int(words) <= high:
        return None
    return Fault(name, as_read(text), f"a whole number, {low} to {high}")


def _cases(session: Any, eyes: list[Any]) -> tuple[list[Case], list[Any]]:
    """The Cases of the chosen sources, and words about those that could not be read."""
    found: list = []
    said: list[str] = []
    if INVENTED in eyes:
        found += _invented()
    if PUBLISHED in eyes:
        found += published_cases()
    if ON_DESK in eyes:
        found += each_with_other(case for side in SIDES for case in _of_desk(side, said))
    if FILE in eyes:
        found += _of_file(session, said)
    return found, said


@cache
def _invented() -> tuple[Case, ...]:
    """Every eye of the demo profiles."""
    files = demo_files().items()
    return tuple(case for name, path in files for case in cases_of(plan_file.read_plan(path), name, "invented"))


def _of_desk(side: str, said: list[Any]) -> list[Case]:
    """One eye of the plan on the desk, as it is now."""
    on_desk = desk()
    if not on_desk.texts.get(side):
        return []
    shown, wrong = on_desk.figures(side)
    if wrong or shown is None:
        faults = "; ".join(fault.text for fault in wrong.values())
        said.append(f"{SIDES[side]} of the plan on the desk is left out: {faults}.")
        return []
    return [Case(on_desk.code or "plan", side, OF_DESK, shown.inputs, shown.comparison)]


def of_desk(question: Question) -> bool:
    """Whether a Question is about an eye of the plan on the desk."""
    return question.eye.endswith(OF_DESK)


def _of_file(session: Any, said: list[Any]) -> list[Case]:
    """The eyes of a plan file; where it cannot be read, those of the last readable one."""
    file = st.file_uploader("A plan file (TOML)", type=["toml"], key="rounds_file", max_upload_size=FILE_MB)
    if file is not None:
        try:
            plan = plan_file.read_plan(file.getvalue(), file.name)
            session.file = file.name, cases_of(plan, file.name.removesuffix(".toml"), "a plan file")
        except plan_file.PlanError as error:
            said += [f"{file.name} was not taken.", *error.lines]
        except EyeError as error:
            said.append(f"{file.name} was not taken: {fault_of(error).text}.")
    name, cases = session.file
    if cases:
        put(notes(f"Taken from {name}: {len(cases)} {'eye' if len(cases) == 1 else 'eyes'}."))
    return list(cases)


def next_seed(seed: int) -> None:
    """Put the next seed into the field, so that the next round has other questions unless the old seed is put back."""
    day().own.setdefault(FIELDS, {})["seed"] = str(min(seed + 1, MOST_SEED))
