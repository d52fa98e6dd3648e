"""What several test files use: plans written as text, and the command run as a process of its own."""

import copy
import inspect
import subprocess
import sys
from dataclasses import FrozenInstanceError, fields
from pathlib import Path

import pytest

from tissue.budget.notices import notices
from tissue.entry.eye import build
from tissue.entry.plan_file import read_plan
from tissue.report.contract import figures, plan_as_dict

ROOT = Path(__file__).parents[2]


def press_of(app, name):
    """The button of an AppTest whose press goes through the page's log, by its name on the screen."""
    return next(one for one in app.button if one.key.split("-")[1:2] == [name])


def seeded(function, seed):
    """The seed of a function of SciPy under the name that its version has for it (`rng` from 1.15 on)."""
    return {"rng" if "rng" in inspect.signature(function).parameters else "random_state": seed}


def plan_text(**eyes):
    """The text of a plan file; eyes by side, values by name; texts in quotes, signed powers with their sign."""
    lines = ["schema = 1"]
    for side, values in eyes.items():
        lines.append(f"[{side}]")
        for name, value in values.items():
            if isinstance(value, str):
                lines.append(f'{name} = "{value}"')
            else:
                lines.append(
                    f"{name} = {float(value)!r}"
                    if not name.endswith("_D") or value <= 0 or name == "mean_K_D"
                    else f"{name} = +{float(value)!r}"
                )
    return "\n".join(lines) + "\n"


def plan_of(text):
    """The plan of a text as the JSON has it, made in this process."""
    plan = read_plan(text.encode())
    eyes = {}
    for side, values in plan.eyes.items():
        inputs = build(values, side)
        eyes[side] = inputs, inputs.compare(), plan.typed[side].get("refraction", "")
    return plan_as_dict(plan.code, eyes)


def eye_of(**values):
    """One right eye as the JSON has it."""
    return plan_of(plan_text(OD=values))["eyes"]["OD"]


def tissue(*arguments, **more):
    """`python -m tissue` with these arguments, as a process of its own."""
    command = [sys.executable, "-m", "tissue", *map(str, arguments)]
    return subprocess.run(command, check=False, cwd=ROOT, capture_output=True, timeout=60, **more)


def all_figures(comparison):
    """Every figure of every option by a flat name, `flap.bed_min_um`, `flap.strength.uniform`; numbers or columns."""
    found = {}
    for option, result in comparison.results.items():
        for name, value in figures(result).items():
            if isinstance(value, dict):
                found |= {f"{option}.{name}.{part}": number for part, number in value.items()}
            else:
                found[f"{option}.{name}"] = value
    return found


def comparison_of(**values):
    """The Comparison of one eye by the names of the interface."""
    return build(values, "OD").compare()


def notice_ids(option, **values):
    """Ids of the notices of one eye on an option (None: those of no option)."""
    return [notice.id for notice in notices(comparison_of(**values)) if notice.option == option]


def is_itself_only(value):
    """Whether nothing of it can be set, and no copy is equal to it: columns cannot be compared by value."""
    with pytest.raises(FrozenInstanceError):
        setattr(value, fields(value)[0].name, None)
    return value == value and value != copy.copy(value)
