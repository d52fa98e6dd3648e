"""The follow-up on paper, one page for each eye: readings on their strips, the account, bed and reserve of today."""

from collections.abc import Sequence

from tissue.drawing.base.words import SIDES
from tissue.drawing.charts.follow_up import PARTS, rows_behind
from tissue.eye.reading import METHOD_WORDS, WORDS
from tissue.followup.follow import Follow, Ledger, bed_planned, bed_today, layer_estimates, reserve_today
from tissue.followup.notices import follow_notices, on_day
from tissue.followup.strips import Strip
from tissue.paper.page import LEFT_MM, RIGHT_MM, Paper, wrap
from tissue.report.followup.follow_json import Laid
from tissue.report.followup.follow_terminal import LAYER_WORDS
from tissue.report.measures import percent, rounded

FIRST_MM, LAST_MM = 32.0, 262.0
ROW_MM, HEAD_MM, LINE_MM = 6.0, 7.2, 3.4
STRIP_MM, HALF_MM, BETWEEN_MM = (82.0, 132.0), 1.5, 0.9  # ends of 95 of 100; half heights of the bands
FARTHEST_MM = 8.0  # a reading farther out is drawn this far beyond the end
TEXT_PT, SMALL_PT = 8.0, 7.0
READ_AS = (
    "Outlined: 95 of 100 published readings of this kind. Hatched: the part of it between centres. Upright line: their "
    "mean. Diamond: the reading. Each strip has its own scale. It says where a reading lies, not why."
)


class Sheet:
    """The place of the next line on a page; a new page begins where the present one is full."""

    def __init__(self, paper: Paper, code: str, side: str, made: str) -> None:
        self.paper, self.code, self.side, self.made = paper, code, side, made
        self._head("Follow-up")

    def _head(self, title: str) -> None:
        self.paper.text(LEFT_MM, 17.0, title, 17, "serif")
        self.paper.text(LEFT_MM, 22.4, self.code or "no code given; no name is kept here", 8.6, grey=0.3)
        self.paper.text(RIGHT_MM, 17.0, f"{self.side} ({SIDES[self.side]})", 13, "serif", "right")
        self.paper.text(RIGHT_MM, 22.4, self.made, 7.6, align="right", grey=0.3)
        self.paper.line([LEFT_MM, RIGHT_MM], [25.0, 25.0], 0.6)
        self.y = FIRST_MM

    def room(self, height_mm: float) -> float:
        """The next place of that height [mm]; on a new page where there is none."""
        if self.y + height_mm > LAST_MM:
            self.paper.close_page()
            self._head("Follow-up, continued")
        at = self.y
        self.y += height_mm
        return at


def follow_page(paper: Paper, code: str, side: str, laid: Laid, made: str) -> None:
    """Draw the follow-up of one eye on pages of its own.

    Args:
        paper: Paper.
        code: the pseudonym.
        side: OD or OS.
        laid: Laid of the eye.
        made: version, input and date, as the first page of the record has them.
    """
    found, sheet = laid.found, Sheet(paper, code, side, made)
    paper.text(LEFT_MM, sheet.room(6.0), f"Done: {found.done.option.title}", 10, "bold")
    for reading, strips, ledger in zip(found.readings, laid.strips, found.ledgers, strict=True):
        day = on_day(reading)
        title = f"{day[0].upper()}{day[1:]}, by {METHOD_WORDS[reading.method]}"
        paper.text(LEFT_MM, sheet.room(HEAD_MM) + 1.4, title, 9.5, "serif")
        for name, strip in strips.items():
            _strip_row(paper, sheet.room(ROW_MM), name, float(getattr(reading, name)), strip)
        if ledger is not None:
            _lines(sheet, [_account(ledger)])
    paper.text(LEFT_MM, sheet.room(HEAD_MM) + 1.4, "By the errors of the plan and all readings", 9.5, "serif")
    _lines(sheet, _today(found))
    notices = [notice.text for notice in follow_notices(found, laid.strips, laid.own_source)]
    _lines(sheet, [*notices, READ_AS])
    paper.close_page()


