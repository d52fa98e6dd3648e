"""The dialog *Measured map*: read a table, answer its questions, look at the picture, take it or leave it."""

from dataclasses import replace
from typing import Any

import streamlit as st

from tissue.drawing.own_map.view import describe_map, map_view
from tissue.entry.checks import fault_of
from tissue.entry.own_map.names import MAPS
from tissue.entry.own_map.tables import LARGEST_TABLE
from tissue.entry.own_map.taken import surface_of
from tissue.entry.own_map.written import DEFAULT_SD_UM, WrittenMap
from tissue.entry.toml_file import Unreadable
from tissue.eye.measured.surface import Surface
from tissue.ground.errors import EyeError
from tissue.report.map_json import central_typed
from tissue.report.map_terminal import COLUMNS_SAID, map_text
from tissue.screens import frame
from tissue.screens.desk.press import close_dialog, press
from tissue.screens.desk.state import ACTS, SIDES, Day
from tissue.screens.html import notes, paragraphs, part, prose, put, strip, tag
from tissue.screens.own_map.answers import LAYERS, Answers, Found, Table, found_in, places_apart, places_missing
from tissue.screens.parts.chart.chart import Picture, chart

TABLE, LEAVE_OUT, NOT_TAKEN = "map_table", "map_leave_out", "map_not_taken"
X_WORDS = {"right": "to the right, as seen from the front", "nasal": "towards the nose"}
Y_WORDS = {"up": "upwards", "down": "downwards"}
ROOM_PX = 1180  # of a window; in a narrower one picture and words stand one below the other
MEGABYTES = LARGEST_TABLE // 1_000_000


def _asks(own: Day, entry: dict[str, Any]) -> None:
    """The page has asked for the map of the eye in its fields."""
    if entry["plan"] in own.plans:
        own.asking = "map", entry["plan"], entry["side"], entry["side"]


ACTS["map"] = _asks


def _forget() -> None:
    """Forget the table in the dialog."""
    for name in list(st.session_state):
        if str(name).startswith("map_"):
            del st.session_state[name]


def close() -> None:
    """Close the dialog and forget all that was in it."""
    close_dialog()
    _forget()


@st.dialog("Measured map", width="large", on_dismiss=close)
def map_dialog(on_desk: Any, side: str) -> None:
    """Show the maps of an eye of a Desk and a table that is read; only a press of the button changes the plan.

    Args:
        on_desk: Desk. side: OD or OS.
    """
    put(prose(tag("b", f"{SIDES[side]}, {on_desk.code or 'no code yet'}")))
    if TABLE in st.session_state:
        _read(on_desk, st.session_state[TABLE])
        return
    texts = on_desk.texts.get(side, {})
    for name in MAPS:
        if name in texts:
            _standing(on_desk, side, name, texts[name])
    _paste(side, any(name in texts for name in MAPS))


def _paste(side: str, again: bool) -> None:
    """Take a table, pasted or from a file."""
    with st.form("map_form", border=False):
        title = "Read another table in their place" if again else "The table"
        st.text_area(title, key="map_text", height=180, placeholder="Paste the table with its heads here.")
        st.file_uploader("or a file", type=["csv", "txt", "tsv"], key="map_file", max_upload_size=MEGABYTES)
        st.text_input("Text that stands for a missing reading, if it is not empty, - or nan", key="map_missing")
        pressed = st.form_submit_button("Read it", key="map_go")
    put(notes(COLUMNS_SAID, f"At most {MEGABYTES} MB. Nothing of the plan changes before the picture is confirmed."))
    if not pressed:
        return
    file, pasted = st.session_state.get("map_file"), st.session_state["map_text"]
    if file is not None and pasted.strip():
        put(strip("Not read: a file and a pasted table stand there. Please leave one of them out."))
        return
    data = file.getvalue() if file is not None else pasted.encode("utf-8", "replace")
    table = Table(data, side, st.session_state["map_missing"].strip())
    try:
        table.form()
    except Unreadable as error:
        put(strip(f"Not read: {error}."))
    except EyeError as error:
        put(strip(f"Not read: {fault_of(error).text}."))
    else:
        st.session_state[TABLE] = table
        st.rerun(scope="fragment")


def _read(on_desk: Any, table: Table) -> None:
    """Show the table that was read: its picture on the left, its questions on the right."""
    form = table.form()
    left, right = _picture_and_words()
    with right:
        answers = _answers(form)
        place = st.container()
    still_open = answers.open_questions(form)
    if still_open:
        with left:
            put(prose(f"The picture comes when it is said {' and '.join(still_open)}. Nothing is guessed."))
        found = Found()
    else:
        found = found_in(table, answers, on_desk.texts.get(table.side, {}))
        with left:
            _pictures(found.maps, found.surfaces, table.side)
    with place:
        _said(found)
        _press(on_desk, table, answers, found)


def _picture_and_words() -> Any:
    """Two places, side by side where the window has room for the picture and the words."""
    if st.session_state.get("window_width", ROOM_PX) >= ROOM_PX:
        return st.columns([4, 5], gap="medium")
    return st.container(), st.container()


