"""The follow-up of a plan for machines, as plain dictionaries for strict JSON, and what it needs from the plan."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, NamedTuple

from tissue.budget.comparison import Comparison
from tissue.entry.checks import Fault
from tissue.entry.eye import Inputs
from tissue.entry.fields import fields
from tissue.entry.readings import Entry
from tissue.eye.reading import METHODS
from tissue.followup.follow import (
    Estimate,
    Follow,
    Ledger,
    bed_planned,
    bed_today,
    follow,
    layer_estimates,
    reserve_today,
)
from tissue.followup.notices import follow_notices
from tissue.followup.strips import Strip, strips
from tissue.followup.today import as_today
from tissue.ground.vocabulary import VERSION
from tissue.report.contract import SCHEMA, plain_json

PARTS = ("not_removed", "grown_back", "method", "unexplained")


class Laid(NamedTuple):
    """A Follow with the Strips of each reading, and which eyes the errors of its plan come from."""

    found: Follow
    strips: tuple[dict[str, Strip | None], ...]
    own_source: str


def method_before(inputs: Inputs) -> str | None:
    """The method of the thickness before surgery; None where it is not one of the four words in any case."""
    word = str(inputs.values.get("thickness_method") or "").strip().casefold()
    return word if word in METHODS else None


def no_follow_up(inputs: Inputs, comparison: Comparison, entries: Sequence[Entry]) -> Fault | None:
    """Why an eye has no follow-up, or None."""
    done = inputs.values.get("done")
    if not done:
        return Fault("done", "nothing", fields()["done"].accepted)
    if not entries:
        return Fault("reading", "nothing", f"one reading at least, as [[{inputs.side or 'OD'}.reading]]")
    if not comparison.results[str(done)].available:
        return Fault("done", f"{done}, which has no figures", str(comparison.results[str(done)].why_not))
    return None


def laid(inputs: Inputs, comparison: Comparison, entries: Sequence[Entry]) -> Laid:
    """The follow-up of one eye that `no_follow_up` does not refuse.

    Args:
        inputs, comparison: Inputs and their Comparison.
        entries: readings of this eye.
    """
    readings = [entry.reading for entry in entries]
    found = follow(comparison, str(inputs.values["done"]), readings, method_before(inputs))
    target = float(inputs.values.get("target_D") or 0.0)
    return Laid(found, strips(found, target), inputs.own.source)


def followed(
    readings: Mapping[str, Sequence[Entry]], eyes: Mapping[str, tuple[Inputs, Comparison]]
) -> tuple[dict[str, Laid], dict[str, Fault]]:
    """The follow-up of every eye that has one, and why another eye has none, by side.

    An eye without readings and without an operation is left out beside one that has them.

    Args:
        readings: by side, its Entries.
        eyes: by side, its Inputs and their Comparison.
    """
    told = {side for side, (inputs, _) in eyes.items() if readings.get(side) or inputs.values.get("done")}
    found: dict[str, Laid] = {}
    wrong: dict[str, Fault] = {}
    for side in [side for side in eyes if side in told or not told]:
        inputs, comparison = eyes[side]
        fault = no_follow_up(inputs, comparison, readings.get(side, ()))
        if fault:
            wrong[side] = fault
        else:
            found[side] = laid(inputs, comparison, readings[side])
    return found, wrong


def eye_today(inputs: Inputs, comparison: Comparison, entries: Sequence[Entry]) -> tuple[Comparison, Fault | None]:
    """The Comparison of an extraction by its readings; where that is impossible, the planned one and the Fault."""
    fault = no_follow_up(inputs, comparison, entries)
    if fault:
        return comparison, fault
    found = laid(inputs, comparison, entries).found
    if found.done.option.ablates:
        return comparison, Fault("done", found.done.option.name, "lenticule with --today")
    return as_today(found), None


def follow_as_dict(code: str, eyes: dict[str, Laid]) -> dict[str, Any]:
    """A whole follow-up.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, its Laid.
    """
    found = {side: plain_json(_eye(one)) for side, one in eyes.items()}
    return {"schema": SCHEMA, "version": VERSION, "code": code or None, "eyes": found}


def _eye(one: Laid) -> dict[str, Any]:
    found = one.found
    before, today = bed_planned(found)._asdict(), bed_today(found)._asdict()
    before.pop("min_um")
    return {
        "done": found.done.option.name,
        "readings": [
            {"days": int(reading.days), "method": reading.method, "strips": _strips(lies), "ledger": _ledger(ledger)}
            for reading, lies, ledger in zip(found.readings, one.strips, found.ledgers, strict=True)
        ],
        "bed": {"before": before, "today": today},
        "state": {name: _estimate(part) for name, part in layer_estimates(found).items()},
        "reserve": asdict(reserve_today(found)),
        "notices": [notice._asdict() for notice in follow_notices(found, one.strips, one.own_source)],
    }


def _strips(laid: dict[str, Strip | None]) -> dict[str, Any]:
    return {name: None if one is None else asdict(one) for name, one in laid.items()}


def _estimate(part: Estimate | None) -> dict[str, Any] | None:
    return None if part is None else part._asdict()


def _ledger(ledger: Ledger | None) -> dict[str, Any] | None:
    """The account of one reading: planned value, parts, measured value; then the SD of each part."""
    if ledger is None:
        return None
    parts = {name: getattr(ledger, name) for name in PARTS}
    means = {f"{name}_um": part.mean_um for name, part in parts.items()}
    sds = {f"{name}_sd_um": part.sd_um for name, part in parts.items()}
    return {"planned_um": ledger.planned_um} | means | {"measured_um": ledger.measured_um} | sds
