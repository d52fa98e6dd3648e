"""What stands on every screen for the desk: the link that the page speaks through, and what the figures stand for."""

import json
from collections.abc import Callable, Iterable
from typing import Any

import streamlit as st

from tissue.entry import plan_file
from tissue.entry.fields import fields
from tissue.entry.file_name import file_name
from tissue.entry.notation import write
from tissue.ground.errors import EyeError
from tissue.screens.desk.machine import machine_errors
from tissue.screens.desk.moves import put_moment
from tissue.screens.desk.press import note
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import ACTS, LINK, NOT_TAKEN, SIDES, Day, Desk, Made, day
from tissue.screens.parts.component import component, text

HTML = """
<div class="tissue-link">
  <p class="said" role="alert" hidden></p>
  <div class="gone" role="alert" hidden>
    <p></p><button type="button">put it back on the desk</button><button type="button">save it as a file</button>
  </div>
</div>
"""
FOR = '<div class="tissue-for" role="status"></div>'
HAND = '<div class="tissue-hand"><button type="button"></button></div>'
LOST = "The server no longer holds what stood on this desk: it was started anew, or twelve hours have passed."
LEFT = "That file cannot be made any more: the screen it belongs to was left. Please ask for it there again."
GONE = "That file was not made: what it would hold is no longer on the screen."
MAKERS, CLICKED, FIRST = "makers", "clicked", "shown_first"
File = tuple[str, str, bytes]  # name, kind, content
PDF, CSV, TOML, ZIP, JSON = "application/pdf", "text/csv", "application/toml", "application/zip", "application/json"


class NotMade(Exception):
    """Why a file cannot be made now, in words."""


def link(screen: str = "") -> None:
    """Where the page speaks to the desk: drawn before anything else on every screen.

    Args:
        screen: name of the screen that is drawn.
    """
    own = day()
    file = own.made[0] if own.made else None
    head = {
        "desk": own.name,
        "screen": screen,
        "at": own.at,
        "asked": own.asked,
        "gone": own.gone,
        "lost": LOST if own.gone else "",
        "answered": own.answered,
        "unsaved": bool(own.unsaved),
        "asks": bool(own.asking) or _asks(own, file),  # a dialog may have noted something
        "said": own.said,
        "file": {"number": file.number, "name": file.name, "kind": file.kind} if file else None,
    }
    data = json.dumps(head).encode() + b"\n" + (file.content if file else b"")
    said = component("link", HTML, "parts/link/link.js", css=text("parts/link/link.css"))(
        key=LINK, data=data, on_said_change=_heard
    ).said
    st.session_state.pop(FIRST, None)  # the screen that comes now names its own
    if said and said["desk"] not in (own.name, own.asked):
        day()
        st.rerun()  # a page that is older than this session has named its desk


def _asks(own: Day, file: Made | None) -> bool:
    """Whether *new patient* would ask first. What a file on its way holds is saved: the page says that it has it before
    anything that is asked for after."""
    on_desk = own.desk
    saves = file is not None and (file.plan, file.snapshot) == (on_desk.id, on_desk.snapshot()) and not on_desk.begun
    return on_desk.unsaved and not on_desk.empty and not saves


def _heard() -> None:
    """The page has told something: it is taken over, and what is shown first is worked out before anything is sent.

    Else the browser would be busy with the little that is sent before it when it comes.
    """
    own = day()
    work_out = st.session_state.get(FIRST)
    if work_out:
        work_out(own.desk)


def shown_first(work_out: Callable[[Desk], None]) -> None:
    """Name what a screen shows first after a change.

    Args:
        work_out: works it out for a Desk and keeps it, so that the screen has it when it comes to it; it sends nothing.
    """
    st.session_state[FIRST] = work_out


def shown_up_to() -> None:
    """At the end of every screen: up to which entry it shows the figures, and for what they stand."""
    own = day()
    if own.awaits is not None:
        own.awaits, own.said = None, GONE
        st.rerun()
    on_desk = own.desk
    one, wrong = on_desk.figures(on_desk.side)
    data = {
        "desk": own.name,
        "answered": own.answered,
        "wrong": bool(wrong) and one is not None,
        "words": _stands_for(on_desk, one),
        "plan": {
            "id": on_desk.id,
            "side": on_desk.side,
            "code": on_desk.code,
            "name": file_name(on_desk.code, ".toml"),
            "text": _text(on_desk),
        },
    }
    component("shown", FOR, "parts/link/shown.js")(key="shown", data=data)
    on_desk.shown()


