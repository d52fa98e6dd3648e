"""A day at the desk as a walk of its own: patients opened, changed and printed in random order, beside a plain model.

The model is what was typed, by patient and side. Every print and every saved plan is read back: the plan inside is the
model's of that patient, the page byte for byte the command's.
"""

import random

from acts import choose, field, go, idle
from hurry import button, plan_inside, same_as_command, saved_by
from playwright.sync_api import expect

from tissue.entry import plan_file
from tissue.entry.typed import read_fields

WORDS = {"OD": "OD (right)", "OS": "OS (left)"}
LOOKED_AT = "(wanted) => document.querySelector('.tissue-fields').dataset.plan.endsWith(wanted)"


class Clinic:
    """The page, the model, and the patient and side that are looked at."""

    def __init__(self, page, folder, patients, seed):
        self.page, self.folder, self.chance = page, folder, random.Random(seed)
        self.typed = {f"clinic-{number:02d}": self._first() for number in range(patients)}
        self.codes, self.at, self.side = list(self.typed), 0, "OD"
        self.sides = dict.fromkeys(self.codes, "OD")
        self.prints, self.done = 0, []

    def _refraction(self):
        return f"{-self.chance.randint(100, 800) / 100:+.2f} -0.75 x {self.chance.randint(1, 180)}"

    def _first(self):
        return {
            side: {"refraction": self._refraction(), "central_thickness_um": str(self.chance.randint(520, 600))}
            for side in WORDS
        }

    @property
    def code(self):
        """The patient that is looked at."""
        return self.codes[self.at]

    def begin(self):
        """All plans are opened on the list, the first is looked at on Plan."""
        for code, eyes in self.typed.items():
            plan = plan_file.Plan(code, {side: read_fields(texts, side)[0] for side, texts in eyes.items()}, eyes)
            (self.folder / f"{code}.toml").write_text(plan_file.dumps(plan), "utf-8")
        go(self.page, "List")
        files = sorted(self.folder.glob("clinic-*.toml"))
        self.page.locator("input[type=file]").first.set_input_files(files)
        expect(self.page.locator(".tissue-day tbody tr")).to_have_count(2 * len(files), timeout=60000)
        idle(self.page)
        self.open_from_list(self.codes[0])

    def step(self):
        """One act, chosen at random; the next one does not wait for it."""
        acts = [self.type_refraction, self.type_thickness, self.type_zone, self.other_eye, self.next_patient]
        acts += [self.another_from_list, self.print_record, self.print_record, self.save]
        act = self.chance.choice(acts)
        self.done.append(act.__name__)
        act()

    def type_refraction(self):
        """Another refraction."""
        self._type("refraction", self._refraction())

    def type_thickness(self):
        """Another thickness."""
        self._type("central_thickness_um", str(self.chance.randint(520, 600)))

    def type_zone(self):
        """Another zone."""
        self._type("zone_mm", f"{self.chance.randint(600, 680) / 100:g}")

    def _type(self, name, text):
        field(self.page, name).focus()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)
        self.typed[self.code][self.side][name] = text

    def other_eye(self):
        """The other eye."""
        self.side = self.sides[self.code] = "OS" if self.side == "OD" else "OD"
        choose(self.page, WORDS[self.side])
        self.page.wait_for_function(LOOKED_AT, arg=self.side, timeout=30000)

    def next_patient(self):
        """The next patient of the list, or the one before, by key."""
        by = self.chance.choice((1, -1))
        self.page.locator(".eye h1").first.click()
        self.page.keyboard.press("]" if by > 0 else "[")
        self._looks_at((self.at + by) % len(self.codes), None)

    def another_from_list(self):
        """Any patient, from the list."""
        self.open_from_list(self.chance.choice(self.codes))

    def open_from_list(self, code):
        """A right eye from the list, by keyboard."""
        go(self.page, "List")
        self.page.locator("#day-filter").fill(code)
        self.page.locator("#day-filter").press("ArrowDown")
        self.page.keyboard.press("Enter")
        self._looks_at(self.codes.index(code), "OD")

    def _looks_at(self, at, side):
        self.at = at
        self.side = self.sides[self.code] = side or self.sides[self.code]
        expect(field(self.page, "code")).to_have_value(self.code, timeout=30000)
        self.page.wait_for_function(LOOKED_AT, arg=self.side, timeout=30000)

    def print_record(self):
        """A record at once: it holds the plan of the model, and is the command's."""
        pdf = saved_by(self.page, button(self.page, "Record for print").click)
        self._is_of_model(plan_inside(pdf))
        assert same_as_command(pdf, self.folder), self.code
        self.prints += 1

    def save(self):
        """The plan as a file."""
        self._is_of_model(saved_by(self.page, button(self.page, "save").click))

    def _is_of_model(self, plan):
        found = plan_file.read_plan(bytes(plan))
        wanted = self.code, self.typed[self.code]
        assert (found.code, found.typed) == wanted, (found.code, found.typed, wanted, self.done[-6:])
