"""Suction loss: the cuts over time, what is cut at a moment, and the rescue options as others describe them."""

from datetime import date
from functools import partial
from typing import Any

import numpy as np
import streamlit as st

from tissue.drawing.base.palette import Look
from tissue.drawing.routes import cut_clock, cut_front, cut_played, ways_out
from tissue.drawing.section.section import NARROW_PX
from tissue.entry.checks import Fault
from tissue.entry.file_name import file_name
from tissue.ground.vocabulary import CAP_FIRST, LENTICULE_FIRST, most_written
from tissue.report.measures import rounded
from tissue.routes.cutting import Clock, clock_of, done_percent
from tissue.routes.notices import rescue_notices
from tissue.routes.rescue import Rescue, rescue
from tissue.routes.ways import ANOTHER_DAY, OVER_FLAP, suction_counts
from tissue.screens.desk.link import PDF, File, hand, sound
from tissue.screens.desk.moves import put_moment
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import after_told
from tissue.screens.fields.of_eye import of_eye
from tissue.screens.fields.own_fields import Cell, plan_fields
from tissue.screens.html import notes, part, prose, put, tag
from tissue.screens.kept import changed, kept, widget_key
from tissue.screens.parts.chart.chart import Picture, chart, main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.tables.routes import heads, notice_lines, rows_of, ways_notes, ways_table

TIME, STAGE = "A moment on the clock", "A stage and a percentage"
FIRST_S = 4.5
THREE_PX = 600  # in a narrower main column two ways stand side by side, not three
CELLS = (
    Cell("suction_stage", "Stage", (("", "not given"), *cut_clock.CUT_NAMES.items())),
    Cell("suction_done", "Done, % of that cut's area"),
)
TITLE = "Rescue options, as others describe them"
NOT_DESCRIBED = "Rescue options, as the geometry leaves them: nobody describes them for this order"
ORDER_SAID = {
    LENTICULE_FIRST: "Order: the lenticule first, common practice.",
    CAP_FIRST: "Order: the cap first, as you set it; no published source says what is usual then.",
}
OWN_ORDER = "Order and time are your own settings, under More: limits and assumptions."
READ_AS = (
    "Heavy line: cut so far. Dotted: the rest of the plan. Hatched, with the line of its name: the "
    "new plan. Each section runs through the least clearance of its way, else from 0 to 180°."
)


def show() -> None:
    """Draw the screen."""
    of_eye("suction", _ways_or_why)


def _ways_or_why(on_desk: Desk, shown: Shown, _: dict[str, Fault], colours: Look) -> None:
    """Draw the screen, or say why nothing is cut in this eye; and the page for both eyes."""
    if shown.comparison.under_cap.available:
        _screen(on_desk, shown, colours)
    else:
        why = shown.comparison.under_cap.why_not
        put(prose(f"Nothing is cut in this eye, so no suction can be lost: {why}.", ANOTHER_DAY))
    _page(on_desk)


def _screen(on_desk: Desk, shown: Shown, colours: Look) -> None:
    """The moment, what is cut by then, the rescue options."""
    comparison, side, width = shown.comparison, on_desk.side, main_width()
    moment = _moment(on_desk, shown, colours, width)
    if moment is None:
        return
    stage, done = moment
    found = kept("rescue", (shown, stage, done), lambda: rescue(comparison, stage, done))
    reached = "" if np.isnan(found.cut_radius_mm) else f", which has reached a radius of {found.cut_radius_mm:.2f} mm"
    said = f"In the {cut_clock.CUT_NAMES[stage]}, {done_percent(done)} % of it done{reached}."
    title = TITLE if found.is_described else NOT_DESCRIBED
    piece("suction_said", prose(said) + tag("p", ANOTHER_DAY, class_="another-day") + part(title))
    narrow = width < NARROW_PX
    for i, routes in enumerate(rows_of(found.routes, 3 if width >= THREE_PX else 2)):
        piece(f"suction_heads{i}", heads(routes, narrow))
        chart(
            f"suction_ways{i}",
            (shown, stage, done, colours.name),
            Picture(
                partial(ways_out.ways_out, comparison, found, side, colours, width, routes),
                lambda: ways_out.describe_ways_out(comparison, found, side),
                "what is cut, and the planes of each way out",
                file=f"{on_desk.code}-{side}-ways-out.svg",
                tall=True,
            ),
        )
        piece(f"suction_ways{i}", ways_table(routes, comparison, side, narrow, title))
    under = notes(READ_AS) + ways_notes(comparison.judgement) + prose(_thickest(found))
    piece("suction_under", under + notice_lines(rescue_notices(comparison, found)))
    _order(on_desk, shown, colours, width)
    piece("suction_counts", part("Published counts, over counts; never this eye's risk") + prose(*suction_counts()))


def _thickest(found: Rescue) -> str:
    """The thickest flap that keeps the margin, in words; empty where no flap is in question."""
    margin = rounded(found.margin_um)
    if not np.isnan(found.thickest_flap_um):
        flap = most_written(found.thickest_flap_um)
        return f"The thickest flap that keeps the margin of {margin} µm: {flap} µm."
    if any(one.way.id == OVER_FLAP for one in found.routes):
        return f"No flap of 60 µm or more keeps the margin of {margin} µm."
    return ""


