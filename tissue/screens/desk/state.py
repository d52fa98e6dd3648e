"""The desk of one page: the plans of its day, the messages of the page, and the server's memory of both.

The page keeps a log of all that was typed and asked for, numbered one after another, and sends what was not yet
answered with every message. Here each entry is taken over once and in its order, so that nothing is lost or taken
twice, and what is asked for is made from what was typed before it. Every message names the desk it is meant for.
"""

import copy
import logging
import re
import secrets
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import partial
from threading import Lock, RLock, Timer
from typing import Any

import streamlit as st
from streamlit.runtime import Runtime, exists
from streamlit.runtime.scriptrunner import get_script_run_ctx

from tissue.entry.fields import fields
from tissue.screens.desk.plan import FIRST_DEMO, OTHER, SIDES, Desk, demo_files, open_demo

__all__ = ["ACTS", "FIRST_DEMO", "OTHER", "SIDES", "Day", "Desk", "day", "demo_files", "desk", "open_demo"]

LINK = "link"  # key of the component through which the page speaks
KEPT_S, IDLE_S = 12 * 3600.0, 600.0  # how long a desk is remembered; how long results worked out for it are
NAMED = re.compile("[0-9a-f]{12}").fullmatch
NOT_TAKEN = "What was typed last was for a patient who is not on this desk: it was not taken."
FAULTY = (
    "What was asked for last was not done, for the tool made a mistake of its own. Please look at what stands here."
)
LOG = logging.getLogger(__name__)
VIEW = ("view", "meridian", "angle", "both")
ACTS: dict[str, Callable] = {}  # acts that the page can ask for, by name: called with the Day and the entry of the log


@dataclass(frozen=True)
class Made:
    """A file on its way to the browser; it is kept until the browser has confirmed it."""

    number: int
    name: str
    kind: str
    content: bytes
    plan: str = ""
    snapshot: tuple | None = None


class Turn:
    """One at a time: a run that a newer one has overtaken goes on beside it until it notices. A copy has its own."""

    def __init__(self) -> None:
        self._lock = RLock()

    def __enter__(self) -> None:
        self._lock.acquire()

    def __exit__(self, *told: object) -> None:
        self._lock.release()

    def __deepcopy__(self, known: dict[int, Any]) -> "Turn":
        return Turn()


@dataclass(eq=False)
class Day:
    """The plans of one page.

    name: a random word that only this page holds. plans: by id, Desk, in the order of the list. at: the one on the
    desk. answered: number of the last entry of the page's log that was taken over. made: files that the browser has not
    yet. awaits: a file asked for that the screen makes when it comes to its button. said: words for the page. asking:
    the dialog that is open, id of the plan and side that it is about, and what else it is told. own: by form, what was
    typed into fields that are no patient's. asked: the name of the desk that the page asked for where it got this one
    instead; gone: whether that one is not remembered. going: whether the screen Plan was asked for. session: who holds
    it. seen: when the page spoke last [s]. turn: who changes a plan has it, so that no other run sees half of the
    change. busy: whether a change is being made.
    """

    name: str = field(default_factory=partial(secrets.token_urlsafe, 18))
    plans: dict[str, Desk] = field(default_factory=dict)
    at: str = ""
    answered: int = 0
    made: list[Made] = field(default_factory=list)
    awaits: dict | None = None
    said: str = ""
    asking: tuple[Any, ...] = ()
    own: dict[str, Any] = field(default_factory=dict)
    asked: str = ""
    gone: bool = False
    going: bool = False
    session: str = ""
    seen: float = field(default_factory=time.monotonic)
    turn: Turn = field(default_factory=Turn)
    busy: bool = False

    @classmethod
    def of(cls, *desks: Desk) -> "Day":
        """A day of these plans, the first one on the desk."""
        return cls(plans={one.id: one for one in desks}, at=desks[0].id)

    @property
    def desk(self) -> Desk:
        """The plan on the desk."""
        return self.plans[self.at]

    @property
    def unsaved(self) -> list[str]:
        """Codes of the plans with something that was not saved."""
        return [one.code or "no code" for one in self.plans.values() if one.unsaved]

    def take(self, message: dict[str, Any]) -> None:
        """Take over the entries of a message that are not known yet.

        Args:
            message: desk: the name of the day it is meant for; log: entries with number and either act, or plan, side,
                form, name and text or step; what belongs to a drag names it.
        """
        with self.turn:
            if self.busy:  # whoever changes something looks at the day: what was said later comes later
                return
            with self.changing():
                for entry in message["log"]:
                    if entry["number"] > self.answered:
                        self._take_one(entry)

    @contextmanager
    def changing(self) -> Iterator["Day"]:
        """Have the turn for a change; what the page says meanwhile is taken over after it. Gives the Day."""
        with self.turn:
            before, self.busy = self.busy, True
            try:
                yield self
            finally:
                self.busy = before

    def _take_one(self, entry: dict[str, Any]) -> None:
        """Take over one entry; where the run is stopped in the middle of it, the next run takes it."""
        before = self.answered, self.said
        self.answered, self.said = entry["number"], ""
        try:
            if "act" in entry:
                ACTS[entry["act"]](self, entry)
            else:
                self._edit(entry)
        except BaseException as stopped:
            if not isinstance(stopped, Exception):
                self.answered, self.said = before
                raise
            LOG.exception("not taken over")
            self.said = FAULTY

    def _edit(self, entry: dict[str, Any]) -> None:
        plan, name = self.plans.get(entry["plan"]), entry["name"]
        if plan is not None and (name in fields() or name == "code"):
            plan.moves.note(plan, entry["side"], name, entry.get("drag", ""))
            plan.edit(entry["side"], name, entry.get("text", ""), entry.get("step", 0))
        elif plan is not None or not entry["plan"]:
            own = self.own if plan is None else plan.own
            own.setdefault(entry["form"], {})[name] = entry.get("text", "")
        else:
            self.said = NOT_TAKEN

    def add(self, made: Desk) -> None:
        """Put one more plan on the list and on the desk; the view stays as it is."""
        if self.at in self.plans:
            for name in VIEW[:3]:
                setattr(made, name, getattr(self.desk, name))
        self.plans[made.id] = made
        self.look_at(made.id)

    def put_all(self, made: list[Desk]) -> None:
        """Add plans to the list; they replace an empty plan, or an unchanged invented one."""
        before = [one.id for one in self.plans.values() if one.empty or (one.invented and not one.unsaved)]
        self.plans |= {one.id: one for one in made}
        if self.at in before:
            self.look_at(made[0].id)
        for plan in before:
            del self.plans[plan]

    def put(self, made: Desk) -> None:
        """Put a plan in the place of the one on the desk."""
        before = self.at
        self.add(made)
        del self.plans[before]

    def look_at(self, plan: str) -> None:
        """Bring another plan of the list onto the desk."""
        if self.at in self.plans and plan != self.at:
            self.desk.rest()
            for name in VIEW[:3]:
                setattr(self.plans[plan], name, getattr(self.desk, name))
        self.at = plan

    def drop(self, plan: str) -> None:
        """Take a plan off the desk and the list; an empty plan takes its place where none is left."""
        ids = list(self.plans)
        at = ids.index(plan)
        del self.plans[plan]
        if plan == self.at:
            left = list(self.plans)
            self.at = left[min(at, len(left) - 1)] if left else ""
        if not self.plans:
            self.add(Desk())

    def new_patient(self, listed: bool = False, name: str = "") -> None:
        """Begin with an empty desk: nothing of the patient before stays, except the plans of a list.

        Args:
            listed: whether the plan before stays in any case. name: the id of the new Desk, where the page has given it
                one and speaks of it already.
        """
        before = self.at
        self.add(Desk(id=name) if NAMED(name) and name not in self.plans else Desk())
        if not listed and not self._is_list(before):
            del self.plans[before]

    def _is_list(self, before: str) -> bool:
        return len(self.plans) > 2 and not self.plans[before].empty

    def step(self, by: int) -> None:
        """The next plan of the list, or the one before."""
        ids = list(self.plans)
        self.look_at(ids[(ids.index(self.at) + by) % len(ids)])


