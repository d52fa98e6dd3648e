"""What zone, centre and focus give: the optics of the planned surface over each, beside the tissue that it takes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison, Result
from tissue.entry.eye import Inputs
from tissue.explore.variation import varied
from tissue.eye.cornea import Pupil
from tissue.ground.vocabulary import Array
from tissue.optics.sight.contrast import contrast_figures
from tissue.optics.sight.figures import in_pupil
from tissue.optics.sight.image import FAR_ARCMIN, light_figures, light_percent
from tissue.optics.sight.view import View
from tissue.optics.sight.wave import removal_at
from tissue.removal.over_pupil import distance_mm
from tissue.removal.removal import ZONE_STEP_MM, Removal

SEEN = ("light_3_arcmin_percent", "light_10_arcmin_percent", "mtf_10", "mtf_20", "visual_strehl")
TAKEN = ("removal_max_um", "bed_central_um", "bed_min_um")
THROUGH_FOCUS = ("visual_strehl", "light_10_arcmin_percent")
ZONES_MM, REACH_MM = (4.0, 9.0), 1.0
OFFSETS_MM = np.round(np.arange(0.0, 1.05, 0.1), 1)
DEFOCUS_D = np.arange(-1.0, 1.0625, 0.125)
PUPILS_MM = np.arange(3.0, 8.75, 0.5)
MAP_ZONES = 12
CLEAR_MM = 0.1  # zone beyond the pupil from which on no cell at the pupil's rim reaches past the zone

Figures = dict[str, float]


@dataclass(frozen=True, eq=False)
class Rung:
    """One value along a change of the plan: the value, and by option its figures, None where it is not available."""

    value: float
    options: dict[str, Figures | None]


@dataclass(frozen=True, eq=False)
class Looks:
    """What is seen through removals over one pupil; equal removals are computed once.

    inputs: Inputs of one eye; pupil: Pupil; view: View; names: of the figures that are kept.
    """

    inputs: Inputs
    pupil: Pupil
    view: View
    names: tuple[str, ...] = SEEN

    def __post_init__(self) -> None:
        object.__setattr__(self, "known", {})

    def of(self, taken: Removal, defocus_D: float = 0.0) -> Figures:
        """The figures of a Removal with this much defocus [D]; NaN where little of the pupil lies in the zone."""
        found: dict[tuple[float, ...], Figures] = self.__dict__["known"]
        key = (*seen_of(taken, self.pupil, self.view), defocus_D)
        if key not in found:
            found[key] = self._fresh(taken, defocus_D)
        return found[key]

    def _fresh(self, taken: Removal, defocus_D: float) -> Figures:
        seen = in_pupil(self.inputs.cornea, taken, self.pupil, self.view, defocus_D)
        if not seen.can_be_fitted:
            return dict.fromkeys(self.names, np.nan)
        found = contrast_figures(seen, self.view) | light_figures(seen, self.view)
        return {name: found[name] for name in self.names}


def seen_of(taken: Removal, pupil: Pupil, view: View) -> tuple[float, ...]:
    """What matters of a Removal to a pupil: curvatures, place and axis; zone and blend only where it reaches them."""
    p = taken.profile
    shape = (p.along_per_mm, p.across_per_mm, p.K_before, p.K_after, taken.centre_x_mm, taken.centre_y_mm)
    known = tuple(float(value) for value in (*shape, taken.axis_deg))
    inside = float(distance_mm(pupil, taken)) + float(pupil.pupil_mm) / 2.0 + CLEAR_MM <= float(p.zone_radius_mm)
    if inside and not view.smoothing_mm:
        return known
    return (*known, float(p.zone_radius_mm), float(p.blend_mm))


def ladder(inputs: Inputs, pupil: Pupil, view: View = View(), only: str = "") -> list[Rung]:
    """Rungs over the optical zone, the plan's less 1.0 to more 1.0 mm by 0.1 within 4 to 9; blends and base held.

    Args:
        inputs: Inputs of one eye.
        pupil: Pupil.
        view: View.
        only: name of the one option that is wanted; every one where empty.

    Raises:
        EyeError: a front surface that ends within the pupil.
    """
    zones = zones_about(float(inputs.treatment.zone_mm))
    comparison, why = _column(inputs, zone_mm=zones)
    looks = Looks(inputs, pupil, view)
    comparison = _alone(comparison, only)
    return [_rung(float(zone), i, comparison, why, looks) for i, zone in enumerate(zones)]


def zones_about(zone_mm: float) -> Array:
    """The zones of a ladder about that of the plan [mm].

    >>> zones_about(8.8).tolist()[0], zones_about(8.8).tolist()[-1]
    (7.8, 9.0)
    """
    count = round(REACH_MM / ZONE_STEP_MM)
    zones = np.round(zone_mm + ZONE_STEP_MM * np.arange(-count, count + 1), 9)
    return np.asarray(zones[(zones >= ZONES_MM[0]) & (zones <= ZONES_MM[1])])


def zone_step(rungs: Sequence[Rung], zone_mm: float) -> dict[str, Figures | None]:
    """By option, what 0.1 mm more zone changes: that rung minus the plan's; None where one is missing."""
    here, there = (_at(rungs, zone_mm + more) for more in (0.0, ZONE_STEP_MM))
    made: dict[str, Figures | None] = {}
    for name in rungs[0].options:
        plan, wider = (rung.options[name] if rung else None for rung in (here, there))
        made[name] = {key: wider[key] - plan[key] for key in plan} if plan and wider else None
    return made