def _moment(on_desk: Desk, shown: Shown, colours: Look, width: Any) -> tuple[str, float] | None:
    """The stage and how much of it is done, from the clock or as typed; None where neither is known yet."""
    clock, planned = clock_of(shown.comparison), _planned(shown)
    own = on_desk.own.setdefault("suction", {"by": STAGE if planned else TIME})
    by = widget_key("suction_by", own["by"], on_desk.id)
    play = widget_key("suction_play", own.get("played", False), on_desk.id)
    place: dict[str, Any] = {"required": True, "label_visibility": "collapsed"}
    with st.container(horizontal=True, gap="small", vertical_alignment="center"):
        args = (own, "by", "suction_by", by)
        st.segmented_control("Moment", (TIME, STAGE), key=by, on_change=after_told(_chosen), args=args, **place)
        st.toggle("Play the cuts", key=play, on_change=after_told(_chosen), args=(own, "played", "suction_play", play))
    if own["by"] == TIME:
        moment = _on_clock(on_desk, clock, planned)
    else:
        plan_fields("suction_fields", CELLS, on_desk, on_desk.figures(on_desk.side)[1])
        moment = planned
    if moment is None:
        put(prose("Choose the cut that was under way and how much of it was done: no figures until then."))
        return None
    seconds = float(clock.seconds(*moment))
    chart(
        "suction_clock",
        (shown, seconds, colours.name),
        Picture(
            lambda: cut_clock.clock_line(clock, seconds, colours, width),
            lambda: cut_clock.describe_clock(clock, seconds),
            "the cuts against time",
        ),
    )
    if own.get("played"):
        _played(on_desk, shown, seconds, colours, width)
    return moment


def _chosen(own: dict[str, Any], what: str, name: str, key: str) -> None:
    """Choose how a moment is given, by the clock or by a stage and its share, and whether the cuts are played."""
    value = changed(name, key)
    if value is not None:
        own[what] = value


def _played(on_desk: Desk, shown: Shown, seconds: float, colours: Look, width: Any) -> None:
    """Play the cuts from the front and in section; where it is stopped, that is the moment."""
    clock, side = clock_of(shown.comparison), on_desk.side
    chart(
        "suction_played",
        (shown, seconds, colours.name),
        Picture(
            lambda: cut_played.cuts_played(shown.comparison, side, clock, seconds, colours, width),
            lambda: cut_played.describe_played(clock, seconds),
            "the cuts played",
            moves=(on_desk.id, side),
        ),
    )
    piece("suction_played_said", notes(cut_played.SAID))


def _planned(shown: Shown) -> Any:
    """The moment that stands in the plan, or None."""
    stage, done = (shown.inputs.values.get(name) for name in ("suction_stage", "suction_done"))
    return None if stage is None or done is None else (stage, float(done))


def _on_clock(on_desk: Desk, clock: Clock, planned: Any) -> Any:
    """A moment on the clock: that of the plan, otherwise an example, which enters the plan once the slider is moved."""
    total = float(clock.total_s)
    seconds = min(FIRST_S if planned is None else round(float(clock.seconds(*planned)), 1), total)
    key = widget_key("suction_s", seconds, (on_desk.id, on_desk.side))
    label = (
        f"Seconds since the first cut began, of {total:g} in all (time and order are set under More: limits and "
        "assumptions)"
    )
    st.slider(
        label,
        0.0,
        total,
        step=0.1,
        format="%.1f",
        key=key,
        on_change=after_told(_moved),
        args=(on_desk, on_desk.side, key),
    )
    if planned is not None:
        return planned
    at, done = clock.moment(seconds)
    return clock.order[int(at)], float(done)


def _moved(on_desk: Desk, side: str, key: str) -> None:
    """Put the moment of a moved slider into the plan for which it was drawn."""
    seconds = changed("suction_s", key)
    if seconds is not None:
        put_moment(on_desk, side, seconds)


def _order(on_desk: Desk, shown: Shown, colours: Look, width: Any) -> None:
    """The order of cuts, step by step."""
    clock = clock_of(shown.comparison)
    piece("suction_order", part("The order of the cuts") + prose(cut_clock.SAME_TIME))
    chart(
        "suction_order",
        (shown, colours.name),
        Picture(
            lambda: cut_front.order_of_cuts(shown.comparison, clock, colours, width),
            lambda: cut_front.describe_order(clock, shown.comparison),
            "the order of the cuts",
            file=f"{on_desk.code}-{on_desk.side}-order-of-cuts.svg",
            tall=True,
        ),
    )
    under = "Upper row from the front, lower row along the incision with the front drawn flat; arrows show the way a "
    order = ORDER_SAID[shown.comparison.judgement.cut_order]
    piece("suction_order_said", notes(under + f"spiral travels. Coloured: the cut of that step. {order} {OWN_ORDER}"))


def _page(on_desk: Desk) -> None:
    """The button for the page to be read before the operation, for both eyes."""
    put(part("The page that lies ready"))
    put(prose(_said_of_page(on_desk)))
    hand("suction_page", "Page for print", page)


def _said_of_page(on_desk: Desk) -> str:
    """What the page holds, and on how many sheets: the moments take two where an extraction cuts the cap first."""
    sides = [side for side, texts in on_desk.texts.items() if texts]
    shown = [on_desk.figures(side)[0] for side in sides]
    plans = [one.comparison for one in shown if one is not None]
    orders = {one.judgement.cut_order for one in plans if one.under_cap.available}
    eyes = "both eyes" if len(sides) > 1 else "this eye"
    sheets = "two sheets or more" if CAP_FIRST in orders else "one sheet, or two where there are many notices"
    return f"The rescue options of {eyes} at seven moments on {sheets}, to be printed before the operation."


def page(on_desk: Desk) -> File:
    """The page as a file: its name, its kind and its bytes."""
    from tissue.paper.suction_page import plan_b

    eyes = {side: shown.comparison for side, shown in sound(on_desk).items()}
    name = file_name(f"{on_desk.code or 'plan'}-if-suction-is-lost", ".pdf")
    return name, PDF, plan_b(on_desk.code, eyes, str(date.today()))