def _text(on_desk: Desk) -> str:
    """The plan file as far as it can be read, written once for what stands there."""
    key = on_desk.snapshot(), tuple(machine_errors().values.items())
    if on_desk.filed[0] != key:
        on_desk.filed = (key, on_desk.as_file())
    return on_desk.filed[1]


def _stands_for(on_desk: Desk, one: Shown | None) -> str:
    """For what the figures stand, in words."""
    if one is None:
        return ""
    measured = one.comparison.measured
    return f"figures for {on_desk.side} {write(measured.sphere_D, measured.cylinder_D, measured.axis_deg)[0]}"


def hand(key: str, label: str, make: Callable[[Desk], File], help: str = "", of_screen: bool = False) -> None:
    """A button that hands over a file, made from what stands on the desk when it is clicked.

    Args:
        key: its name on the screen. label: what stands on it. help: more words about it.
        make: gives the file's name, its kind and its bytes, from the Desk; raises NotMade.
        of_screen: the file holds what the screen has worked out from its own fields: it is made when the screen comes
            to this button again, by what then stands in them.
    """
    st.session_state.setdefault(MAKERS, {})[key] = None if of_screen else make
    own = day()
    with own.turn:  # a run that begins meanwhile waits at its link, and finds the file
        made = _make_awaited(own, key, make)
    if made:
        st.rerun()  # the link, which stands above, hands it over
    component("hand", HAND, "parts/link/hand.js")(key=f"hand-{key}", data={"file": key, "label": label, "help": help})


def _make_awaited(own: Day, key: str, make: Callable[[Desk], File]) -> bool:
    """Make the file that waits for this button; returns whether one did."""
    entry = own.awaits
    if entry is None or entry["file"] != key:
        return False
    own.awaits = None
    try:
        _make(own, entry, make)
    except BaseException as stopped:
        if not isinstance(stopped, Exception):
            own.awaits = entry  # the run was stopped in the middle: the next one makes it
        raise
    return True


def sound(on_desk: Desk, sides: Iterable[str] = SIDES) -> dict[str, Shown]:
    """The Shown of each eye that has something in it, for a file.

    Raises:
        NotMade: a field cannot be read, or nothing is there: the file could not be made again from its plan.
    """
    eyes = {side: on_desk.figures(side) for side in sides if on_desk.texts.get(side)}
    lines = [f"{side}: {fault.text}" for side, (_, wrong) in eyes.items() for fault in wrong.values()]
    if lines:
        raise NotMade(f"Not made, for a field cannot be read: {'; '.join(lines)}.")
    if not eyes:
        raise NotMade("Not made: nothing stands on this desk yet.")
    return {side: shown for side, (shown, _) in eyes.items() if shown is not None}


def act(key: str, label: str, name: str, help: str = "", more: dict[str, Any] | None = None) -> None:
    """A button that asks something of the desk, after all that was typed. Arguments as in `hand`; name: in ACTS."""
    component("hand", HAND, "parts/link/hand.js")(
        key=f"act-{key}", data={"act": name, "more": more or {}, "label": label, "help": help}
    )


def _file(own: Day, entry: dict[str, Any]) -> None:
    """Make a file and keep it until the browser has it."""
    makers = st.session_state.get(MAKERS, {})
    if entry["file"] not in makers:
        own.said = LEFT
    elif makers[entry["file"]] is None:
        own.awaits = entry
    else:
        _make(own, entry, makers[entry["file"]])


def _make(own: Day, entry: dict[str, Any], make: Callable[[Desk], File]) -> None:
    """Make a file and keep it; why it is not made is said."""
    try:
        name, kind, content = make(own.desk)
    except NotMade as error:
        own.said = str(error)
        return
    except EyeError as error:  # what a page cannot print
        own.said = f"Not made: {error}."
        return
    stem, _, ending = name.rpartition(".")
    name = file_name(stem, f".{ending}")  # every file goes out through here, by a name that is harmless in any folder
    saves = (own.at, own.desk.snapshot()) if entry["file"] == SAVE else ("", None)
    own.made.append(Made(entry["number"], name, kind, content, *saves))


SAVE = "save"


