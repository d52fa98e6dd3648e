"""The handout: one A4 page for the patient, one way in both eyes, in black and white, with room to write."""

from tissue.drawing.patient.words import PAGE, STANDING
from tissue.paper.handout_eye import HEAD_PT, LARGEST, NUMBER_PT, STEP_MM, TEXT_PT, Eye, bars, paragraph, scales, step
from tissue.paper.page import FOOT_MM, LEFT_MM, RIGHT_MM, Paper, text_width_mm

COLUMN_MM, GAP_MM, CELL_GAP_MM = 86.0, 10.0, 4.0
SECOND_MM = LEFT_MM + COLUMN_MM + GAP_MM
LEAST_WRITE_MM, MOST_WRITE_MM = 6.0, 12.0  # between a question and the line to write on


def handout(code, eyes, way, date="", invented=False):
    """The bytes of the page.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, Comparison; the right eye stands on the left of the page.
        way: `surface`, `flap` or `lenticule`.
        date: what is printed as the date; nothing where empty.
        invented: whether the eyes are made up, which the page then says.
    """
    sides = [side for side in ("OD", "OS") if side in eyes]
    both = [Eye(side, eyes[side], way, x) for side, x in zip(sides, (LEFT_MM, SECOND_MM), strict=False)]
    paper = Paper(f"{PAGE['handout']} {code}".strip(), STANDING)
    _head(paper, both, (date, code, PAGE["invented"] if invented else ""))
    y = _pictures(paper, both, 33.0)
    _questions(paper, both[0].told, _words(paper, both, y + 6.4))
    paper.close_page()
    return paper.finish()


def _head(paper, both, right):
    """Title, way, pseudonym, date."""
    paper.text(LEFT_MM, 16.0, PAGE["paper_titles"][len(both) - 1], 17, "serif")
    name = both[0].told.name
    paper.text(LEFT_MM, 22.2, name, HEAD_PT, "bold")
    paper.text(LEFT_MM + text_width_mm(name, HEAD_PT, "bold") + 5.0, 22.2, PAGE["scale"], NUMBER_PT)
    for i, words in enumerate(filter(None, right)):
        paper.text(RIGHT_MM, 14.4 + 4.0 * i, words, 8.0, align="right", grey=0.3)
    paper.line([LEFT_MM, RIGHT_MM], [25.0, 25.0], 0.6)
    for eye in both:
        paper.text(eye.x, 31.4, eye.title, 13, "serif")


def _pictures(paper, both, y):
    """The pictures with their words, rows of both eyes in line; gives the lower edge."""
    across = 2 if len(both) > 1 else 4
    width = COLUMN_MM if len(both) > 1 else RIGHT_MM - LEFT_MM
    cell = (width - CELL_GAP_MM * (across - 1)) / across
    scale = min(LARGEST, cell / (2.0 * max(eye.half_mm for eye in both)))
    frame = [max(part) for part in zip(*(eye.frame(scale) for eye in both), strict=True)]
    for eye in both:
        scales(paper, eye.x + width, y - 1.6, scale)
    for first in range(0, max(len(eye.pictures) for eye in both), across):
        ends = [
            step(paper, eye, at, eye.x + (at - first) * (cell + CELL_GAP_MM), y, cell, scale, frame)
            for eye in both
            for at in range(first, min(first + across, len(eye.pictures)))
        ]
        ends += [_why_not(paper, eye, cell, y) for eye in both if eye.told.why_not and first == 0]
        y = max(ends) - STEP_MM + 2.2
    return y


def _why_not(paper, eye, cell, y):
    """Why there is no more to see, in the place of the second picture."""
    return paragraph(paper, eye.x + cell + CELL_GAP_MM, y + 4.0, cell, eye.told.why_not, "bold")


def _words(paper, both, y):
    """How thick that is, what is known and what is not; gives the base line after them."""
    if len(both) == 1:
        end = bars(paper, both[0], LEFT_MM, y)
        right = _paragraph(paper, SECOND_MM, y, PAGE["known"], both[0].told.known[0])
        right = _paragraph(paper, SECOND_MM, right + 2.6, PAGE["held"], both[0].told.known[1])
        return max(end, _paragraph(paper, SECOND_MM, right + 2.6, PAGE["unknown"], both[0].told.unknown))
    y = max([bars(paper, eye, eye.x, y) for eye in both]) + 0.6
    y = max([_paragraph(paper, eye.x, y, PAGE["known"], eye.told.known[0]) for eye in both]) + 2.2
    left = _paragraph(paper, LEFT_MM, y, PAGE["held"], both[0].told.known[1])
    return max(left, _paragraph(paper, SECOND_MM, y, PAGE["unknown"], both[0].told.unknown))


def _paragraph(paper, x, y, head, text):
    """A head with a paragraph; gives the base line after it."""
    paper.text(x, y, head, HEAD_PT, "serif")
    return paragraph(paper, x, y + 4.6, COLUMN_MM, text)


def _questions(paper, told, y):
    """Questions with lines to write on, as far apart as the page has room, and what is not on this page."""
    y += 2.6
    paper.text(LEFT_MM, y, PAGE["questions"], HEAD_PT, "serif")
    last, y = FOOT_MM - 5.0, y + 5.0
    rows = (len(told.questions) + 1) // 2 + 1
    write = min(max((last - STEP_MM - y) / rows - 5.0, LEAST_WRITE_MM), MOST_WRITE_MM)
    for i, question in enumerate(told.questions):
        x, row = (LEFT_MM, SECOND_MM)[i % 2], y + (i // 2) * (write + 5.0)
        paper.text(x, row, question, TEXT_PT)
        paper.line([x, x + COLUMN_MM], [row + write, row + write], 0.3, grey=0.4)
    y += (rows - 1) * (write + 5.0)
    paper.text(LEFT_MM, y, PAGE["own_questions"], TEXT_PT)
    while y + write < last - STEP_MM:
        y += write
        paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.3, grey=0.4)
    paragraph(paper, LEFT_MM, last, RIGHT_MM - LEFT_MM, f"{PAGE['missing']}: {told.missing}")
