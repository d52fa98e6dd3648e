"""Explain: the screen that the patient sees; one way, one eye, four steps, in everyday words."""

from datetime import date
from functools import cache
from typing import Any

import streamlit as st
from markupsafe import Markup

from tissue.drawing.base.palette import Look
from tissue.drawing.patient import bars as explain_bars
from tissue.drawing.patient import picture as explain
from tissue.drawing.patient import why
from tissue.drawing.patient.language import FIRST, LANGUAGES, unbroken, unread, words
from tissue.drawing.patient.steps import pictures
from tissue.drawing.patient.together import COLUMNS, Row, by_name, column_name, side_by_side
from tissue.drawing.patient.words import STEPS, WAYS, Story, story
from tissue.entry.file_name import file_name
from tissue.screens import frame
from tissue.screens.desk.link import PDF, File, NotMade, hand, sound
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import SIDES, after_told, desk
from tissue.screens.html import NOTHING, hidden_caption, joined, paragraphs, put, strip, style_of, tag, together
from tissue.screens.kept import changed, choice, kept, stand, widget_key
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.parts.component import text
from tissue.screens.parts.piece.piece import piece
from tissue.screens.parts.steps_list.steps_list import steps_list
from tissue.screens.sight.night import night_shown, of_plan, strip_of_lights

PICTURE_PX, BARS_PX = explain.WIDTH_PX, explain_bars.WIDTH_PX
TOGETHER = "together"  # chosen in place of one way: all of them side by side


def show() -> None:
    """Draw the screen."""
    colours = frame.begin()
    put(_style())
    on_desk, chosen = desk(), _chosen()
    page = words(chosen["language"])["page"]
    with st.container(key="explain"):
        _top(on_desk, chosen, page)
        shown, wrong = on_desk.figures(on_desk.side)
        piece("explain_stale", _words(chosen, strip(page["stale"])) if wrong and shown else NOTHING)
        if shown is None:
            piece("explain_empty", _words(chosen, strip(page["empty"])))
            return
        if chosen["way"] == TOGETHER:
            _together(on_desk, shown, chosen)
            return
        told = story(shown.comparison, chosen["way"], on_desk.side, chosen["language"])
        _steps(on_desk, shown, told, chosen, colours)
        _why(shown, told, chosen, colours)
        strip_of_lights(shown, told, of_plan(on_desk))
        _rest(shown, told, chosen, colours)


@cache
def _style() -> Markup:
    """The style sheet of this screen."""
    return style_of(text("styles/explain.css"))


def _chosen() -> dict[str, Any]:
    """What is shown: way, step, language and columns; it is kept when the screen is left."""
    chosen = st.session_state.setdefault("explain", {})
    for name, first in (("way", WAYS[0]), ("step", 0), ("language", FIRST), ("columns", None), ("last_way", WAYS[0])):
        chosen.setdefault(name, first)
    return chosen


def _top(on_desk: Desk, chosen: dict[str, Any], page: dict[str, Any]) -> None:
    """The row at the top: whose eye, which way, which language."""
    known = words(chosen["language"])
    with st.container(horizontal=True, vertical_alignment="center", key="explain_top"):
        piece("explain_title", tag("h1", page["title"].format(eye=page["eyes"][on_desk.side]), lang=chosen["language"]))
        place: dict[str, Any] = {"required": True, "label_visibility": "collapsed"}
        key = widget_key("explain_eye", on_desk.side, on_desk.id)
        eyes = {side: said[0].upper() + said[1:] for side, said in page["eyes"].items()}
        st.segmented_control(
            page["eye"],
            list(SIDES),
            format_func=eyes.__getitem__,
            key=key,
            on_change=after_told(_eye),
            args=(on_desk, key),
            **place,
        )
        stand("explain_language", chosen["language"])
        names = {language: words(language)["about"]["name"] for language in LANGUAGES}
        st.selectbox(
            page["language"],
            LANGUAGES,
            format_func=names.__getitem__,
            key="explain_language",
            on_change=_language,
            label_visibility="collapsed",
            width=130,
        )
    stand("explain_way", chosen["way"])
    ways = {way: own["name"] for way, own in known["ways"].items()} | {TOGETHER: known["table"]["name"]}
    st.segmented_control(
        page["way"], list(ways), format_func=ways.__getitem__, key="explain_way", on_change=_way, **place
    )
    piece("explain_unread", tag("p", unread(chosen["language"]), class_="explain-invented", lang=chosen["language"]))