def _got(own: Day, entry: dict[str, Any]) -> None:
    """The browser has a file: it need not be kept any longer, and what it held is saved."""
    for one in [made for made in own.made if made.number == entry["file"]]:
        own.made.remove(one)
        if one.plan in own.plans:
            own.plans[one.plan].saved(one.snapshot)


def _restore(own: Day, entry: dict[str, Any]) -> None:
    """What a page still showed of a desk that is not remembered: its plan, and what was typed into it after.

    It comes beside whatever was put on the desk since; only an empty plan gives its place. It comes once.
    """
    if not own.gone:
        return
    made = Desk()
    try:
        made.open(plan_file.read_plan(entry["text"].encode()), "")
    except plan_file.PlanError as error:
        own.said = " ".join(error.lines)
        return
    made.opened, made.opened_code = {}, ""
    for one in (one for one in entry["edits"] if "act" not in one and one["plan"] == entry["of"]):
        if one["name"] in fields() or one["name"] == "code":
            made.edit(one["side"], one["name"], one.get("text", ""), one.get("step", 0))
        else:
            made.own.setdefault(one["form"], {})[one["name"]] = one.get("text", "")
    if any("act" not in one and one["plan"] not in ("", entry["of"]) for one in entry["edits"]):
        own.said = NOT_TAKEN
    made.look_at(entry["side"])
    own.gone = False
    if own.desk.empty:
        own.put(made)
    else:
        own.add(made)


def _new(own: Day, entry: dict[str, Any]) -> None:
    """A new patient; a plan that was changed and not saved is asked about first."""
    if own.desk.unsaved and not own.desk.empty:
        own.asking = "new", own.at, own.desk.side, bool(entry.get("listed"))
    else:
        own.new_patient(bool(entry.get("listed")), entry.get("begins", ""))


def _leave(own: Day, entry: dict[str, Any]) -> None:
    """What was answered to the question about changes: the plan is saved first, dropped, or stays on the desk."""
    own.asking = ()
    if entry["how"] == "stay" or entry.get("plan", own.at) != own.at:
        return
    if entry["how"] == "save":
        before = len(own.made)
        _file(own, entry | {"file": SAVE})
        if len(own.made) == before:
            return
    own.new_patient(entry["listed"], entry.get("begins", ""))


def _step(own: Day, entry: dict[str, Any]) -> None:
    own.step(entry["by"])


def _goes_on(own: Day, entry: dict[str, Any]) -> None:
    """The list goes on working its rows out."""


def _open(own: Day, entry: dict[str, Any]) -> None:
    """One eye of the list is opened on Plan."""
    if entry["plan"] in own.plans:
        own.look_at(entry["plan"])
        own.desk.look_at(entry["side"])
        own.going = True


def _eye(own: Day, entry: dict[str, Any]) -> None:
    """An eye of a plan comes into its fields."""
    if entry["plan"] in own.plans and entry["side"] in SIDES:
        own.plans[entry["plan"]].look_at(entry["side"])


def _undo(own: Day, entry: dict[str, Any]) -> None:
    """The last drag of the plan that was shown is taken back."""
    plan = own.plans.get(entry.get("plan", own.at))
    if plan is not None:
        plan.moves.take_back(plan, entry.get("drag", ""))


def _moment(own: Day, entry: dict[str, Any]) -> None:
    """The cuts were played and stopped."""
    if entry["plan"] in own.plans:
        put_moment(own.plans[entry["plan"]], entry["side"], float(entry["seconds"]))


def _click(own: Day, entry: dict[str, Any]) -> None:
    """A point of a picture was clicked: the screen that shows it moves the plan there, if it is still that plan."""
    plan = own.plans.get(entry["plan"])
    if plan is own.desk and plan.side == entry["side"]:
        place = dict(zip(entry["inputs"], (entry["x"], entry["y"]), strict=True))
        note(CLICKED, (plan.id, plan.side, place))


def _keep_start(own: Day, entry: dict[str, Any]) -> None:
    """Where the drag began is kept beside where it is now."""
    plan = own.plans.get(entry.get("plan", own.at))
    if plan is not None:
        plan.moves.keep_start(plan, entry.get("drag", ""))


ACTS |= {
    "undo": _undo,
    "keep_start": _keep_start,
    "click": _click,
    "moment": _moment,
    "file": _file,
    "got": _got,
    "restore": _restore,
    "new": _new,
    "leave": _leave,
    "step": _step,
    "open": _open,
    "eye": _eye,
    "more": _goes_on,
}
