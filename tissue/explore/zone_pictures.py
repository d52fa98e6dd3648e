"""Pictures of what is seen before surgery and with more and less zone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tissue.entry.eye import Inputs
from tissue.explore.zone_buys import seen_of, zone_column
from tissue.eye.cornea import Pupil
from tissue.optics.sight.contrast import contrast_figures
from tissue.optics.sight.figures import in_pupil
from tissue.optics.sight.focus import InPupil
from tissue.optics.sight.image import FAR_ARCMIN, light_percent
from tissue.optics.sight.pictures import Pictures, seen_through
from tissue.optics.sight.view import View
from tissue.optics.sight.wave import OwnWave, removal_at


@dataclass(frozen=True, eq=False)
class Seen:
    """What is seen before surgery (zone NaN) or with one zone [mm], through one pupil [mm]; None where it cannot be.

    light_percent: light within 10′ [%]; contrast: MTF at 10 c/deg, mean of six directions.
    """

    zone_mm: float
    pupil_mm: float
    pictures: Pictures | None
    light_percent: float = np.nan
    contrast: float = np.nan


def seen_pictures(
    inputs: Inputs, option: str, pupils: Sequence[Pupil], zones_mm: Sequence[float], view: View = View()
) -> list[list[Seen]]:
    """One row for each pupil: what is seen before surgery, then with each zone; blends and base are held.

    Args:
        inputs: Inputs of one eye.
        option: name of one.
        pupils: Pupils.
        zones_mm: zones of the plan [mm].
        view: View.
    """
    result, there = zone_column(inputs, option, zones_mm)
    rows = []
    for pupil in pupils:
        known: dict[tuple[float, ...], Seen] = {}
        row = [_seen(np.nan, InPupil(OwnWave(view.eye_c40_um), pupil), view)]
        for j, zone in enumerate(zones_mm):
            taken = removal_at(result.option.removal, j)
            key = seen_of(taken, pupil, view)
            if not there[j]:
                row.append(Seen(zone, float(pupil.pupil_mm), None))
                continue
            if key not in known:
                known[key] = _seen(zone, in_pupil(inputs.cornea, taken, pupil, view), view)
            row.append(replace(known[key], zone_mm=zone))
        rows.append(row)
    return rows


def _seen(zone_mm: float, seen: InPupil, view: View) -> Seen:
    """One Seen of a wave over a pupil."""
    width = float(seen.pupil.pupil_mm)
    if not seen.can_be_fitted:
        return Seen(zone_mm, width, None)
    light = light_percent(seen, view.light, view.stiles_crawford_per_mm2, FAR_ARCMIN)
    return Seen(zone_mm, width, seen_through(seen, view), light, contrast_figures(seen, view)["mtf_10"])
