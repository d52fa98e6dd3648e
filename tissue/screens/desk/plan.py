"""The plan of one patient as it was typed: its eyes, the values read from them, and every way to change it."""

import secrets
from collections import OrderedDict
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from tissue.entry import plan_file
from tissue.entry.checks import Fault
from tissue.entry.fields import groups
from tissue.entry.own_map.names import MAPS
from tissue.entry.plan_file import Plan
from tissue.entry.plan_text import ended
from tissue.entry.readings import read_readings
from tissue.entry.typed import EITHER, REFRACTION, WRITTEN, read_fields
from tissue.ground.errors import EyeError
from tissue.ground.sources import folder
from tissue.ground.vocabulary import least_written
from tissue.screens.desk import reading
from tissue.screens.desk.machine import machine_errors, with_own
from tissue.screens.desk.moves import Moves
from tissue.screens.desk.reading import Shown, shown_eye

Snapshot = tuple[str, bool, dict[str, Any], dict[str, Any], dict[str, Any] | None]  # as Desk.snapshot gives it
SIDES = {"OD": "OD (right)", "OS": "OS (left)"}
OTHER = {"OD": "OS", "OS": "OD"}
FIRST_DEMO = "harbour-03_moderate_myopia"
KEPT_RESULTS, MOST_RESULTS, LEFT_RESULTS = 24, 48, 2
LONGEST_CODE = 60
BEGUN = "reading_"  # with the side behind it: the form of a reading that is typed and not put in yet
KB = 1000
OF_ONE_EYE = (*groups()["later"], *MAPS)  # not copied to the other eye: a map, and what happened to one eye


