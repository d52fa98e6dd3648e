"""The desk: the plan that is being worked on, as it was typed; it outlives a change of screen, not the session."""

from collections import OrderedDict
from dataclasses import dataclass, field

import streamlit as st

from tissue.entry import plan_file
from tissue.entry.readings import read_readings
from tissue.screens.desk.reading import EITHER, REFRACTION, read_fields, shown_eye
from tissue.sources import folder

SIDES = {"OD": "OD (right)", "OS": "OS (left)"}
OTHER = {"OD": "OS", "OS": "OD"}
FIRST_DEMO = "harbour-03_moderate_myopia"
KEPT_RESULTS = 24


@dataclass(eq=False)
class Desk:
    """The plan on the desk.

    code: its pseudonym. texts: by side, what was typed by name. opened: the same as it was opened or saved.
    invented: whether it comes from the demo profiles. side: the eye in the fields. revision: rises whenever the
    fields are filled by the program. last: by side, the Shown of the last valid input. kept: by side, the Shown that
    stands for comparison. text: the file as it was opened, for its comments; a demo profile's speak of an
    invented eye and are not kept. readings: by side, what was written of each reading. agreed: what was asked about
    and is right. view, meridian, angle, both: what is drawn.
    """

    code: str = ""
    text: str = ""
    texts: dict = field(default_factory=dict)
    opened: dict = field(default_factory=dict)
    opened_code: str = ""
    readings: dict = field(default_factory=dict)
    opened_readings: dict = field(default_factory=dict)
    invented: bool = False
    side: str = "OD"
    revision: int = 0
    sequence: int = 0
    last: dict = field(default_factory=dict)
    kept: dict = field(default_factory=dict)
    results: OrderedDict = field(default_factory=OrderedDict)
    agreed: set = field(default_factory=set)
    view: str = "flattened"
    meridian: str = "horizontal"
    angle: int = 45
    both: bool = False

    def open(self, plan, code, invented=False):
        """Put a plan on the desk.

        Args:
            plan: Plan as read from a file.
            code: what to call it where the file has no code.
            invented: whether it is a demo profile.
        """
        self.code = self.opened_code = plan.code or code
        self.text = "" if invented else plan.text
        self.texts = {side: dict(typed) for side, typed in plan.typed.items()}
        self.opened = {side: dict(typed) for side, typed in plan.typed.items()}
        self.readings = {side: [dict(one.typed) for one in found] for side, found in plan.readings.items()}
        self.opened_readings = dict(self.readings)
        self.invented = invented
        self.side = "OD" if "OD" in self.texts else "OS"
        self.last, self.kept = {}, {}
        self.revision += 1

    def edit(self, entry):
        """Take over what stands in the fields.

        Args:
            entry: side, revision, sequence, texts by name, the spelling of the refraction that was edited last
                (`text` or `numbers`), and the name of the field edited last.
        """
        if entry["revision"] != self.revision or entry["side"] != self.side:
            return
        given = {name: text for name, text in entry["texts"].items() if text.strip()}
        for name in ("refraction",) if entry["spelling"] == "numbers" else REFRACTION:
            given.pop(name, None)
        if entry["last"] in EITHER and entry["last"] in given:
            given.pop(EITHER[entry["last"]], None)
        self.sequence = entry["sequence"]
        self.replace(self.side, given)

    def replace(self, side, texts):
        """Put other texts into one eye; the first change of an invented plan makes it a copy."""
        if texts == self.texts.get(side, {}):
            return
        self.texts[side] = texts
        self._now_a_copy()

    def change_readings(self, side, typed):
        """Put other readings to one eye; the first change of an invented plan makes it a copy."""
        self.readings = self.readings | {side: typed}
        self._now_a_copy()

    def _now_a_copy(self):
        if self.invented and self.code == self.opened_code:
            self.code = f"{self.opened_code}-copy"

    def figures(self, side):
        """The Shown of one eye (None where nothing valid was ever there), and the Faults of what stands there now."""
        texts = self.texts.get(side, {})
        key = (side, tuple(sorted(texts.items())))
        if key not in self.results:
            self.results[key] = shown_eye(texts, side)
            if len(self.results) > KEPT_RESULTS:
                self.results.popitem(last=False)
        shown, wrong = self.results[key]
        if shown is not None:
            self.last[side] = shown
        return self.last.get(side), wrong

    @property
    def changed(self):
        """Whether something differs from what was opened or saved."""
        return self.texts != self.opened or self.readings != self.opened_readings

    def as_file(self):
        """The text of the plan file; what was typed stays as typed."""
        eyes = {side: read_fields(texts)[0] for side, texts in self.texts.items() if texts}
        readings = {side: read_readings(list(typed), {})[0] for side, typed in self.readings.items() if typed}
        return plan_file.dumps(plan_file.Plan(self.code, eyes, self.texts, self.text, readings=readings))

    def saved(self):
        """Note that what stands here is what was saved."""
        self.opened = {side: dict(texts) for side, texts in self.texts.items()}
        self.opened_readings = dict(self.readings)

    def reset(self):
        """Go back to what was opened or saved last."""
        self.texts = {side: dict(texts) for side, texts in self.opened.items()}
        self.code, self.last, self.readings = self.opened_code, {}, dict(self.opened_readings)
        self.revision += 1

    def look_at(self, side):
        """Bring another eye into the fields."""
        if side != self.side:
            self.side = side
            self.revision += 1

    def keep(self, shown):
        """Keep a Shown of this eye for comparison, or none."""
        if shown is None:
            self.kept.pop(self.side, None)
        else:
            self.kept[self.side] = shown

    def question(self):
        """What must be asked where everything but the refraction is the same in both eyes; empty where nothing is."""
        eyes = [read_fields(self.texts.get(side, {})) for side in SIDES]
        if any(wrong for _, wrong in eyes) or self._agreement() in self.agreed:
            return ""
        right, left = ({k: v for k, v in values.items() if k not in REFRACTION} for values, _ in eyes)
        refractions = [[values.get(name) for name in REFRACTION] for values, _ in eyes]
        if right != left or refractions[0] == refractions[1]:
            return ""
        return "The two eyes have unlike refractions, and everything else is the same in both. Is that right?"

    def agree(self):
        """What was asked is right; it is not asked again for these plans."""
        self.agreed.add(self._agreement())

    def _agreement(self):
        return tuple(tuple(sorted(self.texts.get(side, {}).items())) for side in SIDES)

    def copy_to_other(self):
        """Put what stands in this eye into the other one as well."""
        self.replace(OTHER[self.side], dict(self.texts.get(self.side, {})))


def demo_files():
    """The demo profiles by name; empty where they are not there."""
    return {path.stem: path for path in sorted(folder("demo_profiles").glob("*.toml"))}


def open_demo(desk, name):
    """Put a demo profile on the desk."""
    desk.open(plan_file.read_plan(demo_files()[name]), name, invented=True)


def desk():
    """The desk of this session; a new one opens on the first demo profile."""
    if "desk" not in st.session_state:
        made = Desk()
        if FIRST_DEMO in demo_files():
            open_demo(made, FIRST_DEMO)
        st.session_state["desk"] = made
    return st.session_state["desk"]