def _eye(on_desk: Desk, key: str) -> None:
    side = changed("explain_eye", key)
    if side is not None:
        on_desk.look_at(side)


def _way() -> None:
    chosen = _chosen()
    chosen["way"] = choice("explain_way", chosen["way"])
    if chosen["way"] != TOGETHER:
        chosen["last_way"] = chosen["way"]


def _language() -> None:
    _chosen()["language"] = choice("explain_language", _chosen()["language"])


def _step(at: int) -> None:
    _chosen()["step"] = at


def _columns() -> None:
    _chosen()["columns"] = tuple(st.session_state["explain_columns"])


def _steps(on_desk: Desk, shown: Shown, told: Story, chosen: dict[str, Any], colours: Look) -> None:
    """The large picture with the list of steps beside it."""
    at = min(chosen["step"], len(told.steps) - 1)
    step = STEPS[at]
    with st.container(horizontal=True, key="explain_row"):
        with st.container(width=PICTURE_PX, key="explain_picture"):
            chart(
                "explain_section",
                (shown, told.side, told.way, told.language, step, colours.name),
                Picture(
                    lambda: explain.step_section(told, step, colours, _pictures(shown, told.way)),
                    lambda: explain.describe_section(told, step),
                    f"{told.name}, {told.steps[at][0]}",
                    fixed=True,
                ),
            )
        with st.container(width="stretch", key="explain_steps_box"):
            page = told.words["page"]
            steps = [tuple(map(unbroken, one)) for one in told.steps]
            steps_list("explain_steps", steps, at, _step, {"lang": told.language, **_act_names(page)})
            piece("explain_why", _words(chosen, paragraphs(told.why_not)))
            _handout(on_desk, page)


def _act_names(page: dict[str, Any]) -> dict[str, str]:
    """What stands on the buttons beside the steps."""
    return {name: page[name] for name in ("steps", "play", "next", "stop")}


def _pictures(shown: Shown, way: str) -> Any:
    """The pictures of all steps, worked out once for an eye and a way."""
    return kept("explain", (shown, way), lambda: pictures(shown.comparison, way))


def _why(shown: Shown, told: Story, chosen: dict[str, Any], colours: Look) -> None:
    """Why tissue is taken, shown in a simple eye; and the cornea at its real thickness with the share that stays."""
    said, depends = told.words["why"], (shown, told.side, told.way, told.language, colours.name)
    with st.container(horizontal=True, key="explain_why_row"):
        with st.container(width=why.WIDTH_PX, key="explain_light"):
            because = paragraphs(said[why.kind(shown.comparison)], said["after"] if told.available else "")
            piece("explain_because", _words(chosen, tag("h2", said["head"]), because))
            light = Picture(
                lambda: why.light(told, colours), lambda: why.describe_light(told), said["head"], fixed=True
            )
            chart("explain_light", depends, light)
        with st.container(width=why.REAL_WIDTH_PX, key="explain_real"):
            share = said["share"].format(**told.figures) if told.available else ""
            piece("explain_share", _words(chosen, tag("h2", said["real"]), paragraphs(share)))
            real = Picture(lambda: why.real(told, colours), lambda: why.describe_real(told), said["real"], fixed=True)
            chart("explain_real", depends, real)


def _rest(shown: Shown, told: Story, chosen: dict[str, Any], colours: Look) -> None:
    """The parts below: how thick that is, what is known and what is not, what to ask."""
    page = told.words["page"]

    def head(name: str) -> Markup:
        return tag("h2", page[name])

    with st.container(horizontal=True, key="explain_rest"):
        with st.container(width=BARS_PX, key="explain_bars"):
            piece("explain_bars_head", _words(chosen, head("bars")))
            chart(
                "explain_bars",
                (shown, told.side, told.way, told.language, colours.name),
                Picture(
                    lambda: explain_bars.bars(told, colours),
                    lambda: explain_bars.describe_bars(told),
                    page["bars"],
                    fixed=True,
                ),
            )
        with st.container(width="stretch", key="explain_known"):
            held = paragraphs(told.held, told.words["table"]["practice"])
            known = head("known") + paragraphs(*told.known) + head("held") + held
            piece("explain_known", _words(chosen, known, head("unknown"), paragraphs(told.unknown)))
        with st.container(width="stretch", key="explain_ask"):
            asked = tag("ul", *(tag("li", question) for question in told.questions))
            piece(
                "explain_ask",
                _words(chosen, head("questions"), asked, head("missing"), paragraphs(told.missing)),
            )


