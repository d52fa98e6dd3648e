"""The plan B page, printed before the operation: what is described for each stage in which suction may be lost."""

from collections.abc import Callable
from functools import partial

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.place import Place
from tissue.drawing.base.meridian import meridian
from tissue.drawing.base.outline import half_width_mm, outlines
from tissue.drawing.base.words import SIDES, whole
from tissue.entry.notation import write
from tissue.ground.vocabulary import CAP, CUT, INCISION, SIDE, STAGES, VERSION, most_written
from tissue.paper.eye import Frame, draw_bars
from tissue.paper.page import LEFT_MM, RIGHT_MM, Paper, wrap
from tissue.report.measures import NO_FIGURE
from tissue.routes.cutting import Clock, clock_of
from tissue.routes.notices import rescue_notices
from tissue.routes.rescue import rescue
from tissue.routes.ways import ANOTHER_DAY, OVER_FLAP, PROTOCOL

COLUMN_MM, GAP_MM = 86.0, 10.0
COLUMN_X = {"OD": LEFT_MM, "OS": LEFT_MM + COLUMN_MM + GAP_MM}
Moment = tuple[str, str, float]  # title, stage, share of it that is done
MOMENTS: tuple[Moment, ...] = (
    ("Lenticule cut, 5 % done", CUT, 0.05),
    ("Lenticule cut, 10 % done", CUT, 0.10),
    ("Lenticule cut, 50 % done", CUT, 0.50),
    ("Lenticule cut, all done", CUT, 1.0),
    ("Lenticule side cut", SIDE, 0.5),
    ("Cap cut, half done", CAP, 0.5),
    ("Incision", INCISION, 0.5),
)
CAP_FIRST_SAID = "the cap is cut first; seconds at which each cut ends"
CAP_FIRST_MOMENTS = (MOMENTS[5], *MOMENTS[:5], MOMENTS[6])
ON_FIRST = 2  # of the moments: each has so many ways that the others go on a second page
STAGE_WORDS = {CUT: CUT, SIDE: "its side", CAP: "cap", INCISION: "incision"}
COLUMNS = (("new cut", 46.0), ("bed", 57.0), ("least", 67.0), ("clearance", 84.0))
NOTE_PT, NOTE_STEP_MM = 6.4, 2.75


def plan_b(code: str, eyes: dict[str, Comparison], date: str = "") -> bytes:
    """The bytes of the page, for one eye or both.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, Comparison.
        date: what is printed as the date; nothing where empty.
    """
    paper = Paper(f"If suction is lost {code}".strip())
    paper.text(LEFT_MM, 17.0, "If suction is lost", 17, "serif")
    paper.text(LEFT_MM, 22.4, f"{code}  a pseudonym; no name is kept here" if code else "no code given", 8.6, grey=0.3)
    made = "  ".join(filter(None, (date, f"version {VERSION}")))
    paper.text(RIGHT_MM, 15.4, made, 7.6, align="right", grey=0.3)
    paper.line([LEFT_MM, RIGHT_MM], [25.0, 25.0], 0.6)
    paper.text(LEFT_MM, 31.0, ANOTHER_DAY, 10.5, "bold")
    y = max([_eye(paper, side, comparison) for side, comparison in eyes.items()])
    begin = partial(_begin_page, paper, code or "no code given", made)
    if more := {side: one for side, one in eyes.items() if one.under_cap.available and _moments(one)[1]}:
        begin(what="the other moments")
        y = max([_other_moments(paper, side, comparison) for side, comparison in more.items()])
    _notes(paper, eyes, y + 3.0, begin)
    paper.close_page()
    return paper.finish()


def _eye(paper: Paper, side: str, comparison: Comparison) -> float:
    """One eye: the plan, the clock, the planes, the rescue options at each moment; gives the line after it."""
    x = COLUMN_X[side]
    paper.text(x, 38.0, f"{side} ({SIDES[side]})", 13, "serif")
    paper.text(x, 43.0, _refraction(comparison), 11.0, "bold")
    old = comparison.under_cap
    if not old.available:
        paper.text(x, 48.0, f"No extraction is planned: {old.why_not}.", 8.6)
        return 48.0
    paper.text(x, 47.4, _depths(comparison), 8.0)
    _clock(paper, x, 51.0, clock_of(comparison))
    _planes(paper, x, 66.0, comparison, side)
    return _ways(paper, x, 106.0, comparison, _moments(comparison)[0])


