"""The one chart component: a figure given as a plain dict, drawn on a node of the page that stays."""

import json
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import streamlit as st

from tissue.entry.file_name import file_name
from tissue.screens.html import put, script_of
from tissue.screens.parts.component import component, text

USUAL_PX = 1076  # main column of a window 1440 px wide
GAP_PX = 14  # between charts side by side
ALONE_S = 0.08  # what follows the first chart is sent this much later, while the browser draws
MOVED_S = 0.2  # the same in a drag, where the next change comes after the picture and ends the wait
LOOK_S = 0.002  # how often another change is looked for meanwhile
SCRIPTS = (
    "parts/when_free.js",
    "parts/waiting.js",
    "parts/chart/library.js",
    "parts/chart/remember_lists.js",
    "parts/chart/drag.js",
    "parts/chart/handles.js",
    "parts/chart/play.js",
    "parts/chart/chart.js",
)
HTML = """
<figure class="tissue-chart">
  <div class="plot" role="img" tabindex="0" aria-label=""></div>
  <div class="handles"><svg aria-hidden="true"></svg></div>
  <div class="player" hidden></div>
  <button type="button" class="save" hidden>save as SVG</button>
</figure>
"""
CSS = """
.tissue-chart { position: relative; margin: 0; }
.tissue-chart .plot { width: 100%; overflow: hidden; }
.tissue-chart .plot:focus-visible { outline: 2px solid var(--st-primary-color); outline-offset: 1px; }
.tissue-chart .save {
  position: absolute; left: 0; bottom: 23px; padding: 1px 0; border: 0; background: none; cursor: pointer;
  font: 12px/15px var(--st-font); color: var(--st-link-color);
  text-decoration: underline dotted; text-underline-offset: 3px;
}
.tissue-chart .save:focus-visible { outline: 2px solid var(--st-primary-color); }
"""


@cache
def library_url() -> str:
    """The address, relative to the page, at which the server offers the plotly.min.js of the installed wheel.

    A component that is never drawn declares the folder of the wheel as its files; thus the server offers it.
    """
    import streamlit.components.v1 as components

    library = find_spec("plotly")
    assert library and library.origin, "plotly is not installed"
    folder = Path(library.origin).parent / "package_data"
    declared = components.declare_component("plotly_library", path=folder)
    return f"component/{declared.name}/plotly.min.js"


def ask_early() -> None:
    """Have the browser ask for the chart library before the first screen is worked out; nothing in later runs."""
    place = st.container(key="ask_early")  # it takes no room, so that nothing moves once it is empty
    if "charts" not in st.session_state:
        ask = f"{text('parts/chart/library.js')}\nloaded({json.dumps(library_url())}).catch(() => null);"
        put(script_of(ask), place, scripts=True)


def plain_figure(value: Any) -> Any:
    """Types unknown to JSON as plain numbers and lists."""
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"a figure holds {type(value).__name__}")


def main_width() -> int:
    """Width of the main column [px] as the browser told it last."""
    return st.session_state.get("main_width", USUAL_PX)


def width_of(columns: int) -> int:
    """Width of a chart [px] where so many stand side by side."""
    return (main_width() - GAP_PX * (columns - 1)) // columns


@dataclass(frozen=True, eq=False)
class Picture:
    """What to draw, and how to show it.

    build: gives the figure {"data": [...], "layout": {...}}. describe: gives its alternative text, with the numbers.
    title: what it is, for the button that saves it. file: name of the SVG to save; none where empty.
    zoom: name of a view that can be zoomed; the zoom is kept as long as it stays the same. Empty: no zoom.
    clicks: plan, side and the inputs along x and y that a click on a point is told for; None where none is.
    tall: whether the buttons stand under it; else there is room for them in its lower left.
    fixed: whether the figure has a width of its own [px], whatever the main column's.
    stands_for: name of the input it is drawn for; the node carries it as `data-for` once it is drawn.
    moves: plan and side, as the messages of the page name them, whose fields its handles move, and the eye in words
        where its handles stand beside those of the other; none where None.
    """

    build: Callable[[], dict]
    describe: Callable[[], str]
    title: str
    file: str = ""
    zoom: str = ""
    clicks: tuple[str, str, tuple[str, str]] | None = None
    tall: bool = False
    fixed: bool = False
    stands_for: str = ""
    moves: tuple[str, ...] | None = None


