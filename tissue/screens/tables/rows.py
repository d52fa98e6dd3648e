"""The rows of the list: one row for each eye, its figures worked out once for its present texts."""

import time
from typing import Any

from tissue.entry.fields import fields
from tissue.entry.notation import write
from tissue.report.measures import NO_FIGURE, measures, value_of
from tissue.report.readback import changed_since
from tissue.screens.desk.machine import machine_errors
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.state import SIDES, Day
from tissue.screens.letter.read_back import eyes_of

FIGURES = ("cut", "removed", "bed", "bed_least", "altered", "strength", "below_line")
HEADS = (
    "Code", "Eye", "Refraction", "Procedure", "Zone, mm", "Cap or flap, µm", "Removed, µm", "Bed, µm", "Least bed, µm",
    "PTA, %", "Strength, %", "Under the line, %", "Read back", "Notices",
)  # fmt: skip
WITHIN_S = 0.35  # time limit of one run, so that the first rows appear at once
WAITS, FIRST_WORDS = "…", 7


def day_rows(own: Day) -> tuple[list[dict[str, Any]], int]:
    """The rows of all eyes as the table takes them, and how many are not worked out yet.

    Args:
        own: Day.
    """
    end, rows, left = time.monotonic() + WITHIN_S, [], 0
    for plan in own.plans.values():
        for side in SIDES:
            if not plan.texts.get(side):
                continue
            cells = _known(plan, side)
            if cells is None and time.monotonic() < end:
                cells = plan.cells[side] = (_key(plan, side), _cells(plan, side))
            left += cells is None
            said = cells[1] if cells else [side, *[WAITS] * (len(HEADS) - 2)]
            at = plan.id == own.at and side == plan.side
            rows.append({"plan": plan.id, "side": side, "at": at, "cells": [plan.code or "no code", *said]})
    return rows, left


def _key(plan: Desk, side: str) -> tuple[Any, ...]:
    """The key of all that a row says; both eyes are part of it, because a read-back covers both."""
    sides = plan.texts if plan.readback else (side,)
    texts = tuple((one, tuple(sorted(plan.texts[one].items()))) for one in sides)
    return texts, str(plan.readback), tuple(machine_errors().values.items())


def _known(plan: Desk, side: str) -> tuple[tuple[Any, ...], list[str]] | None:
    """The key and the cells of an eye where they were worked out for its present texts."""
    found = plan.cells.get(side)
    return found if found is not None and found[0] == _key(plan, side) else None


def _cells(plan: Desk, side: str) -> list[str]:
    """The cells of one eye but for its code."""
    shown, wrong = plan.figures(side)
    plan.rest()
    if shown is None or wrong:
        words = [
            f"{fields()[name].label if name in fields() else name}: read {one.read}" for name, one in wrong.items()
        ]
        return [side, *[NO_FIGURE] * (len(HEADS) - 3), "; ".join(words) or "nothing given yet"]
    comparison, values = shown.comparison, shown.inputs.values
    measured, procedure = comparison.measured, values.get("procedure", "")
    results = [comparison.results[procedure]] if procedure else list(comparison.results.values())
    figures = [
        " / ".join(value_of(measures()[one], result, comparison.judgement) for result in results) for one in FIGURES
    ]
    told = _told([one.text for one in shown.notices if not procedure or one.option in (None, procedure)])
    refraction = write(measured.sphere_D, measured.cylinder_D, measured.axis_deg)[0]
    zone = f"{float(comparison.treatment.zone_mm):g}"
    return [side, refraction, procedure or "not given", zone, *figures, _read_back(plan), told]


def _told(notices: list[str]) -> str:
    """How many notices there are, and the first words of the first one."""
    if not notices:
        return "0"
    words = notices[0].split()
    return f"{len(notices)}: {' '.join(words[:FIRST_WORDS])}" + ("…" if len(words) > FIRST_WORDS else "")


def _read_back(plan: Desk) -> str:
    """Whether a second person has read the plan back without differences, and it has not changed since."""
    if not plan.readback:
        return "no"
    eyes = eyes_of(plan)
    if eyes is None or changed_since(plan.readback, eyes):
        return "changed since"
    return "agrees" if plan.readback["agrees"] else "differs"