def _at(rungs: Sequence[Rung], value: float) -> Rung | None:
    return next((rung for rung in rungs if abs(rung.value - value) < 1e-6), None)


def offsets(inputs: Inputs, pupil: Pupil, view: View = View(), only: str = "") -> list[Rung]:
    """Rungs over the place of the treatment: its centre 0 to 1.0 mm by 0.1 beside the pupil's, along +x.

    Args:
        inputs: Inputs of one eye.
        pupil: Pupil.
        view: View.
        only: name of the one option that is wanted; every one where empty.
    """
    x = float(pupil.pupil_x_mm) + OFFSETS_MM
    comparison, why = _column(inputs, centre_x_mm=x, centre_y_mm=np.full(x.shape, float(pupil.pupil_y_mm)))
    looks = Looks(inputs, pupil, view)
    comparison = _alone(comparison, only)
    return [_rung(float(offset), i, comparison, why, looks) for i, offset in enumerate(OFFSETS_MM)]


def _alone(comparison: Comparison, only: str) -> Comparison:
    """The Comparison of one option, or of every one where the name is empty."""
    return replace(comparison, results={only: comparison.results[only]}) if only else comparison


def _column(inputs: Inputs, **columns: Any) -> tuple[Comparison, Any]:
    """The Comparison of a plan with inputs in columns, and why rows cannot be."""
    made, why = varied(inputs.values, **columns)
    return made.compare(), np.broadcast_to(why, np.shape(next(iter(columns.values()))))


def _rung(value: float, index: int, comparison: Comparison, why: np.ndarray, looks: Looks) -> Rung:
    """One Rung of a column."""
    made: dict[str, Figures | None] = {}
    for name, result in comparison.results.items():
        there = not why[index] and bool(np.broadcast_to(result.available, why.shape)[index])
        made[name] = _figures(result, index, why.shape, looks) if there else None
    return Rung(value, made)


def _figures(result: Result, index: int, shape: tuple[int, ...], looks: Looks) -> dict[str, float]:
    """What is seen and what is taken, of one row of a Result."""
    beds = {name: float(np.broadcast_to(getattr(result.budget, name), shape)[index]) for name in TAKEN}
    return looks.of(removal_at(result.option.removal, index)) | beds


def through_focus(
    inputs: Inputs, comparison: Comparison, pupil: Pupil, view: View = View(), only: str = ""
) -> list[Rung]:
    """Rungs over defocus from −1 to +1 D by 0.125: visual Strehl ratio and light within 10′.

    Args:
        inputs, comparison: Inputs and Comparison of one eye.
        pupil: Pupil.
        view: View.
        only: name of the one option that is wanted; every one where empty.
    """
    looks = Looks(inputs, pupil, view, THROUGH_FOCUS)
    results = _alone(comparison, only).results
    return [
        Rung(
            float(defocus),
            {
                name: looks.of(one_row(result.option.removal), float(defocus)) if result.available else None
                for name, result in results.items()
            },
        )
        for defocus in DEFOCUS_D
    ]