@dataclass(eq=False)
class Desk:
    """The plan of one patient: what it holds, what the screens show of it, and what was worked out once.

    It holds code: the pseudonym. texts: by side, what was typed, by name of the field. readings: by side, what was
    written of each reading. readback: what the last read-back said, None where there was none. text: the file as it
    was opened, for its comments; those of a demo profile speak of an invented eye and are not kept. invented: whether
    it is a demo profile. opened, opened_code, opened_readings, opened_readback: the same when last opened or saved.

    The screens use id: the plan's name in the messages of the page. side: the eye in the fields. revision: rises when
    the program fills the fields, so that the page takes over its texts. view, meridian, angle, both: what is drawn.
    last: by side, the Shown of the last valid input; good: by side, its texts. kept: by side, the Shown that a later
    plan is compared with. own: by form, what was typed into fields that are no part of the plan. agreed: what the user
    was asked and confirmed. moves: the drags that can be taken back. maps_before: the side whose maps were changed
    last, and the maps that it had before; empty where none was.

    Worked out once are results and reads: for each state of an eye, its figures and its values. filed: the last
    snapshot and its file. cells: by side, the row of the list, with the state that it was worked out for.
    """

    code: str = ""
    text: str = ""
    texts: dict[str, dict[str, Any]] = field(default_factory=dict)
    opened: dict[str, dict[str, Any]] = field(default_factory=dict)
    opened_code: str = ""
    readings: dict[str, Any] = field(default_factory=dict)
    opened_readings: dict[str, Any] = field(default_factory=dict)
    readback: dict | None = None
    invented: bool = False
    opened_invented: bool = False
    side: str = "OD"
    revision: int = 0
    last: dict[str, Shown] = field(default_factory=dict)
    good: dict[str, dict[str, Any]] = field(default_factory=dict)
    kept: dict[str, Shown] = field(default_factory=dict)
    own: dict[str, Any] = field(default_factory=dict)
    results: OrderedDict = field(default_factory=OrderedDict)
    reads: OrderedDict = field(default_factory=OrderedDict)
    agreed: set = field(default_factory=set)
    opened_readback: dict | None = None
    view: str = "flattened"
    meridian: str = "horizontal"
    angle: int = 45
    both: bool = False
    filed: tuple[Any, str] = (None, "")
    cells: dict[str, tuple[tuple[Any, ...], list[str]]] = field(default_factory=dict)
    moves: Moves = field(default_factory=Moves)
    maps_before: tuple[Any, ...] = ()
    id: str = field(default_factory=partial(secrets.token_hex, 6))

    def open(self, plan: Plan, code: str, invented: bool = False) -> None:
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
        self.readback = self.opened_readback = plan.readback
        self.invented = self.opened_invented = invented
        self.side = "OD" if "OD" in self.texts else "OS"
        self.last, self.good, self.kept, self.own = {}, {}, {}, {}
        self.moves, self.maps_before = Moves(), ()
        self.revision += 1

    def edit(self, side: str, name: str, text: str = "", step: int = 0) -> None:
        """Take over one field as it was typed; an empty text is not given.

        A refraction can be written in one text or as three numbers, and the spelling that was edited last holds: an
        edited number changes the refraction that was written, never an older one. In the same way either the radius or
        the mean K of the cornea holds.

        Args:
            side: OD or OS. name: the field, or `code`. text: what stands in it.
            step: in place of the text, how many steps of the field its value goes up or down.
        """
        if name == "code":
            self._rename(text)
            return
        texts = dict(self.texts.get(side, {}))
        if name in REFRACTION and "refraction" in texts:
            texts = self._as_numbers(side, texts)
        if step:
            text = reading.stepped(name, texts.get(name, ""), step)
        if text.strip() or name == "refraction":
            others = REFRACTION if name == "refraction" else (EITHER.get(name),)
            texts = {one: typed for one, typed in texts.items() if one not in others}
        texts.pop(name, None)
        self.replace(side, texts | ({name: text} if text.strip() else {}))

    def take_back(self, side: str) -> None:
        """Put the last refraction back that could be read in this eye; leave none where there was none."""
        self.replace(side, _with_good(self.texts.get(side, {}), {WRITTEN}, self.good.get(side, {})))

    def _as_numbers(self, side: str, texts: dict[str, Any]) -> dict[str, Any]:
        """The texts with the written refraction as three numbers; if it cannot be read, the numbers shown last."""
        values, _ = read_fields({"refraction": texts["refraction"]}, side)
        if "sphere_D" not in values and side in self.last:
            values = self.last[side].inputs.values
        rest = {name: text for name, text in texts.items() if name != "refraction"}
        return rest | {name: reading.number_text(name, values[name]) for name in REFRACTION if name in values}

    def _rename(self, code: str) -> None:
        """Give the plan another pseudonym; an invented plan is then one of the user's own."""
        code = code.strip()[:LONGEST_CODE]
        if code != self.code:
            self.code, self.invented = code, False

    def replace(self, side: str, texts: dict[str, Any]) -> None:
        """Put other texts into one eye; the first change of an invented plan makes it a copy."""
        if texts == self.texts.get(side, {}):
            return
        self.texts[side] = texts
        self._now_a_copy()

    def put_texts(self, side: str, texts: dict[str, Any]) -> None:
        """Put other texts into one eye, of a letter or of the other eye; no drag before is taken back over them."""
        before = self.texts.get(side, {})
        self.replace(side, texts)
        self.moves.forget(side, {name for name in before | texts if before.get(name) != texts.get(name)})
        self.revision += 1

    def put_maps(self, side: str, maps: dict[str, Any]) -> None:
        """Put maps of its own into one eye, confirmed on their picture, and keep those it had before.

        Args:
            side: OD or OS. maps: by name, WrittenMap of that side, or None for one that is taken out.
        Raises:
            EyeError: the plan with them would be too large a file to be opened again; nothing is changed.
        """
        texts = self.texts.get(side, {})
        confirmed = {name: replace(one, confirmed=True) for name, one in maps.items() if one is not None}
        changed = {name: text for name, text in texts.items() if name not in maps} | confirmed
        if confirmed:
            self.file_bytes(self.texts | {side: changed})
        if changed == texts:
            return
        self.maps_before = side, {name: texts[name] for name in MAPS if name in texts}
        self._change_maps(side, changed)

    def put_maps_back(self) -> None:
        """The maps are again those before the last change of them; nothing happens where there was none."""
        if not self.maps_before:
            return
        side, maps = self.maps_before
        self.maps_before = ()
        rest = {name: text for name, text in self.texts.get(side, {}).items() if name not in MAPS}
        self._change_maps(side, rest | maps)

    def _change_maps(self, side: str, texts: dict[str, Any]) -> None:
        """Put texts with other maps into one eye, and forget its last figures: they were worked out on the old maps."""
        self.replace(side, texts)
        self.last.pop(side, None)
        self.revision += 1

    def change_readings(self, side: str, typed: list[dict[str, str]]) -> None:
        """Put other readings to one eye; the first change of an invented plan makes it a copy."""
        self.readings = self.readings | {side: typed}
        self._now_a_copy()

    def _now_a_copy(self) -> None:
        if self.invented and not self.code.endswith("-copy"):
            self.code = f"{self.code}-copy"

    def figures(self, side: str) -> tuple[Shown | None, dict[str, Fault]]:
        """The Shown of one eye (None where nothing valid was ever there), and the Faults of what is typed now.

        While a field cannot be read, its last good text is used in its place, so that the other fields still count.
        """
        texts = self.texts.get(side, {})
        shown, wrong = self._worked_out(side, texts)
        if wrong and side in self.good:
            shown, left = self._worked_out(side, _with_good(texts, wrong, self.good[side]))
            if left:
                shown = None
        if shown is not None:
            self.last[side], self.good[side] = shown, shown.texts
        return self.last.get(side), wrong

    def _worked_out(self, side: str, texts: dict[str, Any]) -> tuple[Shown | None, dict[str, Fault]]:
        """The Shown of these texts, or None, and their Faults; worked out once for each state."""
        key = (side, tuple(sorted(texts.items())), tuple(machine_errors().values.items()))
        if key not in self.results:
            self.results[key] = shown_eye(texts, side, self._read)
            self._keep(MOST_RESULTS)
        return self.results[key]

    def read(self, side: str) -> tuple[dict[str, float], dict[str, Fault]]:
        """Values and Faults of what is typed for one eye, as `read_fields` gives them; each state is read once."""
        return self._read(self.texts.get(side, {}), side)

    def _read(self, texts: dict[str, Any], side: str) -> tuple[dict[str, Any], dict[str, Fault]]:
        key = (side, tuple(sorted(texts.items())))
        if key not in self.reads:
            self.reads[key] = read_fields(texts, side)
            if len(self.reads) > KEPT_RESULTS:
                self.reads.popitem(last=False)
        return self.reads[key]

    def shown(self) -> None:
        """Drop older results once the screen is drawn: that takes too long to be done while a key press waits."""
        self._keep(KEPT_RESULTS)

    def rest(self) -> None:
        """Drop all results but those looked at last when the user leaves this plan for another."""
        self._keep(LEFT_RESULTS)

    def _keep(self, number: int) -> None:
        """Keep this number of results, the newest ones."""
        while len(self.results) > number:
            self.results.popitem(last=False)

    @property
    def changed(self) -> bool:
        """Whether something differs from what was opened or saved."""
        return self.code != self.opened_code or not self.as_opened

    @property
    def begun(self) -> list[str]:
        """The sides for which a reading was typed but not put in yet; no file holds it."""
        return [side for side in SIDES if any(text.strip() for text in self.own.get(f"{BEGUN}{side}", {}).values())]

    @property
    def unsaved(self) -> bool:
        """Whether something would be lost with the plan."""
        return self.changed or bool(self.begun)

    @property
    def as_opened(self) -> bool:
        """Whether everything but the code is as it was opened or saved."""
        given, opened = ({side: one for side, one in of.items() if one} for of in (self.texts, self.opened))
        more, before = (self.readings, self.readback), (self.opened_readings, self.opened_readback)
        return given == opened and more == before

    def as_file(self, texts: dict[str, Any] | None = None) -> str:
        """The text of the plan file, every value as it was typed. texts: by side, in place of those of the plan."""
        texts = self.texts if texts is None else texts
        eyes = {side: with_own(self._read(typed, side)[0]) for side, typed in texts.items() if typed}
        readings = {side: read_readings(list(typed), {})[0] for side, typed in self.readings.items() if typed}
        plan = plan_file.Plan(self.code, eyes, texts, self.text, readings=readings, readback=self.readback)
        return plan_file.dumps(plan)

    def file_bytes(self, texts: dict[str, Any] | None = None) -> bytes:
        """The bytes of the plan file, as `as_file`.

        Raises:
            EyeError: it would be too large to be opened again.
        """
        data = self.as_file(texts).encode()
        most = plan_file.most_bytes(data)
        if len(data) > most:
            smaller = (
                "fewer comments" if most == plan_file.LARGEST_BYTES else "maps with fewer readings or fewer decimals"
            )
            accepted = f"at most {most / KB:g} kB; {smaller} make it smaller"
            raise EyeError("plan file", f"{least_written(len(data) / KB, 1)} kB", accepted)
        return data

    def snapshot(self) -> Snapshot:
        """Code, whether it is invented, texts, readings and read-back as they are now, to be noted as saved later."""
        texts = {side: dict(texts) for side, texts in self.texts.items()}
        return self.code, self.invented, texts, dict(self.readings), self.readback

    def saved(self, snapshot: Snapshot | None = None) -> None:
        """Note what was saved; whatever was typed after the snapshot counts as a change again."""
        self.text = ended(self.text)
        code, invented, texts, readings, readback = snapshot or self.snapshot()
        self.opened_code, self.opened_invented, self.opened = code, invented, texts
        self.opened_readings, self.opened_readback = readings, readback

    @property
    def empty(self) -> bool:
        """Whether nothing was ever put here."""
        return not self.code and not any(self.texts.values()) and not any(self.readings.values())

    def reset(self) -> None:
        """Go back to what was opened or saved last."""
        self.texts = {side: dict(texts) for side, texts in self.opened.items()}
        self.code, self.invented, self.last, self.good = self.opened_code, self.opened_invented, {}, {}
        self.moves, self.maps_before = Moves(), ()
        self.readings, self.readback = dict(self.opened_readings), self.opened_readback
        self.revision += 1

    def look_at(self, side: str) -> None:
        """Bring another eye into the fields."""
        if side != self.side:
            self.side = side
            self.revision += 1

    def keep(self, side: str) -> None:
        """Keep an eye as it is now for comparison; one that is kept already stays."""
        if side not in self.kept and (shown := self.figures(side)[0]) is not None:
            self.kept[side] = shown

    def drop_kept(self, side: str) -> None:
        """Drop the eye that is kept for comparison."""
        self.kept.pop(side, None)

    def question(self) -> str:
        """The question to ask where both eyes are the same in all but the refraction; empty where there is none."""
        eyes = [self.read(side) for side in SIDES]
        if any(wrong for _, wrong in eyes) or self.asked in self.agreed:
            return ""
        right, left = ({k: v for k, v in values.items() if k not in REFRACTION} for values, _ in eyes)
        refractions = [[values.get(name) for name in REFRACTION] for values, _ in eyes]
        if right != left or refractions[0] == refractions[1]:
            return ""
        return "The two eyes have unlike refractions, and everything else is the same in both. Is that right?"

    def agree(self, asked: Any) -> None:
        """Note that the user confirmed a question: it is not asked again. asked: `Desk.asked` when it was asked."""
        self.agreed.add(asked)

    @property
    def asked(self) -> tuple[tuple[Any, ...], ...]:
        """What a question is about: all texts of both eyes."""
        return tuple(tuple(sorted(self.texts.get(side, {}).items())) for side in SIDES)

    def copy_to_other(self, side: str) -> None:
        """Copy the texts of an eye to the other one, except for what happened to one eye alone."""
        here, there = (self.texts.get(one, {}) for one in (side, OTHER[side]))
        plan = {name: text for name, text in here.items() if name not in OF_ONE_EYE}
        self.put_texts(OTHER[side], plan | {name: there[name] for name in OF_ONE_EYE if name in there})


def _with_good(texts: dict[str, Any], wrong: Collection[str], good: dict[str, Any]) -> dict[str, str]:
    """The texts with the last good text of each wrong field; all spellings of one quantity are replaced together."""
    named: set[str] = set()
    for name in wrong:
        named |= next((set(group) for group in ONE_QUANTITY if name in group), {name})
    rest = {name: text for name, text in texts.items() if name not in named}
    return rest | {name: text for name, text in good.items() if name in named}


ONE_QUANTITY = ((*REFRACTION, WRITTEN), tuple(EITHER))


def demo_files() -> dict[str, Path]:
    """The demo profiles by name; empty where they are not there."""
    return {path.stem: path for path in sorted(folder("demo_profiles").glob("*.toml"))}


def open_demo(desk: Desk, name: str) -> None:
    """Put a demo profile on the desk."""
    desk.open(plan_file.read_plan(demo_files()[name]), name, invented=True)