def _refraction(comparison: Comparison) -> str:
    """The refraction as measured, in minus cylinders."""
    measured = comparison.measured.minus()
    return write(measured.sphere_D, measured.cylinder_D, measured.axis_deg)[0]


def _depths(comparison: Comparison) -> str:
    """The planned cap, lenticule and zone in words."""
    option = comparison.under_cap.option
    first = f"cap {whole(option.cut_um)}  lenticule {whole(option.removal.max_um)} at its deepest  zone "
    return f"{first}{comparison.treatment.zone_mm:.2f} mm"


def _begin_page(paper: Paper, code: str, made: str, what: str) -> float:
    """Begin a further sheet, whose head says what is on it, whose it is and when it was made; gives its first line."""
    paper.close_page()
    paper.text(LEFT_MM, 17.0, f"If suction is lost, {what}", 13, "serif")
    paper.text(RIGHT_MM, 15.4, code, 8.6, align="right")
    paper.text(RIGHT_MM, 19.0, made, 7.6, align="right", grey=0.3)
    return 25.0


def _other_moments(paper: Paper, side: str, comparison: Comparison) -> float:
    """The moments of one eye that have no room on the first sheet, under its plan; gives the line after them."""
    x = COLUMN_X[side]
    paper.text(x, 24.0, f"{side} ({SIDES[side]})", 13, "serif")
    paper.text(x, 28.6, f"{_refraction(comparison)}  cap first", 9.0, "bold")
    paper.text(x, 32.6, _depths(comparison), 8.0)
    return _ways(paper, x, 36.6, comparison, _moments(comparison)[1])


def _clock(paper: Paper, x: float, y: float, clock: Clock) -> None:
    """The four cuts on a line of time."""
    total = float(clock.total_s)
    for stage, begin, end in zip(clock.order, clock.begins_s, clock.ends_s, strict=True):
        left, right = (x + COLUMN_MM * float(part) / total for part in (begin, end))
        paper.line([left, right, right, left, left], [y, y, y + 3.0, y + 3.0, y], 0.5)
        if right - left > 14.0:
            paper.text(0.5 * (left + right), y + 2.2, STAGE_WORDS[stage], 6.6, align="centre")
    ends = ", ".join(
        f"{STAGE_WORDS[stage]} {float(end):.1f}" for stage, end in zip(clock.order, clock.ends_s, strict=True)
    )
    said = "seconds at which each cut ends" if clock.order == STAGES else CAP_FIRST_SAID
    for row, line in enumerate(wrap(f"{said}: {ends}", COLUMN_MM, 7.0)):
        paper.text(x, y + 6.2 + 3.0 * row, line, 7.0, grey=0.25)


def _moments(comparison: Comparison) -> tuple[tuple[Moment, ...], tuple[Moment, ...]]:
    """The moments of the first page and those of the second, in the order of the cuts."""
    if clock_of(comparison).order == STAGES:
        return MOMENTS, ()
    return CAP_FIRST_MOMENTS[:ON_FIRST], CAP_FIRST_MOMENTS[ON_FIRST:]


def _planes(paper: Paper, x: float, y: float, comparison: Comparison, side: str) -> None:
    """Draw the old cut planes and the flap after a whole lenticule cut, to scale."""
    half = half_width_mm(comparison)
    plan = outlines(comparison, 0.0, half)[comparison.under_cap.option.name]
    frame = Frame(x, y, COLUMN_MM, 30.0, half, max(30000.0 / 40.0, float(plan.back.depth_um.max())))
    over = next(route for route in rescue(comparison, CUT, 1.0).routes if route.way.id == OVER_FLAP)
    line = meridian(comparison)
    ablation = over.option.removal
    position = np.linspace(-float(ablation.radius_mm), float(ablation.radius_mm), 121)
    flap = float(over.cut_um)
    floor = flap + ablation.t_um(*line.place(position))
    radius = float(over.option.cut_diameter_mm) / 2.0
    with paper.clipped(*frame.corners):
        for curve in plan.iso_depths:
            paper.line(*frame.points(curve), 0.25, grey=0.78)
        paper.line(*frame.points(plan.epithelium), 0.4, "dotted", grey=0.3)
        paper.area(*frame.points(plan.floor), 0.9, "\\")
        paper.line(*frame.points(plan.floor), 0.9)
        paper.line(frame.x([-radius, -radius, radius]), frame.y([0.0, flap, flap]), 0.9, "dashed")
        paper.line(frame.x(position), frame.y(floor), 0.9, "dashed")
        paper.line(*frame.points(plan.back), 1.1)
    paper.line([x, x + COLUMN_MM], [y, y], 0.7)
    clear = over.clearance
    words = f"solid: the plan's cuts; dashed: a flap of {whole(flap)} and the ablation under it"
    paper.text(x, y - 1.4, words, 7.0, grey=0.2)
    at = float(frame.x(line.position_mm(clear.x_mm, clear.y_mm)))
    depth = float(frame.y(flap + ablation.t_um(clear.x_mm, clear.y_mm)))
    paper.line([at, at], [depth, frame.y_mm + 18.0], 0.4)
    paper.text(at, frame.y_mm + 20.8, f"clearance {whole(clear.value)}", 7.4, "bold", "centre")
    draw_bars(paper, frame, x + 22.0, y + 34.6)
    ends = line.end_words(side)
    paper.text(x, y + 34.6, ends[0], 9.0, "italic")
    paper.text(x + COLUMN_MM, y + 34.6, ends[1], 9.0, "italic", "right")