def chart(
    key: str, depends: tuple[Any, ...], picture: Picture, columns: int = 1, alone_s: float = 0.0, draw: bool = True
) -> None:
    """Draw a Picture.

    Args:
        key: name of the chart on its screen; it keeps node and zoom.
        depends: what the figure depends on beside its width; as long as both are the same nothing is built again.
        picture: Picture.
        columns: how many charts stand side by side.
        alone_s: how long what is drawn after it waits where it has changed, so that it is seen first [s]; ended by the
            next change.
        draw: whether it is drawn; otherwise it is only worked out, so that it can be drawn at once later.
    """
    kept, changed = st.session_state.setdefault("charts", {}), st.session_state.setdefault("charts_changed", set())
    depends = (depends, None if picture.fixed else width_of(columns))
    if key not in kept or kept[key][0] != depends:
        changed.update({key} & kept.keys())
        kept[key] = (depends, *_built(picture, columns))
    if not draw:
        return
    _, data, figure, alt = kept[key]
    if st.session_state.get("chart_component_failed"):
        _fallback(key, figure, alt)
        return
    component("chart", HTML, *SCRIPTS, css=CSS + text("parts/chart/handles.css"))(
        key=f"chart-{key}",
        data=data,
        on_failed_change=_failed,
        on_width_change=partial(_wide, key),
    )
    wait_s = alone_s if key in changed else 0.0
    changed.discard(key)
    _leave_alone(wait_s)


def _leave_alone(wait_s: float) -> None:
    """Let the browser draw for so long [s]; the next change of a drag, which comes sooner, does not wait for that."""
    end = time.monotonic() + wait_s
    while time.monotonic() < end:
        time.sleep(LOOK_S)
        _ = "charts" in st.session_state  # where another run is asked for, the library ends this one here


def _built(picture: Picture, columns: int) -> tuple[bytes, dict[str, Any], str]:
    """What is sent to the browser, and the figure with its alternative text."""
    figure, alt = picture.build(), picture.describe()
    spec = {
        "data": figure["data"],
        "layout": figure["layout"],
        "alt": alt,
        "title": picture.title,
        "file": file_name(picture.file.removesuffix(".svg"), ".svg") if picture.file else "",
        "zoom": picture.zoom,
        "clicks": dict(zip(("plan", "side", "inputs"), picture.clicks, strict=True)) if picture.clicks else None,
        "tall": picture.tall,
        "width": figure["layout"]["width"] if picture.fixed else width_of(columns),
        "fixed": picture.fixed,
        "columns": columns,
        "stands_for": picture.stands_for,
        "moves": dict(zip(("plan", "side", "eye"), picture.moves, strict=False)) if picture.moves else None,
        "gap": GAP_PX,
        "library": library_url(),
    }
    return json.dumps(spec, default=plain_figure, separators=(",", ":"), allow_nan=False).encode(), figure, alt


def _wide(key: Any) -> None:
    """Take over the width of the main column that a chart in the browser reports; earlier reports are dropped."""
    told = st.session_state[f"chart-{key}"].get("width")
    if told:
        st.session_state["main_width"], st.session_state["window_width"] = map(int, told[:2])


def _failed() -> None:
    """Note that the component cannot be used here: from now on Streamlit draws the charts itself."""
    st.session_state["chart_component_failed"] = True


def _fallback(key: str, figure: dict[str, Any], alt: str) -> None:
    """The same figure by Streamlit's own chart, where the component cannot be used."""
    st.plotly_chart(figure, key=f"plain-{key}", config={"displayModeBar": False}, theme=None)
    st.caption(alt)
