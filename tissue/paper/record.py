"""The record of a plan: one A4 page for one eye or both, to scale, with every value used."""

import hashlib
from collections.abc import Sequence

from tissue.budget.comparison import Comparison
from tissue.budget.strength.relationship import relationships
from tissue.drawing.base.outline import half_width_mm, outlines
from tissue.drawing.base.rings import front
from tissue.drawing.base.words import NASAL_SIGN, SIDES, place_words, whole
from tissue.entry.notation import shown, write
from tissue.entry.plan_file import Plan, PlanError, plan_alone
from tissue.paper.eye import DASH, TITLES, Frame, draw_bars, draw_front, draw_map, draw_section
from tissue.paper.follow_page import follow_page
from tissue.paper.page import LEFT_MM, RIGHT_MM, Paper, text_width_mm
from tissue.paper.record_words import NOTE_PT, Eyes, EyeTold, checks, note_lines
from tissue.removal.options import Every
from tissue.report.contract import refraction_figures
from tissue.report.followup.follow_json import Laid, followed
from tissue.report.measures import FINE, Measure, marked, measures, measures_of, spread_of, value_of, weight_of
from tissue.report.origin import version_words
from tissue.report.readback import readback_words

COLUMN_MM, GAP_MM = 86.0, 10.0
ROW_MM, SECTION_MM = 32.2, 27.5  # of each of three sections, with and without head; more share this
LEAST_DEEP_UM = 687.5  # least depth that a section shows
TWO_EYES_MM, ONE_EYE_MM = (70.0, 170.0), (86.0, 154.0)  # first and last right edge of the figures
EYES_APART, SIDE_MM = 1.8, 55.5  # steps between the figures of the two eyes; where the name of the first eye ends
COLUMN_X = {"OD": LEFT_MM, "OS": LEFT_MM + COLUMN_MM + GAP_MM}
ROWS = (
    "cut",
    "removed",
    "bed",
    "bed_least",
    "below_line",
    "altered",
    "removed_share",
    "strength",
    "uncut",
    "less_removal",
    "K_after",
)
CHECK_PT, CHECK_MM = 7.4, 135.0  # left edge of the last read-back's result, beside its heading
NOTE_STEP_MM, NOTES_END_MM = 2.6, 260.0
SHORT = Every(lambda traits: traits.short)


def record(
    code: str,
    eyes: Eyes,
    plan_bytes: bytes,
    file_name: str = "plan.toml",
    date: str = "",
) -> bytes:
    """The bytes of the record.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, (Inputs, Comparison, refraction as typed).
        plan_bytes: the plan file, which goes into the document so that the page can be made again.
        file_name: what the plan file is called there.
        date: what is printed as the date; nothing where empty.
    """
    paper = Paper(f"Record of a plan {code}".strip())
    draw_record(paper, code, eyes, plan_bytes, file_name, date)
    return paper.finish()


def draw_record(
    paper: Paper,
    code: str,
    eyes: Eyes,
    plan_bytes: bytes,
    file_name: str = "plan.toml",
    date: str = "",
) -> None:
    """The pages of one record, put into a document.

    Args:
        paper: Paper; the others as in `record`.
    """
    digest = hashlib.sha256(plan_bytes).hexdigest()
    _head(paper, code, digest, file_name, date)
    for side, eye in eyes.items():
        _eye(paper, side, eye)
    y = _table(paper, eyes, 169.6)
    plan = _plan_in(plan_bytes)
    said = readback_words(plan.readback if plan else None, eyes)
    beside = text_width_mm(said, CHECK_PT) <= CHECK_MM
    left = _notes(paper, note_lines(eyes, "" if beside else said), y + 3.6)
    _read_back(paper, 264.4, said if beside else "Read back: see the notes.")
    paper.attach(file_name, plan_bytes)
    paper.close_page()
    made = "  ".join(filter(None, (_input(digest), date)))
    while left:
        paper.text(LEFT_MM, 17.0, "Record of a plan, notes continued", 13, "serif")
        paper.text(RIGHT_MM, 15.4, code or "no code given", 8.6, align="right")
        paper.text(RIGHT_MM, 19.0, made, 7.6, align="right", grey=0.3)
        left = _notes(paper, left, 24.0)
        paper.close_page()
    for side, laid in (_followed(plan, eyes) if plan else {}).items():
        follow_page(paper, code, side, laid, made)


def _followed(plan: Plan, eyes: Eyes) -> dict[str, Laid]:
    """The follow-up, by side, of every eye that was operated and measured again."""
    if not any(plan.readings.values()):
        return {}
    return followed(plan.readings, {side: (inputs, comparison) for side, (inputs, comparison, _) in eyes.items()})[0]


