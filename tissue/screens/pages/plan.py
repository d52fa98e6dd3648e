"""Plan: three ways to the same correction side by side, with sections above their columns of figures."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from datetime import date
from typing import TYPE_CHECKING, Any

import streamlit as st

from tissue.budget.comparison import Comparison
from tissue.drawing.base.palette import Look
from tissue.drawing.section import section
from tissue.drawing.section.describe import section_table
from tissue.entry.checks import Fault
from tissue.entry.file_name import file_name
from tissue.screens import frame
from tissue.screens.desk.drawn import draw_when_quiet
from tissue.screens.desk.link import CSV, PDF, File, hand, shown_first, sound
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.press import press
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import OTHER, SIDES, after_told, desk
from tissue.screens.fields import inputs
from tissue.screens.html import NOTHING, joined, put, tag
from tissue.screens.kept import changed, choice, stand, widget_key
from tissue.screens.letter.read_back import ask_readback, state_words
from tissue.screens.parts.chart.chart import main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan import below, views, words
from tissue.screens.plan.moved import moved_part
from tissue.screens.plan.views import ANY, HORIZONTAL, angle_of, meridians
from tissue.screens.tables.options import heads, pair_table

if TYPE_CHECKING:
    from tissue.paper.day import InDay

HELP = "One page for the chart: every value used, sections to scale, what to read back, the plan file inside it."


def show() -> None:
    """Draw the screen."""
    shown_first(_work_out_pictures)
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is not None and not on_desk.both:
        _one(on_desk, shown, wrong)
        return
    colours = frame.begin()
    if shown is None:
        put(words.nothing_yet(on_desk.side, on_desk.code, wrong))
    else:
        _both(on_desk, shown, colours)
    inputs.sidebar(on_desk)


def _work_out_pictures(on_desk: Desk) -> None:
    """Work out the pictures of the plan on the desk, so that they can be sent at once.

    Not in a drag: there the strip with the figures stands beside the picture and is sent while that is worked out.
    """
    sides = SIDES if on_desk.both else (on_desk.side,)
    for shown, _ in map(on_desk.figures, sides):
        if shown is not None and on_desk.moves.now is None:
            views.picture(on_desk, shown, frame.theme(), columns=len(sides), draw=False)


def _one(on_desk: Desk, shown: Shown, wrong: dict[str, Fault]) -> None:
    """Draw one eye; the sections go to the browser first, the parts that nobody looks at while typing follow."""
    _work_out_pictures(on_desk)
    colours = frame.theme()
    top = st.container(key="top")
    strip = words.stale(shown, on_desk.texts[on_desk.side], wrong) if wrong else ""
    box = st.container(key="sections_box", gap=None)
    narrow = main_width() < section.NARROW_PX
    named = heads(narrow) if views.drawn_view(on_desk.view) != views.FLAT else NOTHING
    piece("moved", moved_part(on_desk, shown, narrow, named))
    with box:
        views.picture(on_desk, shown, colours, strip)
        _csv()
    with top:
        piece("eye", words.eye_line(shown, on_desk.side, on_desk.code) + words.notice_line(shown))
        _ask(on_desk)
        _controls(on_desk, shown, views.VIEWS)
    frame.begin()
    inputs.sidebar(on_desk)
    _with_draws(main_width(), [shown], lambda narrow: below.show(shown, on_desk, colours, narrow))


@st.fragment
def _with_draws(width: int, eyes: Iterable[Any], show: Callable[[bool], None]) -> None:
    """Draw the parts that need the draws; only they are drawn again when no change has come for a moment.

    Args:
        width: width of the main column [px] when the rest of the screen was drawn.
        eyes: Shown of every eye on the screen.
        show: draws it; it is told whether the narrow columns are in use.
    """
    if main_width() != width or [desk().figures(one.inputs.side)[0] for one in eyes] != list(eyes):
        st.rerun()  # a picture here has just reported the width, or the fields show another eye by now
    show(width < section.NARROW_PX)
    draw_when_quiet(eyes, _draw)


def _draw() -> None:
    """Work out the draws when nothing was changed for a moment."""
    on_desk = desk()
    for side in SIDES if on_desk.both else (on_desk.side,):
        shown, _ = on_desk.figures(side)
        if shown is not None:
            _ = shown.drawn


def _ask(on_desk: Desk) -> None:
    """Ask about eyes that may be a copy of each other left unchanged."""
    question = on_desk.question()
    if question:
        with st.container(horizontal=True, vertical_alignment="center", key="ask"):
            put(tag("div", question, class_="ask"))
            of = on_desk.id, on_desk.side
            press("agree", "Yes, it is right", on_desk.agree, on_desk.asked, of=of)


def _both(on_desk: Desk, looked_at: Shown, colours: Look) -> None:
    """Draw both eyes: the right one on the left of the page, the left one on the right."""
    found = {side: on_desk.figures(side) for side in SIDES}
    with st.container(key="pair_top"):
        _controls(on_desk, looked_at, views.OF_BOTH)
        _ask(on_desk)
    columns = st.columns(2, gap="small")
    _moved(on_desk, found)
    for side, column in zip(SIDES, columns, strict=True):
        with column:
            one, wrong = found[side]
            if one is None:
                put(words.nothing_yet(side, on_desk.code, wrong))
                continue
            piece(f"eye-{side}", words.eye_line(one, side, on_desk.code))
            strip = words.stale(one, on_desk.texts[side], wrong) if wrong else ""
            views.picture(on_desk, one, colours, strip, columns=2)
    eyes = {side: one for side, (one, _) in found.items() if one is not None}
    shown = eyes.values()
    footnotes = words.pair_footnotes(shown, on_desk.kept) + below.notices_part(*shown)
    _with_draws(main_width(), shown, lambda _: piece("pair", pair_table(eyes, on_desk.kept) + footnotes))


def _moved(on_desk: Desk, found: dict[str, Any]) -> None:
    """What a drag moved in one of two eyes; drawn before the pictures, placed under them."""
    move, narrow = on_desk.moves.now, main_width() < section.NARROW_PX
    one = found[move.side][0] if move else None
    named = (tag("p", _capital(words.SIDES[move.side])), heads(narrow)) if one and move else ()
    piece("moved", moved_part(on_desk, one, narrow, joined(*named)) if one else NOTHING)


def _controls(on_desk: Desk, shown: Shown, offered: tuple[str, ...]) -> None:
    """The controls for view, meridian and what is drawn beside; a change is taken over before anything is drawn."""
    with st.container(horizontal=True, gap="small", vertical_alignment="center", key="controls"):
        _choice(on_desk, "view", "View", offered, _capital)
        words_of = _named(None if on_desk.both else shown.comparison)
        _choice(on_desk, "meridian", "Meridian", (*meridians(shown.comparison), ANY), words_of)
        if on_desk.meridian == ANY:
            stand("angle", on_desk.angle)
            place: dict[str, Any] = {"label_visibility": "collapsed", "width": 110}
            st.slider("Angle of the meridian, °", 0, 179, key="angle", on_change=_taken, args=("angle",), **place)
        _beside(on_desk)


def _beside(on_desk: Desk) -> None:
    """The other eye beside this one, and a kept plan behind this one."""
    alone = not on_desk.texts.get(OTHER[on_desk.side])
    key = widget_key("both", on_desk.both, on_desk.id)  # the next patient begins with one eye on the screen
    st.toggle("Both eyes", key=key, disabled=alone, on_change=after_told(take_both), args=(on_desk, key))
    side = on_desk.side
    keep, drop = ("keep", "Keep this plan", on_desk.keep), ("keep_drop", "Drop the kept plan", on_desk.drop_kept)
    key, label, does = drop if on_desk.kept.get(side) else keep
    press(key, label, does, side, of=(on_desk.id, side), type="tertiary", help=KEEP_HELP)
    with st.container(key="record", width="content"):
        hand("record", "Record for print", record_file, HELP)
    press("readback", "Read back", ask_readback, type="tertiary", help=READBACK_HELP)
    if on_desk.readback:
        put(tag("span", state_words(on_desk), class_="readback-state"))


READBACK_HELP = "A second person types what is treated, with the plan out of sight; every difference is named."
KEEP_HELP = "The plan as it is now stays as a thin outline in the sections and as a second value in the table."


def _taken(name: str) -> None:
    """Keep a changed control on the desk, so that it stays when the screen is left."""
    setattr(desk(), name, choice(name, getattr(desk(), name)))


def take_both(on_desk: Desk, key: str) -> None:
    """Show both eyes or one; a late message about the patient before must not change this one.

    Args:
        on_desk: Desk that the widget was drawn for. key: of the widget.
    """
    both = changed("both", key)
    if both is not None:
        on_desk.both = both


def _choice(on_desk: Desk, name: str, label: str, options: tuple[str, ...], words_of: Callable[[str], str]) -> None:
    """A row of words of which one is chosen."""
    chosen = getattr(on_desk, name)
    stand(name, chosen if chosen in options else options[0])
    place: dict[str, Any] = {"required": True, "label_visibility": "collapsed", "format_func": words_of}
    st.segmented_control(label, options, key=name, on_change=_taken, args=(name,), **place)


def _capital(view: str) -> str:
    return view[0].upper() + view[1:]


def _named(comparison: Comparison | None) -> Callable[..., Any]:
    """Words for a meridian; without its angle where it stands for two eyes."""
    known = {HORIZONTAL: "0–180°", "thinnest": "Through thinnest", ANY: "Any angle"}
    if comparison is None:
        return (known | {"axis": "Along the axis", "across": "Across it"}).get
    angles = meridians(comparison)
    return (known | {"axis": f"Axis {angles.get('axis', 0):.0f}°", "across": f"{angles.get('across', 0):.0f}°"}).get


def _csv() -> None:
    """The section in numbers."""
    with st.container(key="csv"):
        hand("csv", "section as CSV", section_file)


def section_file(on_desk: Desk) -> File:
    """The section of the eye shown in the fields, as a file."""
    shown = sound(on_desk, (on_desk.side,))[on_desk.side]
    angle = angle_of(on_desk, shown.comparison)
    name = file_name(f"{on_desk.code}-{on_desk.side}-section", ".csv")
    return name, CSV, section_csv(shown.comparison, angle).encode()


def section_csv(comparison: Comparison, angle: float) -> str:
    """The section as CSV: µm and mm, a row every 0.1 mm.

    Args:
        comparison: Comparison of one eye.
        angle: meridian [degrees].
    """
    rows = section_table(comparison, angle)
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def record_file(on_desk: Desk) -> File:
    """The page for the patient's chart: the same that the command makes from the saved plan."""
    name = file_name(f"{on_desk.code or 'plan'}-record", ".pdf")
    return name, PDF, record_page(on_desk, sound(on_desk), str(date.today()))


def record_page(on_desk: Desk, eyes: dict[str, Shown], day: str) -> bytes:
    """The bytes of the record.

    Args:
        on_desk: Desk.
        eyes: by side, Shown.
        day: what is printed as the date.
    """
    from tissue.paper.record import record

    code, told, plan, name = record_parts(on_desk, eyes)
    return record(code, told, plan, name, day)


def record_parts(on_desk: Desk, eyes: dict[str, Shown]) -> InDay:
    """What a record is made from: code, eyes, plan file and its name. Arguments as in `record_page`.

    Raises:
        EyeError: the plan file, which goes into the document, would be too large to be opened again.
    """
    told = {side: (one.inputs, one.comparison, one.texts.get("refraction", "")) for side, one in eyes.items()}
    return on_desk.code, told, on_desk.file_bytes(), file_name(on_desk.code, ".toml")