def one_row(taken: Removal) -> Removal:
    """A Removal of one eye as plain numbers."""
    return removal_at(taken, 0)


@dataclass(frozen=True, eq=False)
class Asked:
    """What is wanted beside the figures: the ladder, the offsets, the focus."""

    ladder: bool = False
    offsets: bool = False
    through_focus: bool = False


def run_through(inputs: Inputs, comparison: Comparison, pupil: Pupil, view: View, asked: Asked) -> dict[str, Any]:
    """The parts that were asked for, by the names of the interface; the others are left out.

    Args:
        inputs, comparison: Inputs and Comparison of one eye.
        pupil: Pupil.
        view: View.
        asked: Asked.

    Raises:
        EyeError: a front surface that ends within the pupil.
    """
    found: dict[str, Any] = {}
    if asked.ladder:
        rungs = ladder(inputs, pupil, view)
        found["ladder"] = _listed("zone_mm", rungs)
        found["step"] = zone_step(rungs, float(inputs.treatment.zone_mm))
    if asked.offsets:
        found["offsets"] = _listed("offset_mm", offsets(inputs, pupil, view))
    if asked.through_focus:
        found["through_focus"] = _listed("defocus_D", through_focus(inputs, comparison, pupil, view))
    return found


def _listed(name: str, rungs: Sequence[Rung]) -> list[dict[str, Any]]:
    """Rungs as a list of dictionaries."""
    return [{name: rung.value, "options": rung.options} for rung in rungs]


@dataclass(frozen=True, eq=False)
class LightMap:
    """Light within 10′ [%] of one option over zone and pupil: zones_mm, pupils_mm, values of shape (pupils, zones)."""

    option: str
    zones_mm: Array
    pupils_mm: Array
    values: Array

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """The map as rows of a table, the names first; None where there is no figure."""
        yield ("zone_mm", "pupil_mm", f"{self.option}_light_10_arcmin_percent")
        for i, pupil in enumerate(self.pupils_mm):
            for j, zone in enumerate(self.zones_mm):
                value = self.values[i, j]
                yield float(zone), float(pupil), None if np.isnan(value) else float(value)


def light_map(inputs: Inputs, option: str, pupil: Pupil, view: View = View()) -> LightMap:
    """Light within 10′ over twelve zones and twelve pupils, about the plan's own zone and the pupil's own centre.

    Args:
        inputs: Inputs of one eye.
        option: name of one.
        pupil: Pupil, for its centre.
        view: View.
    """
    zone = float(inputs.treatment.zone_mm)
    zones = np.linspace(max(ZONES_MM[0], zone - REACH_MM), min(ZONES_MM[1], zone + REACH_MM), MAP_ZONES)
    result, there = zone_column(inputs, option, zones)
    values = np.full((PUPILS_MM.size, zones.size), np.nan)
    for i, width in enumerate(PUPILS_MM):
        known: dict[tuple[float, ...], float] = {}
        for j in np.flatnonzero(there):
            taken, about = removal_at(result.option.removal, int(j)), replace(pupil, pupil_mm=float(width))
            key = seen_of(taken, about, view)
            if key not in known:
                known[key] = _light_10(inputs, taken, about, view)
            values[i, j] = known[key]
    return LightMap(option, zones, PUPILS_MM, values)


def zone_column(inputs: Inputs, option: str, zones_mm: Sequence[float] | Array) -> tuple[Result, np.ndarray]:
    """The Result of an option over zones [mm], and which of the zones are possible."""
    comparison, why = _column(inputs, zone_mm=np.asarray(zones_mm, dtype=float))
    result = comparison.results[option]
    return result, (why == "") & np.broadcast_to(result.available, why.shape)


def _light_10(inputs: Inputs, taken: Removal, pupil: Pupil, view: View) -> float:
    """Light within 10′ [%]; NaN where little of the pupil lies in the zone."""
    seen = in_pupil(inputs.cornea, taken, pupil, view)
    return light_percent(seen, view.light, view.stiles_crawford_per_mm2, FAR_ARCMIN) if seen.can_be_fitted else np.nan