class Memory:
    """The desks of this server by name, in its memory alone."""

    def __init__(self) -> None:
        self._days: dict[str, Day] = {}
        self._lock = Lock()

    def keep(self, own: Day) -> None:
        """Remember a day; days not seen for long are given up."""
        with self._lock:
            if not self._days:
                self._sweep_later()
            self._days[own.name] = own

    def sweep(self, now: float) -> None:
        """Give up days that were not seen for long, without waiting for the next visitor.

        Args:
            now: on the clock of `seen` [s].
        """
        with self._lock:
            for name, one in list(self._days.items()):
                if now - one.seen > KEPT_S:
                    del self._days[name]
                elif now - one.seen > IDLE_S:
                    for plan in one.plans.values():
                        plan.results.clear()
            if self._days:
                self._sweep_later()

    def _sweep_later(self) -> None:
        timer = Timer(IDLE_S, lambda: self.sweep(time.monotonic()))
        timer.daemon = True
        timer.start()

    def find(self, name: str, session: str) -> Day | None:
        """The day of that name, or None; a copy under another name where another open page holds it already."""
        with self._lock:
            found = self._days.get(name)
        if found is None or not _held(found.session, session):
            return found
        with found.turn:
            made = copy.deepcopy(found)
        return replace(made, name=secrets.token_urlsafe(18), made=[], asked=name, asking=(), awaits=None)

    def forget(self, name: str) -> None:
        """Forget a day."""
        with self._lock:
            self._days.pop(name, None)


MEMORY = Memory()


def _held(holder: str, session: str) -> bool:
    """Whether another open page holds it."""
    return holder not in ("", session) and exists() and Runtime.instance().is_active_session(holder)


def _session() -> str:
    context = get_script_run_ctx()
    return context.session_id if context else ""


def day() -> Day:
    """The day of this page, with all messages of the page taken over; a new day opens on the first demo profile."""
    message = (st.session_state.get(LINK) or {}).get("said")
    own = st.session_state.get("day")
    if own is None:
        own = _begin(Day.of(_first()))
    if message and message["desk"] and message["desk"] != own.name:
        own = _rejoin(own, message)
    if message and message["desk"] == own.name:
        own.take(message)
    own.seen = time.monotonic()
    return own


def _rejoin(own: Day, message: dict[str, Any]) -> Day:
    """The day that the page names; where it is not remembered, an empty one that says so."""
    if own.asked == message["desk"]:
        return own
    found = MEMORY.find(message["desk"], _session())
    MEMORY.forget(own.name)
    return _begin(found or replace(Day.of(Desk()), asked=message["desk"], gone=True))


def _begin(own: Day) -> Day:
    own.session = _session()
    MEMORY.keep(own)
    st.session_state["day"] = own
    return own


def _first() -> Desk:
    made = Desk()
    if FIRST_DEMO in demo_files():
        open_demo(made, FIRST_DEMO)
    return made


def after_told(act: Callable[..., Any]) -> Callable[..., None]:
    """An act of a widget, done after all messages of the page are taken over: both may come together.

    Args:
        act: what the widget does; it gets the Desk that the widget was drawn for, because another may be there by now.
    """

    def acted(*told: Any) -> None:
        with day().changing():
            act(*told)

    return acted


def desk() -> Desk:
    """The plan on the desk, with everything typed so far."""
    return day().desk