def _ways(paper: Paper, x: float, y: float, comparison: Comparison, moments: tuple[Moment, ...]) -> float:
    """The rescue options at each of the moments; gives the line after them."""
    for words, right in COLUMNS:
        paper.text(x + right, y, words, 7.0, align="right", grey=0.3)
    y += 1.2
    for title, stage, done in moments:
        found = rescue(comparison, stage, done)
        y += 4.2
        paper.text(x, y, f"{title}, {float(found.seconds):.1f} s", 8.2, "bold")
        paper.line([x, x + COLUMN_MM], [y + 1.0, y + 1.0], 0.3, grey=0.5)
        y += 0.8
        for route in found.routes:
            y += 3.5
            paper.text(x + 2.0, y, route.way.name, 7.8)
            if not route.available:
                y += 3.2
                for line in wrap(route.why_not, COLUMN_MM - 6.0, 7.0):
                    paper.text(x + 4.0, y, line, 7.0, grey=0.25)
                    y += 3.0
                y -= 3.0
                continue
            values = (route.cut_um, route.bed_central_um, route.bed_min_um)
            cells = [*(whole(value) for value in values), _clearance(route.clearance)]
            for cell, (_, right) in zip(cells, COLUMNS, strict=True):
                paper.text(x + right, y, cell, 7.8, align="right")
        if np.isfinite(found.thickest_flap_um):
            y += 3.4
            words = f"thickest flap that keeps {whole(found.margin_um)} µm: {most_written(found.thickest_flap_um)}"
            paper.text(x + 2.0, y, words, 7.4, grey=0.25)
        elif any(route.way.id == OVER_FLAP for route in found.routes):
            y += 3.4
            paper.text(x + 2.0, y, f"no flap keeps {whole(found.margin_um)} µm", 7.4, grey=0.25)
    return y


def _clearance(place: Place) -> str:
    """Clearance in words; an en dash where there is none."""
    return NO_FIGURE if np.isnan(place.value) else f"{whole(place.value)} µm"


def _notes(paper: Paper, eyes: dict[str, Comparison], y: float, begin: Callable[..., float]) -> None:
    """Draw where each way is described, what holds for all, and the notices for the fully cut lenticule."""
    ways: dict[str, str] = {}
    words: list[str] = []
    for side, comparison in eyes.items():
        if not comparison.under_cap.available:
            continue
        for _, stage, done in sum(_moments(comparison), ()):
            found = rescue(comparison, stage, done)
            if found.is_described:
                at = "" if found.clock.order == STAGES else " at the incision"
                described = {route.way.id + at: (route.way.name + at, route.way.source) for route in found.routes}
                ways |= {id: f"{name}: described in {source}." for id, (name, source) in described.items()}
        found = rescue(comparison, CUT, 1.0)
        words += [f"{side}, lenticule cut done. {notice.text}" for notice in rescue_notices(comparison, found)]
    parts = [f"Depths in µm from the front surface, epithelium included. {PROTOCOL} {' '.join(ways.values())}", *words]
    for line in (line for part in parts for line in wrap(part, RIGHT_MM - LEFT_MM, NOTE_PT)):
        if y > 280.0:
            y = begin(what="notes")
        paper.text(LEFT_MM, y, line, NOTE_PT)
        y += NOTE_STEP_MM
