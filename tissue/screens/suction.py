"""Suction loss: the cuts against time, what is cut at a moment, and the ways out as others describe them."""

from datetime import date

import numpy as np
import streamlit as st

from tissue.cutting import STAGES, clock_of
from tissue.drawing import moment
from tissue.measures import number
from tissue.rescue import rescue
from tissue.route_notices import rescue_notices
from tissue.screens import frame, inputs, words
from tissue.screens.chart import chart
from tissue.screens.piece import piece
from tissue.screens.plain_table import notes, part, prose
from tissue.screens.route_tables import notice_lines, routes_table
from tissue.screens.state import SIDES, desk
from tissue.ways import ANOTHER_DAY, suction_counts

TIME, STAGE = "A moment on the clock", "A stage and a percentage"


def show():
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        st.html(words.nothing_yet(on_desk.side, wrong))
    else:
        piece("suction_eye", words.eye_line(shown, on_desk.side))
        if wrong:
            piece("suction_stale", words.stale(shown, on_desk.texts[on_desk.side], wrong))
        if shown.comparison.results["lenticule"].available:
            _screen(on_desk, shown.comparison, colours)
        else:
            st.html(prose(f"No extraction is planned: {shown.comparison.results['lenticule'].why_not}."))
    inputs.sidebar(on_desk)


def _screen(on_desk, comparison, colours):
    """The moment, what is cut by then, the ways out."""
    stage, done = _moment(comparison)
    found = rescue(comparison, stage, done)
    seconds = float(found.seconds)
    depends = (on_desk.side, tuple(sorted(on_desk.texts[on_desk.side].items())), stage, done, colours.name)
    chart(
        "suction_clock",
        depends,
        lambda: (moment.clock_line(found.clock, seconds, colours), moment.describe_clock(found.clock, seconds)),
        "the cuts against time",
    )
    reached = "" if np.isnan(found.cut_radius_mm) else f", which has reached a radius of {found.cut_radius_mm:.2f} mm"
    piece(
        "suction_said",
        notes(f"In the {moment.STAGES[stage]}, {100 * done:.0f} % of it done{reached}.", moment.ORDER_WORDS),
    )
    st.html(f'<p class="another-day"><b>{ANOTHER_DAY}</b></p>')
    route = _route(found)
    left, right = st.columns([2, 3], gap="small")
    with left:
        chart(
            "suction_front",
            depends,
            lambda: (
                moment.front_of_cut(comparison, found.cut, colours),
                f"From the front. {moment.describe_section(found.cut, None)}",
            ),
            "what is cut, from the front",
            file=f"{on_desk.code}-{on_desk.side}-cut-front.svg",
            columns=2,
            tall=True,
        )
    with right:
        chart(
            "suction_section",
            (*depends, route.way.id if route else ""),
            lambda: (
                moment.section_of_cut(comparison, found.cut, route, colours),
                moment.describe_section(found.cut, route),
            ),
            "old and new planes",
            file=f"{on_desk.code}-{on_desk.side}-cut-section.svg",
            columns=2,
            tall=True,
        )
    thickest = ""
    if not np.isnan(found.thickest_flap_um):
        margin, flap = number(found.margin_um), number(found.thickest_flap_um)
        thickest = f"The thickest flap that keeps the margin of {margin} µm: {flap} µm."
    elif any(one.way.id == "flap" for one in found.routes):
        thickest = f"No flap of 60 µm or more keeps the margin of {number(found.margin_um)} µm."
    table = routes_table(found.routes, comparison, on_desk.side, "Ways out, as others describe them")
    counts = part("Published counts, over counts; never this eye's risk") + prose(*suction_counts())
    piece("suction_ways", table + prose(thickest) + notice_lines(rescue_notices(comparison, found)) + counts)
    _order(comparison, colours, depends)
    _page(on_desk)


def _moment(comparison):
    """The stage and the share of it that is done."""
    clock = clock_of(comparison)
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small"):
        st.session_state.setdefault("suction_by", st.session_state.get("suction_by_last", TIME))
        by = st.segmented_control(
            "Moment", (TIME, STAGE), key="suction_by", required=True, label_visibility="collapsed"
        )
        st.session_state["suction_by_last"] = by
        if by == TIME:
            total = float(clock.total_s)
            st.session_state["suction_s"] = min(float(st.session_state.get("suction_s_last", 4.5)), total)
            seconds = st.slider("Seconds since the first cut began", 0.0, total, step=0.1, key="suction_s", width=520)
            st.session_state["suction_s_last"] = seconds
            at, done = clock.moment(seconds)
            return STAGES[int(at)], float(done)
        st.session_state.setdefault("suction_stage", st.session_state.get("suction_stage_last", STAGES[0]))
        stage = st.selectbox("Stage", STAGES, key="suction_stage", format_func=moment.STAGES.get, width=260)
        st.session_state["suction_stage_last"] = stage
        st.session_state.setdefault("suction_done", st.session_state.get("suction_done_last", 44))
        done = st.number_input("Done, % of its area", 0, 100, step=1, key="suction_done", width=180)
        st.session_state["suction_done_last"] = done
        return stage, done / 100.0


def _route(found):
    """The way out that is drawn."""
    there = [route for route in found.routes if route.available and not np.isnan(route.clearance.value)]
    if not there:
        return None
    names = [route.way.name for route in there]
    if st.session_state.get("suction_route") not in names:
        st.session_state["suction_route"] = names[0]
    picked = st.segmented_control("Drawn", names, key="suction_route", required=True)
    return there[names.index(picked)]


def _order(comparison, colours, depends):
    """The order of cuts, step by step."""
    st.html(part("The order of the cuts"))
    steps = (("lenticule", 0.5, "1. Lenticule, outside in"), ("lenticule-side", 1.0, "2. Its side cut"),
             ("cap", 0.5, "3. Cap, inside out"), ("incision", 1.0, "4. Incision"))  # fmt: skip
    for column, (stage, done, title) in zip(st.columns(4, gap="small"), steps, strict=True):
        with column:
            st.html(notes(title))
            cut = rescue(comparison, stage, done).cut
            chart(
                f"suction_step_{stage}",
                (*depends[:2], depends[-1], stage),
                lambda cut=cut, title=title: (
                    moment.front_of_cut(comparison, cut, colours, said=False),
                    f"{title}. {moment.describe_section(cut, None)}",
                ),
                title,
                columns=4,
                tall=True,
            )


def _page(on_desk):
    """The page for before the operation, both eyes."""
    from tissue.drawing.plan_b import plan_b

    eyes = {side: shown.comparison for side in SIDES if (shown := on_desk.figures(side)[0]) is not None}
    wrong = [side for side in SIDES if on_desk.texts.get(side) and on_desk.figures(side)[1]]
    st.html(part("The page that lies ready"))
    if wrong:
        st.html(prose(f"A field of {' and '.join(wrong)} cannot be read: no page until it can."))
        return
    key = tuple((side, tuple(sorted(on_desk.texts[side].items()))) for side in eyes)
    kept = st.session_state.get("plan_b")
    if kept is None or kept[0] != key:
        kept = st.session_state["plan_b"] = (key, plan_b(on_desk.code, eyes, str(date.today())))
    name = f"{on_desk.code or 'plan'}-if-suction-is-lost.pdf"
    st.download_button("Page for print, both eyes", kept[1], name, "application/pdf", key="suction_page")
