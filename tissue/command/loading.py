"""Shared by the commands: load a plan or one eye of it, refuse in lines, write a file beside it."""

import os
from argparse import Namespace
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tissue.ground.errors import EyeError


class Wrong(Exception):
    """Input that cannot be used: the lines that say why."""

    def __init__(self, lines: Iterable[str]) -> None:
        self.lines = list(lines)
        super().__init__("\n".join(self.lines))


def load(path: str, side: str | None = None, data: bytes | None = None) -> tuple[str, dict[str, Any]]:
    """The plan in a file: its code, and by side (Inputs, Comparison, refraction as typed); as `load_plan`."""
    plan, eyes = load_plan(path, side, data)
    return plan.code, {name: (*eye, plan.typed[name].get("refraction", "")) for name, eye in eyes.items()}


def load_plan(path: str, side: str | None = None, data: bytes | None = None) -> tuple[Any, dict[str, Any]]:
    """The Plan in a file, and by side its Inputs and their Comparison.

    Args:
        path: of the file.
        side: OD or OS, both where None.
        data: the bytes of the file where they were read before.

    Raises:
        Wrong: a line for every fault.
    """
    from tissue.entry.checks import fault_of
    from tissue.entry.eye import build
    from tissue.entry.own_errors import NO_OWN
    from tissue.entry.plan_file import PlanError, read_plan

    plan, faults = None, []
    try:
        plan = read_plan(path) if data is None else read_plan(data, path, Path(path).parent)
        sound = plan.eyes
    except PlanError as error:
        faults, sound = error.lines, error.sound
    if plan and side and side not in sound:
        raise Wrong([f"{path}: {side}: read nothing, accepted a plan file with a table [{side}]"])
    eyes = {}
    for name, values in sound.items():
        if side in (None, name):
            try:
                inputs = build(values, name, plan.own if plan else NO_OWN)
                eyes[name] = inputs, inputs.compare()
            except EyeError as error:
                faults.append(f"{path}: {name}: {fault_of(error).text}")
    if faults or plan is None:
        raise Wrong(faults)
    say_open_end(path, plan.text)
    return plan, eyes


def say_open_end(path: str, text: str) -> None:
    """Warn that a file without a final line end may have been cut off."""
    from tissue.command.printing import say
    from tissue.entry.plan_text import open_end

    if words := open_end(text):
        say([f"{path}: file: read {words}"])


def say_open_table(path: str) -> None:
    """The same of a table as text. A table that was cut off between two rows cannot be told from a shorter one."""
    from tissue.series.run import is_parquet

    if os.path.isfile(path) and not is_parquet(path):
        with open(path, "rb") as file:
            file.seek(-1, os.SEEK_END)
            say_open_end(path, file.read().decode("latin-1"))


def load_one(chosen: Namespace) -> tuple[str, Any, Any]:
    """The side, Inputs and Comparison of the one eye that a command is about.

    Raises:
        Wrong: a line for every fault.
    """
    side, inputs, comparison, _ = one_eye(chosen)
    return side, inputs, comparison


def one_eye(chosen: Namespace) -> tuple[str, Any, Any, Any]:
    """The same with the readings of that eye."""
    plan, eyes = load_plan(chosen.file, chosen.eye)
    if len(eyes) > 1:
        raise Wrong([f"{chosen.file}: eye: read both eyes, accepted --eye OD or --eye OS"])
    side, (inputs, comparison) = next(iter(eyes.items()))
    return side, inputs, comparison, plan.readings.get(side, ())


def or_planned(chosen: Namespace, inputs: Any, option: str, name: str) -> Any:
    """The value of an option, otherwise that of the plan.

    Raises:
        Wrong: neither does.
    """
    given = getattr(chosen, option)
    found = inputs.values.get(name) if given is None else given
    if found is None:
        raise Wrong([f"{chosen.file}: {name}: read nothing, accepted --{option} or {name} in the plan"])
    return found


@contextmanager
def refused(command: str) -> Iterator[None]:
    """An EyeError of the arithmetic as a line for the user."""
    from tissue.entry.checks import fault_of

    try:
        yield
    except EyeError as error:
        raise Wrong([f"{command}: {fault_of(error).text}"]) from None


def write_beside(out: str, data: bytes, ending: str, *sources: str) -> None:
    """Write a file with the given ending, whole or not at all, but never over one that it was made from."""
    from tissue.entry.whole_file import other_kind, same_file, write_whole

    if any(same_file(source, out) for source in sources):
        raise Wrong([f"{out}: file: read a file it is made from, accepted another file to write to"])
    if words := other_kind(out, ending):
        raise Wrong([f"{out}: file: read {words}"])
    try:
        write_whole(out, data)
    except OSError as error:
        raise Wrong([f"{out}: file: read {error.strerror or error}, accepted a place to write to"]) from None