def columns_shown(chosen: dict[str, Any]) -> tuple[str, ...]:
    """The columns that stand side by side: those switched on, in their order, and always no surgery.

    Args:
        chosen: what is looked at.
    """
    known = chosen["columns"]
    if not known:
        return by_name(COLUMNS, chosen["language"])
    return (*known, *(column for column in COLUMNS if column not in (*WAYS, *known)))


def _together(on_desk: Desk, shown: Shown, chosen: dict[str, Any]) -> None:
    """All ways and no surgery in the same rows."""
    language = chosen["language"]
    table, columns = words(language)["table"], columns_shown(chosen)
    names = {column: column_name(column, language) for column in COLUMNS}
    with st.container(horizontal=True, vertical_alignment="top", key="explain_together"):
        stand("explain_columns", list(columns))
        st.multiselect(
            table["columns"],
            by_name(COLUMNS, language),
            format_func=names.__getitem__,
            key="explain_columns",
            on_change=_columns,
        )
        _handout(on_desk, words(language)["page"])
    found = side_by_side(shown.comparison, on_desk.side, columns, language)
    said = paragraphs(table["intro"]), _table(found, [names[c] for c in columns], table["name"])
    piece("explain_table", _words(chosen, *said, paragraphs(table["strength"], table["practice"])))


def _table(found: list[Row], names: list[str], caption: str) -> Markup:
    """The rows as a table with columns of equal width."""
    head = tag("tr", tag("td"), *(tag("th", name, scope="col") for name in names))
    body = (
        tag(
            "tr",
            tag("th", row.head, scope="row"),
            *(tag("td", cell) for cell in row.cells),
            tag("td", row.common, colspan=len(names)) if row.common else NOTHING,
        )
        for row in found
    )
    return tag(
        "div", tag("table", hidden_caption(caption), tag("thead", head), tag("tbody", *body)), class_="explain-table"
    )


def _words(chosen: dict[str, Any], *parts: Markup) -> Markup:
    return tag("div", together(joined(*parts)), class_="explain-words", lang=chosen["language"])


def _handout(on_desk: Desk, page: dict[str, Any]) -> None:
    """The handout button: the page for both eyes, in the way that is shown."""
    with st.container(horizontal=True, vertical_alignment="center", key="explain_handout"):
        hand("explain_page", page["handout"], handout_file)
        if on_desk.invented:
            put(tag("div", page["invented"], class_="explain-invented"))


def handout_file(on_desk: Desk) -> File:
    """The handout as a file; where it cannot be made the reason is given in the patient's words."""
    from tissue.paper.handout import handout

    chosen = _chosen()
    page = words(chosen["language"])["page"]
    wrong = [page["eyes"][side] for side in SIDES if on_desk.texts.get(side) and on_desk.figures(side)[1]]
    if wrong:
        raise NotMade(page["no_page"].format(eyes=page["and"].join(wrong)))
    way = chosen["last_way"] if chosen["way"] == TOGETHER else chosen["way"]
    found = sound(on_desk)
    eyes = {side: shown.comparison for side, shown in found.items()}
    name = file_name(f"{on_desk.code or 'plan'}-handout-{way}", ".pdf")
    looks: dict[str, Any] = {"columns": columns_shown(chosen), "language": chosen["language"]}
    if on_desk.side in found and chosen["way"] != TOGETHER:  # the strip is printed only where the screen has it
        told = story(eyes[on_desk.side], way, on_desk.side, chosen["language"])
        looks["night"] = night_shown(found[on_desk.side], told, of_plan(on_desk))
    return name, PDF, handout(on_desk.code, eyes, way, str(date.today()), on_desk.invented, **looks)
