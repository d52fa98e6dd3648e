"""The optics of the planned surface under the names of the interface: strict JSON, with notices."""

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from tissue.budget.comparison import Comparison
from tissue.budget.notices import SEEN_PERCENT, Notice
from tissue.entry.eye import Inputs
from tissue.eye.cornea import Pupil
from tissue.ground.errors import EyeError
from tissue.ground.sources import data
from tissue.ground.vocabulary import percent
from tissue.optics.sight.figures import Sight, sight_before, sight_of
from tissue.optics.sight.view import View
from tissue.optics.sight.wave import removal_at
from tissue.report.contract import SCHEMA, plain_json

NO_RUNS: Mapping[str, Any] = {}


def pupil_of(inputs: Inputs, pupil_mm: float | None) -> Pupil:
    """The Pupil that is looked through: the plan's, or another diameter [mm] about the same centre.

    Raises:
        EyeError: a diameter outside 2 to 9 mm; pupil_mm where it is the plan's own.
    """
    known = data("sight")["pupil"]
    low, high = known["lowest_mm"], known["highest_mm"]
    name, value = ("pupil_mm", float(inputs.pupil.pupil_mm)) if pupil_mm is None else ("pupil", pupil_mm)
    if not low <= value <= high:
        raise EyeError(name, f"{value:g}", f"{low:g} to {high:g} mm")
    return replace(inputs.pupil, pupil_mm=value)


def view_of(light: str, smooth: bool, stiles_crawford_per_mm2: float = 0.0, eye_c40_um: float | None = None) -> View:
    """The View that was asked for.

    Raises:
        EyeError: stiles-crawford or eye-c40 outside its range.
    """
    known, most = data("sight")["eye"], data("sight")["stiles_crawford"]["highest_per_mm2"]
    low, high = known["lowest_c40_um"], known["highest_c40_um"]
    own = known["c40_um"] if eye_c40_um is None else eye_c40_um
    if not 0.0 <= stiles_crawford_per_mm2 <= most:
        raise EyeError("stiles-crawford", f"{stiles_crawford_per_mm2:g}", f"0 to {most:g} /mm²")
    if not low <= own <= high:
        raise EyeError("eye-c40", f"{own:g}", f"−{-low:g} to {high:g} µm")
    length = data("sight")["smoothing"]["length_mm"] if smooth else 0.0
    return View(light, length, stiles_crawford_per_mm2, own)


def sights(inputs: Inputs, comparison: Comparison, pupil: Pupil, view: View) -> tuple[Sight, dict[str, Sight | None]]:
    """The Sight of the eye before surgery, and by option that of the plan; None where an option is not available.

    Raises:
        EyeError: a front surface that ends within the pupil.
    """
    known, found = {}, {}
    for name, result in comparison.results.items():
        taken = result.option.removal
        if result.available and id(taken) not in known:
            known[id(taken)] = sight_of(inputs.cornea, removal_at(taken, 0), pupil, view)
        found[name] = known[id(taken)] if result.available else None
    return sight_before(pupil, view), found


def sight_report(
    inputs: Inputs, comparison: Comparison, pupil: Pupil, view: View, runs: Mapping[str, Any] = NO_RUNS
) -> dict[str, Any]:
    """The figures of one eye by the names of the interface.

    Args:
        inputs, comparison: Inputs and Comparison of one eye.
        pupil: Pupil that is looked through.
        view: View.
        runs: the ladders that were asked for, by name.

    Raises:
        EyeError: a front surface that ends within the pupil.
    """
    before, found = sights(inputs, comparison, pupil, view)
    report = {
        "schema": SCHEMA,
        "eye": inputs.side,
        "pupil_mm": pupil.pupil_mm,
        "pupil_x_mm": pupil.pupil_x_mm,
        "pupil_y_mm": pupil.pupil_y_mm,
        "light": view.light,
        "smoothing_mm": view.smoothing_mm,
        "stiles_crawford_per_mm2": view.stiles_crawford_per_mm2,
        "eye_c40_um": view.eye_c40_um,
        "before": asdict(before),
        "options": {name: asdict(one) if one else None for name, one in found.items()},
    }
    notices = [notice._asdict() for notice in sight_notices(comparison, found)]
    return plain_json({**report, **runs, "notices": notices})


def sight_notices(comparison: Comparison, found: dict[str, Sight | None]) -> list[Notice]:
    """What should be known beside the figures: a pupil past the zone, or beside it.

    Args:
        comparison: Comparison of one eye.
        found: by option its Sight, None where it is not available.
    """
    made = []
    for name, one in found.items():
        if one is None:
            continue
        title = comparison.results[name].option.title
        blend = one.outside_zone_percent - one.untreated_percent
        if one.focus_D != one.focus_D:
            text = f"Less than a quarter of the pupil lies in the zone of {title}: no figures of the image are given."
            made.append(Notice("sight-off-zone", name, "pupil_mm", text))
        elif one.outside_zone_percent >= SEEN_PERCENT:
            text = (
                f"{title[0].upper()}{title[1:]}: {percent(blend)} % of the pupil lies in the blend and "
                f"{percent(one.untreated_percent)} % is untreated; both are counted in the figures."
            )
            made.append(Notice("sight-past-zone", name, "zone_mm", text))
    return made