def _answers(form: str) -> Answers:
    """Ask the questions about a table; no answer is filled in beforehand."""
    if form == "grid":
        st.radio("What is it a map of?", list(LAYERS), index=None, key="map_of", horizontal=True)
    if form != "sectors":
        turned = form == "polar"
        asked = "Where does its angle 0° point?" if turned else "Where does its x run, from − to +?"
        st.radio(asked, list(X_WORDS), index=None, key="map_x", format_func=X_WORDS.__getitem__)
        asked = "Where does its angle 90° point?" if turned else "Where does its y run, from − to +?"
        st.radio(asked, list(Y_WORDS), index=None, key="map_y", format_func=Y_WORDS.__getitem__)
    sd, method = st.columns(2)
    with sd:
        hint = f"{DEFAULT_SD_UM:g}"
        st.text_input("Error of a reading of thickness, SD, µm", key="map_sd", placeholder=hint)
    with method:
        st.text_input("How it was measured", key="map_method", placeholder="not given", max_chars=80)
    return _answered()


def _answered() -> Answers:
    """The answers as they stand in the fields by now."""
    of, x, y, sd, how = (st.session_state.get(f"map_{name}") or "" for name in ("of", "x", "y", "sd", "method"))
    return Answers(of, x, y, sd, how, st.session_state.get(LEAVE_OUT, False))


def _pictures(maps: dict[str, WrittenMap], surfaces: dict[str, Surface], side: str) -> None:
    """The picture of every map."""
    for name, one in maps.items():
        _picture(name, one, surfaces[name], side)


def _picture(name: str, written: WrittenMap, surface: Surface, side: str) -> None:
    """The picture of one map."""
    far, look = places_apart(written), frame.theme()
    drawn = Picture(
        lambda: map_view(surface, side, look, places_missing(written), far),
        lambda: describe_map(surface, side, far),
        f"measured map, {SIDES[side]}",
        fixed=True,
    )
    chart(f"map_{name}", (written, look.name), drawn)


def _said(found: Found) -> None:
    """Say what was read, and the reasons against taking it."""
    for name, one in found.maps.items():
        put(tag("div", paragraphs(*map_text(one, found.surfaces[name]).split("\n")), class_="prose"))
    if found.wrong:
        put(strip("Not taken:", *(f"{line}." for line in found.wrong)))
    if found.apart or st.session_state.get(LEAVE_OUT):
        st.checkbox("Count the readings that lie apart as missing", key=LEAVE_OUT)


def _press(on_desk: Any, table: Table, answers: Answers, found: Found) -> None:
    """The buttons: take the map, read another table, or leave the plan as it is."""
    with st.container(horizontal=True, key="map_actions"):
        can = bool(found.maps) and not found.wrong
        of = on_desk.id, table.side
        told = _take_table, on_desk, table, answers
        press("map_take", "It lies as in this picture", *told, of=of, disabled=not can, type="primary")
        press("map_again", "Read another table", _forget)
        press("map_leave", "Leave the plan as it is", close)
    _not_taken(answers)


def _take_table(on_desk: Any, table: Table, seen: Answers) -> None:
    """Put the maps of a table into the plan by the answers of now, where they lie as in the picture that was seen."""
    now = _answered()
    if replace(now, sd_um=seen.sd_um, method=seen.method) != seen:
        st.session_state[NOT_TAKEN] = now, "Not taken: an answer has changed. Please look at the picture as it is now."
        return
    found = found_in(table, now, on_desk.texts.get(table.side, {}))
    if found.maps and not found.wrong:
        _take(on_desk, table.side, found.maps, now)


def _take(on_desk: Any, side: str, maps: dict[str, WrittenMap], asked: Any) -> None:
    """Put maps into the plan; why that is not done is said where it was asked."""
    try:
        on_desk.put_maps(side, maps)
    except EyeError as error:
        st.session_state[NOT_TAKEN] = asked, f"Not taken: {fault_of(error).text}."
    else:
        close()


def _take_out(on_desk: Any, side: str, name: str) -> None:
    """Take a map out of the plan."""
    on_desk.put_maps(side, {name: None})
    close()


def _not_taken(of: Any) -> None:
    """Say why maps were not taken; nothing where it was not asked here."""
    asked, said = st.session_state.get(NOT_TAKEN, (None, ""))
    if asked == of:
        put(strip(said))


def _standing(on_desk: Any, side: str, name: str, written: WrittenMap) -> None:
    """Show a map of the eye: its picture, what it says, and the buttons that confirm it or take it out."""
    surface = surface_of(written)[1]
    left, right = _picture_and_words()
    with left:
        _picture(name, written, surface, side)
    with right:
        put(part(f"The {name.removesuffix('_map')} of this eye"))
        put(prose(*map_text(written, surface).split("\n")))
        shown, wrong = on_desk.figures(side)  # with an unreadable field what was typed is not compared
        if typed := shown and not wrong and central_typed(shown.inputs, name):
            put(prose(f"{typed[0].upper()}{typed[1:]}: central figures use what was typed."))
        if not written.confirmed:
            put(prose("It was not confirmed on a picture."))
        with st.container(horizontal=True, key=f"map_{name}_actions"):
            if not written.confirmed:
                told = _take, on_desk, side, {name: written}, name
                press(f"map_confirm_{name}", "It lies as in this picture", *told, of=(on_desk.id, side))
            press(f"map_remove_{name}", "Remove the map", _take_out, on_desk, side, name, of=(on_desk.id, side))
        if "central_thickness_um" not in on_desk.texts[side] and not name.startswith("epi"):
            put(notes("No thickness at the centre was typed: without the map there are no figures until it is."))
    _not_taken(name)
