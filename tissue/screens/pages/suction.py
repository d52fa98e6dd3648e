"""Suction loss: the cuts against time, what is cut at a moment, and the ways out as others describe them."""

from datetime import date
from functools import partial

import numpy as np
import streamlit as st

from tissue.drawing.routes import cut_clock, cut_front, ways_out
from tissue.drawing.section.section import NARROW_PX
from tissue.entry.checks import Fault
from tissue.entry.file_name import file_name
from tissue.entry.notation import shown as as_read
from tissue.report.measures import rounded
from tissue.routes.cutting import clock_of, done_percent
from tissue.routes.notices import rescue_notices
from tissue.routes.rescue import rescue
from tissue.routes.ways import ANOTHER_DAY, OVER_FLAP, suction_counts
from tissue.screens.desk.of_eye import of_eye
from tissue.screens.desk.own_fields import Cell, own_fields
from tissue.screens.desk.state import SIDES
from tissue.screens.html import notes, part, prose, put, strip, tag
from tissue.screens.kept import kept
from tissue.screens.parts.chart.chart import Picture, chart, main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.tables.routes import heads, notice_lines, rows_of, ways_notes, ways_table
from tissue.vocabulary import STAGES

TIME, STAGE = "A moment on the clock", "A stage and a percentage"
FIRST_S, FIRST_PERCENT = 4.5, "44"
CELLS = (
    Cell("stage", "Stage", tuple(cut_clock.CUT_NAMES.items())),
    Cell("done", "Done, % of that cut's area", limits=(0, 100, 1)),
)
TITLE = "Ways out, as others describe them"
READ_AS = (
    "Heavy line: cut so far. Dotted: the rest of the plan. Hatched, with the line of its name: the "
    "new plan. Each section runs through the least clearance of its way, else from 0 to 180°."
)


def show():
    """Draw the screen."""
    of_eye("suction", _ways_or_why)


def _ways_or_why(on_desk, shown, _, colours):
    """The screen, or why nothing is cut in this eye; and the page for both eyes."""
    if shown.comparison.under_cap.available:
        _screen(on_desk, shown, colours)
    else:
        why = shown.comparison.under_cap.why_not
        put(prose(f"Nothing is cut in this eye, so no suction can be lost: {why}.", ANOTHER_DAY))
    _page(on_desk)


def _screen(on_desk, shown, colours):
    """The moment, what is cut by then, the ways out."""
    comparison, side, width = shown.comparison, on_desk.side, main_width()
    stage, done = _moment(shown, colours, width)
    found = kept("rescue", (shown, stage, done), lambda: rescue(comparison, stage, done))
    reached = "" if np.isnan(found.cut_radius_mm) else f", which has reached a radius of {found.cut_radius_mm:.2f} mm"
    said = f"In the {cut_clock.CUT_NAMES[stage]}, {done_percent(done)} % of it done{reached}."
    piece("suction_said", prose(said) + tag("p", ANOTHER_DAY, class_="another-day") + part(TITLE))
    narrow = width < NARROW_PX
    for i, routes in enumerate(rows_of(found.routes, 3)):
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
        piece(f"suction_ways{i}", ways_table(routes, comparison, side, narrow, TITLE))
    under = notes(READ_AS) + ways_notes(comparison.judgement) + prose(_thickest(found))
    piece("suction_under", under + notice_lines(rescue_notices(comparison, found)))
    _order(on_desk, shown, colours, width)
    piece("suction_counts", part("Published counts, over counts; never this eye's risk") + prose(*suction_counts()))


def _thickest(found):
    """The thickest flap that keeps the margin, in words; empty where no flap is in question."""
    margin = rounded(found.margin_um)
    if not np.isnan(found.thickest_flap_um):
        flap = rounded(np.floor(found.thickest_flap_um))
        return f"The thickest flap that keeps the margin of {margin} µm: {flap} µm."
    if any(one.way.id == OVER_FLAP for one in found.routes):
        return f"No flap of 60 µm or more keeps the margin of {margin} µm."
    return ""


def _moment(shown, colours, width):
    """The stage and the share of it that is done, from the clock or as typed."""
    clock = clock_of(shown.comparison)
    own = st.session_state.setdefault("suction_moment", {"by": TIME, "seconds": FIRST_S, "done": 0.44})
    st.session_state.setdefault("suction_by", own["by"])
    own["by"] = st.segmented_control(
        "Moment", (TIME, STAGE), key="suction_by", required=True, label_visibility="collapsed"
    )
    stage, done = _on_clock(clock, own) if own["by"] == TIME else _as_typed(own)
    seconds = float(clock.seconds(stage, done))
    chart(
        "suction_clock",
        (shown, seconds, colours.name),
        Picture(
            lambda: cut_clock.clock_line(clock, seconds, colours, width),
            lambda: cut_clock.describe_clock(clock, seconds),
            "the cuts against time",
        ),
    )
    return stage, done


def _on_clock(clock, own):
    """A moment on the clock."""
    total = float(clock.total_s)
    st.session_state["suction_s"] = min(st.session_state.get("suction_s", own["seconds"]), total)
    label = f"Seconds since the first cut began, of {total:g} in all (lasing time, under More: lines and credits)"
    own["seconds"] = st.slider(label, 0.0, total, step=0.1, format="%.1f", key="suction_s")
    at, done = clock.moment(own["seconds"])
    return STAGES[int(at)], float(done)


def _as_typed(own):
    """A stage and a percentage as they were typed."""
    texts, faults = own_fields("suction_fields", CELLS, {"stage": STAGES[0], "done": FIRST_PERCENT}, _check)
    if "done" in faults:
        fault = faults["done"]
        put(strip(f"Shown for {100 * own['done']:g} %. The field holds {fault.read}; accepted: {fault.accepted}."))
    else:
        own["done"] = read_percent(texts["done"]) / 100.0
    return texts["stage"], own["done"]


def read_percent(text):
    """A percentage in a text; NaN where it is none from 0 to 100.

    >>> read_percent("9,9 %"), read_percent("140")
    (9.9, nan)
    """
    try:
        value = float(text.strip().removesuffix("%").replace(",", "."))
    except ValueError:
        return float("nan")
    return value if 0.0 <= value <= 100.0 else float("nan")


def _check(name, text):
    """The Fault of a field of this screen, or None."""
    if name != "done" or not np.isnan(read_percent(text)):
        return None
    return Fault("done", as_read(text), "0 to 100 %")


def _order(on_desk, shown, colours, width):
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
    piece(
        "suction_order_said", notes(under + "spiral travels. Coloured: the cut of that step. Order: common practice.")
    )


def _page(on_desk):
    """The page for before the operation, both eyes."""
    eyes = {side: shown.comparison for side in SIDES if (shown := on_desk.figures(side)[0]) is not None}
    wrong = [side for side in SIDES if on_desk.texts.get(side) and on_desk.figures(side)[1]]
    put(part("The page that lies ready"))
    if wrong:
        put(prose(f"A field of {' and '.join(wrong)} cannot be read: no page until it can."))
        return
    said = "The ways out of both eyes at seven moments on one sheet, to be printed before the operation."
    put(prose(said if len(eyes) > 1 else said.replace("both eyes", "this eye")))
    name = file_name(f"{on_desk.code or 'plan'}-if-suction-is-lost", ".pdf")
    made = lambda: _page_bytes(on_desk.code, eyes)  # noqa: E731
    st.download_button("Page for print", made, name, "application/pdf", key="suction_page")


def _page_bytes(code, eyes):
    """The page, made when it is asked for."""
    from tissue.paper.suction_page import plan_b

    return plan_b(code, eyes, str(date.today()))