def _head(paper: Paper, code: str, digest: str, file_name: str, date: str) -> None:
    """Title, pseudonym, version, hash of the input."""
    paper.text(LEFT_MM, 17.0, "Record of a plan", 17, "serif")
    who = f"{code}  a pseudonym; no name is kept here" if code else "no code given; no name is kept here"
    paper.text(LEFT_MM, 22.4, who, 8.6, grey=0.3)
    right = [
        _input(digest),
        "  ".join(filter(None, (date, f"plan file inside: {shown(file_name)}"))),
    ]
    for i, words in enumerate(right):
        paper.text(RIGHT_MM, 15.4 + 3.8 * i, words, 7.6, align="right", grey=0.3)
    paper.line([LEFT_MM, RIGHT_MM], [25.0, 25.0], 0.6)


def _input(digest: str) -> str:
    """The version and the first digits of the hash of the plan."""
    parts = " ".join(digest[i : i + 4] for i in (0, 4, 8))
    return f"{version_words()}  input {parts}"


def _eye(paper: Paper, side: str, eye: EyeTold) -> None:
    """One eye: what was read, the front view, a section of every option."""
    _, comparison, typed = eye
    x = COLUMN_X[side]
    _read(paper, x, side, comparison, typed)
    ends = ("temporal", "nasal") if NASAL_SIGN[side] > 0 else ("nasal", "temporal")
    draw_front(paper, front(comparison), x + 62.0, 45.0, 13.0, ends)
    draw_map(paper, comparison, x + 62.0, 45.0, 13.0)
    half = half_width_mm(comparison)
    drawn = outlines(comparison, 0.0, half)
    deepest = max(LEAST_DEEP_UM, *(float(o.back.depth_um.max()) + 40.0 for o in drawn.values()))
    step, height = (3.0 * part / len(drawn) for part in (ROW_MM, SECTION_MM))
    for i, (name, outline) in enumerate(drawn.items()):
        y = 69.0 + step * i
        paper.text(x, y - 1.4, TITLES[name], 9.0, "serif")
        paper.line([x + COLUMN_MM - 12.0, x + COLUMN_MM], [y - 2.4, y - 2.4], 1.1, DASH[name])
        frame = Frame(x, y, COLUMN_MM, height, half, deepest)
        draw_section(paper, outline, frame)
    draw_bars(paper, frame, x + 24.0, 167.4)
    paper.text(x, 167.4, ends[0], 9.0, "italic")
    paper.text(x + COLUMN_MM, 167.4, ends[1], 9.0, "italic", "right")


def _read(paper: Paper, x: float, side: str, comparison: Comparison, typed: str) -> None:
    """The refraction as read, in the other form and as typed; cornea and treatment."""
    both = refraction_figures(comparison.measured, comparison.treatment.refraction)
    minus, plus = write(both["sphere_D"], both["cylinder_D"], both["axis_deg"])
    treated = comparison.treatment.refraction
    cornea, cap = comparison.cornea, comparison.under_cap.option
    plane = treated.at_cornea().minus()
    paper.text(x, 31.0, f"{side} ({SIDES[side]})", 13, "serif")
    paper.text(x, 36.2, f"read {minus}", 11.5, "bold")
    rows = [
        f"or {plus}" if plus != minus else "no cylinder",
        f"typed {shown(typed)}" if typed else "typed as three numbers",
    ]
    wanted = write(treated.sphere_D, treated.cylinder_D, treated.axis_deg)[0]
    rows.append(f"treated {wanted}" if wanted != minus else "treated as measured")
    rows.append(f"at the cornea {write(plane.sphere_D, plane.cylinder_D, plane.axis_deg)[0]}")
    for i, words in enumerate(rows):
        paper.text(x, 40.4 + 3.7 * i, words, 8.0 if i else 8.6, grey=0.25 if i else 0.0)
    paper.text(
        x, 56.2, f"centre {whole(cornea.central_thickness_um)}  thinnest {whole(cornea.thinnest_um)} µm", 8.4, "bold"
    )
    where = place_words(cornea.thinnest_x_mm, cornea.thinnest_y_mm, side)
    paper.text(x, 59.8, f"thinnest point {where}", 8.0, grey=0.25)
    flap = comparison.under_flap.option
    zone = f"zone {comparison.treatment.zone_mm:.2f} mm"
    cuts = f"{zone}  flap {whole(flap.cut_um)}  cap {whole(cap.cut_um)} µm"
    paper.text(x, 63.2, cuts, 8.4, "bold")


def _rows(comparisons: Sequence[Comparison]) -> list[Measure]:
    """The measures of the table; the greatest share among the others where an eye is a ring."""
    shares = {one.id for one in measures_of("shares", comparisons)}
    wanted = [name for row in ROWS for name in (("altered_max", row) if row == "altered" else (row,))]
    return [measures()[name] for name in wanted if name != "altered_max" or name in shares]


