"""The map of Trade-offs over zone and pupil: light within ten minutes of arc, and the same as CSV."""

import csv
import io
from typing import NamedTuple

import numpy as np

from tissue.drawing.charts.maps import describe_map, tradeoff_map
from tissue.entry.file_name import file_name
from tissue.explore.tradeoffs import Grid
from tissue.explore.zone_buys import light_map
from tissue.report.sight.sight_json import pupil_of
from tissue.screens.desk.link import CSV, hand, sound
from tissue.screens.html import notes, put
from tissue.screens.kept import kept
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.tradeoffs.sight_choices import said_choices

LEVELS = (80.0, 90.0, 95.0, 98.0)
NO_PLACE = "little of the pupil in the zone"
HOW = "Twelve zones by twelve pupils about the pupil's own centre; blends and base held. Lines at 80, 90, 95 and 98 %."


class Light(NamedTuple):
    """What the map shows, in the words of a measure."""

    label: str = "Light within 10′"
    unit: str = "%"
    decimals: int = 1


def show_map(on_desk, shown, colours, seen, found, stands_for):
    """The map of one option.

    Args:
        on_desk: Desk; shown: Shown; colours: Look.
        seen: Choice of what is looked at; found: by option its Sight, or None.
        stands_for: name of the input.
    """
    pupil = pupil_of(shown.inputs, seen.pupil_mm)
    made = kept(
        "to_light", (shown, seen.option, seen.key), lambda: light_map(shown.inputs, seen.option, pupil, seen.view)
    )
    plan, one = float(shown.inputs.treatment.zone_mm), found[seen.option]
    light = np.nan if one is None else one.light_10_arcmin_percent
    grid = light_grid(made, (plan, float(pupil.pupil_mm), light))
    levels = [level for level in LEVELS if np.nanmin(made.values) < level < np.nanmax(made.values)]
    chart(
        "to_light",
        (shown, seen.option, seen.key, float(pupil.pupil_mm), colours.name, stands_for),
        Picture(
            lambda: tradeoff_map(grid, colours, Light(), levels),
            lambda: describe_map(grid, Light(), levels),
            "light over zone and pupil",
            file=f"{on_desk.code}-{on_desk.side}-light-map.svg",
            tall=True,
            stands_for=stands_for,
        ),
        columns=2,
    )
    hand("to_light_csv", "light map as CSV", light_file)
    put(notes(HOW))


def light_grid(made, plan):
    """A LightMap as the Grid that a map is drawn from.

    Args:
        made: LightMap. plan: zone and pupil [mm] of the plan, and its light [%].
    """
    why = np.where(np.isnan(made.values), NO_PLACE, "")
    x, y = made.zones_mm, made.pupils_mm
    return Grid(made.option, "light_10_arcmin_percent", "zone_mm", "pupil_mm", x, y, made.values, why, plan)


def light_file(on_desk):
    """The map of the eye in the fields as a file, by what is chosen by now."""
    inputs = sound(on_desk, (on_desk.side,))[on_desk.side].inputs
    seen = said_choices(inputs)
    made = light_map(inputs, seen.option, pupil_of(inputs, seen.pupil_mm), seen.view)
    out = io.StringIO(newline="")
    csv.writer(out).writerows(made.rows())
    return file_name(f"{on_desk.code}-{on_desk.side}-light-map", ".csv"), CSV, out.getvalue().encode()
