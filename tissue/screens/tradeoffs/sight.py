"""The part of Trade-offs that says what the zone buys: light and contrast over the zone, beside bed and removal."""

import numpy as np

from tissue.drawing.base.palette import HEADS
from tissue.drawing.charts.sight_curves import BOUGHT, IN_FOCUS, TAKEN, describe_curves, rung_curves
from tissue.explore.zone_buys import ladder, through_focus, zone_step
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import NO_FIGURE, TRUE_MINUS
from tissue.report.sight.sight_json import pupil_of, sight_notices, sights
from tissue.report.sight.sight_terminal import NOT_VISION, TO_KNOW, WRITTEN
from tissue.screens.evidence.sight import found_part
from tissue.screens.html import notes, paragraphs, part, plain_table, put, strip, tag
from tissue.screens.kept import kept
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.tradeoffs.sight_choices import FOCUS, MAP, PICTURES, choices
from tissue.screens.tradeoffs.sight_map import show_map
from tissue.screens.tradeoffs.sight_pictures import show_pictures

TITLE = "What the zone buys"
AXIS = "Optical zone, mm"
NOTHING_SEEN = 5e-4  # a change of every figure below this is none
SAID = {
    "bought": (
        "Light and contrast",
        "light near the axis, of all in the pupil; contrast, mean of six directions; beside the lines: this plan",
        AXIS,
    ),
    "taken": (
        "What it takes",
        "least bed and deepest removal; blends and base held; beside the lines: this plan",
        AXIS,
    ),
    "focus": (
        "Through focus",
        "visual Strehl ratio, and light within 10′; beside the lines: this plan in focus",
        "Out of focus, D",
    ),
}
PANELS = {"bought": BOUGHT, "taken": TAKEN, "focus": IN_FOCUS}


def show(on_desk, shown, colours, stands_for):
    """The part with its choices.

    Args:
        on_desk: Desk; shown: Shown; colours: Look.
        stands_for: name of the input that it is drawn for.
    """
    put(part(TITLE))
    seen = choices(shown.inputs)
    try:
        pupil = pupil_of(shown.inputs, seen.pupil_mm)
        before, found = kept(
            "to_sights", (shown, seen.key), lambda: sights(shown.inputs, shown.comparison, pupil, seen.view)
        )
        _part(on_desk, shown, colours, seen, found, stands_for)
    except EyeError as error:
        put(strip(f"No image: {error}"))
        return
    put(tag("div", _table(before, found), data_for=stands_for))
    put(notes(NOT_VISION, TO_KNOW, *(notice.text for notice in sight_notices(shown.comparison, found))))
    put(found_part())


def _part(on_desk, shown, colours, seen, found, stands_for):
    """What is shown of it: curves, map, pictures or focus."""
    if seen.part == MAP:
        show_map(on_desk, shown, colours, seen, found, stands_for)
    elif seen.part == PICTURES:
        show_pictures(shown, seen, stands_for)
    else:
        _runs(on_desk, shown, colours, seen, stands_for)


def _runs(on_desk, shown, colours, seen, stands_for):
    """Curves over the zone with what 0.1 mm of it changes, or over the focus."""
    inputs, option = shown.inputs, seen.option
    pupil, name = pupil_of(inputs, seen.pupil_mm), f"{on_desk.code}-{on_desk.side}"
    key = (shown, option, seen.key)
    depends = (*key, colours.name, stands_for)
    if seen.part == FOCUS:
        rungs = kept("to_focus", key, lambda: through_focus(inputs, shown.comparison, pupil, seen.view, only=option))
        _curves(depends, rungs, option, colours, 0.0, "focus", file=f"{name}-through-focus.svg")
        return
    rungs = kept("to_rungs", key, lambda: ladder(inputs, pupil, seen.view, only=option))
    plan = float(inputs.treatment.zone_mm)
    _curves(depends, rungs, option, colours, plan, "bought", file=f"{name}-zone-buys.svg")
    said = step_words(zone_step(rungs, plan)[option])
    put(tag("div", paragraphs(said), class_="prose buys", role="status", data_for=stands_for))
    _curves(depends, rungs, option, colours, plan, "taken", file=f"{name}-zone-takes.svg")


def _curves(depends, rungs, option, colours, plan, id, *, file):
    """One picture of curves."""
    said, panels = SAID[id], PANELS[id]
    chart(
        f"to_sight_{id}",
        depends,
        Picture(
            lambda: rung_curves(rungs, option, colours, panels, said, plan),
            lambda: describe_curves(rungs, option, panels, said, plan),
            said[0].lower(),
            file=file,
            tall=True,
            stands_for=depends[-1],
        ),
    )


def step_words(step):
    """What 0.1 mm more zone changes, in a sentence; a minus is said as plainly.

    Args:
        step: figures of one option at 0.1 mm more zone less those of the plan, or None.

    >>> step_words({"light_10_arcmin_percent": 2.84, "light_3_arcmin_percent": 1.0, "mtf_10": 0.03,
    ...             "mtf_20": 0.0, "visual_strehl": 0.0, "bed_min_um": -3.5})
    '+0.1 mm of zone at this pupil: light within 10′ +2.8 points, MTF at 10 c/deg +0.030; least bed −3.5 µm.'
    """
    if step is None:
        return "There is no plan with 0.1 mm more zone."
    if np.isnan(step["mtf_10"]):
        return "Less than a quarter of the pupil lies in the zone: no figures of the image are given."
    bed = f"least bed {step['bed_min_um']:+.1f} µm."
    seen = ("light_10_arcmin_percent", "light_3_arcmin_percent", "mtf_10", "mtf_20")
    if max(abs(step[name]) for name in seen) < NOTHING_SEEN:
        said = f"+0.1 mm of zone at this pupil: 0.0 points: the pupil ends inside the zone; {bed}"
    else:
        light, contrast = step["light_10_arcmin_percent"], step["mtf_10"]
        said = (
            f"+0.1 mm of zone at this pupil: light within 10′ {light:+.1f} points, "
            f"MTF at 10 c/deg {contrast:+.3f}; {bed}"
        )
    return said.translate(TRUE_MINUS)


def _table(before, found):
    """Every figure before and for each option."""
    columns = [before, *found.values()]
    rows = [
        [written.label, *(written.text(getattr(one, name)) if one else NO_FIGURE for one in columns)]
        for name, written in WRITTEN.items()
    ]
    heads = ("", "Before", *(HEADS[name] for name in found))
    return plain_table(heads, rows, TITLE, numbers=range(1, len(heads)))