def _columns(eyes: Eyes) -> dict[tuple[str, str], float]:
    """Right edges of the figures [mm] by (side, option)."""
    first, last = TWO_EYES_MM if len(eyes) > 1 else ONE_EYE_MM
    an_eye = len(SHORT) - 1 + EYES_APART  # steps from an option of one eye to the same option of the other eye
    step = (last - first) / (an_eye * (len(eyes) - 1) + len(SHORT) - 1)
    return {
        (side, name): LEFT_MM + first + step * (an_eye * eye + option)
        for eye, side in enumerate(eyes)
        for option, name in enumerate(SHORT)
    }


def _sides(paper: Paper, eyes: Eyes, y: float) -> None:
    """The names of the eyes at both ends of a row of figures, where there are two."""
    first, *others = eyes
    if others:
        paper.text(LEFT_MM + SIDE_MM, y, first, 6.8, align="right", grey=0.3)
        paper.text(RIGHT_MM, y, others[-1], 6.8, align="right", grey=0.3)


def _table(paper: Paper, eyes: Eyes, y: float) -> float:
    """Draw the figures of both eyes, with a spread below its value; gives the line after them."""
    columns = _columns(eyes)
    paper.line([LEFT_MM, RIGHT_MM], [y, y], 1.0)
    paper.text(LEFT_MM, y + 3.8, "depth in µm, shares in %", 7.0, grey=0.3)
    for (side, name), right in columns.items():
        words = f"{side} {SHORT[name]}" if name == next(iter(SHORT)) else SHORT[name]
        paper.text(right, y + 3.8, words, 7.6, "bold", "right")
    y += 5.2
    paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.6)
    judgement = next(iter(eyes.values()))[1].judgement
    comparisons = [comparison for _, comparison, _ in eyes.values()]
    for measure in _rows(comparisons):
        y += 3.55
        weight = weight_of(measure, comparisons)
        size, face = (6.8, "sans") if weight == FINE else (7.8, "bold" if weight else "sans")
        paper.text(LEFT_MM, y - 0.9, f"{measure.heading(judgement)}, {measure.unit}", min(size, 7.4))
        _sides(paper, eyes, y - 0.9)
        spreads = False
        for (side, name), right in columns.items():
            comparison = eyes[side][1]
            result = comparison.results[name]
            value = value_of(measure, result, comparison.judgement)
            paper.text(right, y - 0.9, value, size, face, "right")
            if marked(measure, result):
                paper.text(right + 0.2, y - 0.9, "†", 7.0)
            beside = spread_of(measure, result).partition(" over ")[0]
            if beside:
                spreads = True
                paper.text(right, y + 2.1, beside, 6.8, align="right", grey=0.3)
        if spreads:
            words = f"over {len(relationships())} curves" if measure.id == "strength" else "95 % of errors"
            paper.text(LEFT_MM + 2.0, y + 2.1, words, 6.8, grey=0.3)
            y += 2.9
        paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.25, grey=0.6)
    return y


def _plan_in(plan_bytes: bytes) -> Plan | None:
    """The Plan in a file, for its read-back and its readings; None where it cannot be read."""
    try:
        return plan_alone(plan_bytes)
    except PlanError:
        return None


def _notes(paper: Paper, lines: list[str], y: float) -> list[str]:
    """Draw as many lines as fit on this page; gives the others."""
    room = int((NOTES_END_MM - y) / NOTE_STEP_MM) + 1
    for i, line in enumerate(lines[:room]):
        paper.text(LEFT_MM, y + NOTE_STEP_MM * i, line, NOTE_PT)
    return lines[room:]


def _read_back(paper: Paper, y: float, said: str) -> None:
    """Draw the result of the last read-back, boxes to tick and two lines to sign."""
    paper.text(LEFT_MM, y, "Read back before treatment", 10.0, "serif")
    paper.text(RIGHT_MM, y, said, CHECK_PT, align="right")
    x, y = LEFT_MM, y + 4.2
    for words in checks():
        width = 4.0 + text_width_mm(words, 7.4) + 5.0
        if x + width > RIGHT_MM:
            x, y = LEFT_MM, y + 4.2
        paper.box(x, y)
        paper.text(x + 3.8, y - 0.4, words, 7.4)
        x += width
    y += 6.6
    for left, words in ((LEFT_MM, "read by, date"), (LEFT_MM + COLUMN_MM + GAP_MM, "read back by, date")):
        paper.line([left, left + COLUMN_MM], [y, y], 0.5)
        paper.text(left, y + 2.8, words, 6.6, grey=0.3)