def _lines(sheet: Sheet, texts: Sequence[str]) -> None:
    """Sentences, each wrapped to the width of the page."""
    for text in texts:
        for line in wrap(text, RIGHT_MM - LEFT_MM, TEXT_PT):
            sheet.paper.text(LEFT_MM, sheet.room(LINE_MM), line, TEXT_PT)
        sheet.y += 0.8


def _strip_row(paper: Paper, y: float, name: str, value: float, strip: Strip | None) -> None:
    """One reading on its strip; the strip ends where 95 of 100 published readings do."""
    words, unit, decimals = WORDS[name]
    paper.text(LEFT_MM, y + 1.0, f"{words}, {unit}", TEXT_PT)
    paper.text(60.0, y + 1.0, rounded(value, decimals), TEXT_PT, "bold", "right")
    if strip is None:
        paper.text(STRIP_MM[0], y + 1.0, "no published rows", SMALL_PT, grey=0.3)
        return
    left, right = STRIP_MM
    middle = 0.5 * (left + right)
    reach = (right - left) / (strip.high - strip.low)
    between = 1.96 * strip.between_sd * reach
    for half, wide, grey, hatch in ((HALF_MM, middle - left, 1.0, None), (BETWEEN_MM, between, 0.9, "/")):
        if wide > 0.2:
            x = [middle - wide, middle + wide, middle + wide, middle - wide]
            paper.area(x, [y - half, y - half, y + half, y + half], grey, hatch)
    box = [left, right, right, left, left]
    paper.line(box, [y - HALF_MM, y - HALF_MM, y + HALF_MM, y + HALF_MM, y - HALF_MM], 0.5)
    paper.line([middle, middle], [y - HALF_MM - 0.5, y + HALF_MM + 0.5], 0.9)
    at = min(max(middle + (value - strip.expected) * reach, left - FARTHEST_MM), right + FARTHEST_MM)
    paper.area([at - 1.1, at, at + 1.1, at], [y, y - 1.5, y, y + 1.5], 0.0)
    for end, number, align in ((min(left, at) - 1.6, strip.low, "right"), (max(right, at) + 1.6, strip.high, "left")):
        paper.text(end, y + 1.0, rounded(number, decimals), SMALL_PT, align=align, grey=0.3)
    text = f"mean {rounded(strip.expected, decimals)}; {rows_behind(strip)}"
    paper.text(RIGHT_MM, y + 1.0, text, SMALL_PT, align="right", grey=0.3)


def _account(ledger: Ledger) -> str:
    """The account of one reading on one line."""
    parts = [(words, getattr(ledger, part)) for part, words in PARTS]
    said = " ".join(f"− {words} {rounded(one.mean_um)} ± {rounded(one.sd_um)}" for words, one in parts)
    return f"Thinner by, µm: planned {rounded(ledger.planned_um)} {said} = measured {rounded(ledger.measured_um)}."


def _today(found: Follow) -> list[str]:
    """Bed, layers and reserve in sentences."""
    before, today, left = bed_planned(found), bed_today(found), reserve_today(found)
    line = rounded(found.comparison.judgement.bed_line_um)
    beds = (
        f"Residual bed, centre, µm: planned {rounded(found.done.budget.bed_central_um)} (errors counted "
        f"{rounded(before.low_um)} to {rounded(before.high_um)}); today {rounded(today.mean_um)} "
        f"({rounded(today.low_um)} to {rounded(today.high_um)}), least {rounded(today.min_um)}; chance under {line}: "
        f"{percent(today.below_line_percent)} %."
    )
    layers = ", ".join(
        f"{LAYER_WORDS[name]} {rounded(part.mean_um)} ± {rounded(part.sd_um)}"
        for name, part in layer_estimates(found).items()
        if part is not None
    )
    reserve = (
        f"Reserve over the user's line of {line} µm: {rounded(left.mean_um)} ({rounded(left.low_um)} to "
        f"{rounded(left.high_um)}), planned {rounded(left.planned_um)}; thinnest flap below the epithelium "
        f"{rounded(left.flap_least_um)}"
    )
    room = "" if left.room_um is None else f"; room for a thin flap in the cap {rounded(left.room_um)}"
    return [beds, f"Layers, µm: {layers}.", f"{reserve}{room}."]
