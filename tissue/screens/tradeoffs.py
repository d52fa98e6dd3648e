"""Trade-offs: zone against depth as maps, one input varied for all options, searches, and which error matters."""

import csv
import io
import re

import numpy as np
import streamlit as st

from tissue.drawing import maps, sweeps
from tissue.drawing.palette import HEADS
from tissue.entry.fields import fields
from tissue.errors import EyeError
from tissue.measures import measures, number
from tissue.screens import below, frame, inputs, words
from tissue.screens.chart import chart
from tissue.screens.piece import piece
from tissue.screens.plain_table import notes, part, strip
from tissue.screens.reading import number_text
from tissue.screens.state import desk
from tissue.screens.tradeoff_tables import measured, thin
from tissue.tradeoffs import PAIRS, grid, sweep
from tissue.uncertainty import bed_variance_percent

SHOWN = ("bed_least", "bed", "removed", "altered", "strength", "below_line", "volume")
SWEPT = ("zone_mm", "flap_um", "cap_um", "base_um", "sphere_D")
MOVED = ("zone_mm", "cap_um", "flap_um", "base_um")
SOUGHT = ("zone_mm", "cap_um", "flap_um", "base_um")
POINTS = 41
BANDS = (
    "Bands: 95 % under the errors of measurement and cutting; exact for the bed at the centre and PTA, else from 4,096 "
    "draws, seed 2013."
)


def show():
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        st.html(words.nothing_yet(on_desk.side, wrong))
        inputs.sidebar(on_desk)
        return
    piece("tradeoff_eye", words.eye_line(shown, on_desk.side))
    if wrong:
        piece("tradeoff_stale", words.stale(shown, on_desk.texts[on_desk.side], wrong))
    _moved_back(on_desk)
    chosen = _choices()
    left, right = st.columns(2, gap="small")
    with left:
        _map(on_desk, shown, colours, *chosen)
    with right:
        _sweep(on_desk, shown, colours, chosen[0])
    piece("tradeoff_costs", below.costs(shown) + thin(shown) + measured(shown))
    _search(shown, *chosen[:2])
    _errors(shown, colours)
    inputs.sidebar(on_desk)


def _kept(name, options):
    """A choice that outlives a change of screen."""
    last = st.session_state.get(f"{name}_last")
    if st.session_state.get(name) not in options:
        st.session_state[name] = last if last in options else options[0]


def _choices():
    """Figure, option and pair of inputs."""
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        picked = []
        for name, label, options, say in (
            (
                "to_measure",
                "Figure",
                SHOWN,
                lambda one: measures()[one].label.replace(" under {line}", " under the line"),
            ),
            ("to_option", "Option of the map", tuple(reversed(HEADS)), HEADS.get),
            ("to_pair", "Inputs of the map", PAIRS, lambda pair: " × ".join(fields()[one].label for one in pair)),
            ("to_field", "Input of the lines", SWEPT, lambda one: fields()[one].label),
        ):
            _kept(name, options)
            picked.append(st.selectbox(label, options, key=name, format_func=say, width=250))
            st.session_state[f"{name}_last"] = picked[-1]
    return picked[0], picked[1], picked[2], picked[3]


def _figure(shown, measure):
    """The name of a measure's figure among those that can be varied."""
    name = measures()[measure].figure
    return f"strength_{shown.comparison.judgement.relationship}_percent" if name == "strength" else name


def _levels():
    """Values at which contours run, as typed; None: round ones; the words of the fault where they cannot be read."""
    text = st.text_input("Contours at (round values where empty)", key="to_levels", placeholder="250 280 300")
    parts = re.split(r"[;\s]+", text.strip()) if text.strip() else []
    try:
        return [float(part.replace(",", ".").replace("−", "-")) for part in parts] or None
    except ValueError:
        st.html(strip(f"Contours: read {text}, accepted numbers apart by spaces."))
        return None


def _map(on_desk, shown, colours, measure, option, pair, _):
    """The map; a click moves the plan there, and says so."""
    try:
        made = _cached(
            "to_grid",
            (shown, measure, option, pair),
            lambda: grid(shown.inputs.values, option, _figure(shown, measure), *pair),
        )
    except EyeError as error:
        st.html(strip(f"No map: {error}"))
        return
    known = measures()[measure]
    levels = _levels()
    line = (float(shown.comparison.judgement.bed_line_um), "your line") if known.figure.startswith("bed_") else None
    clicked = chart(
        "to_map",
        (shown, measure, option, pair, tuple(levels or ()), colours.name),
        lambda: (maps.tradeoff_map(made, colours, known, levels, line), maps.describe_map(made, known, levels, line)),
        "trade-off map",
        file=f"{on_desk.code}-{on_desk.side}-map.svg",
        clicks=True,
        columns=2,
        tall=True,
    )
    if clicked and clicked != st.session_state.get("to_clicked"):
        st.session_state["to_clicked"] = clicked
        _move(on_desk, shown, pair, clicked)
    out = io.StringIO()
    csv.writer(out).writerows(made.rows())
    st.download_button(
        "Map as CSV", out.getvalue(), f"{on_desk.code}-map.csv", "text/csv", key="to_csv", type="tertiary"
    )


def _move(on_desk, shown, pair, clicked):
    """Move the plan to the place clicked; the sphere is measured, and stays."""
    before = dict(on_desk.texts[on_desk.side])
    moved = {}
    for name, value in zip(pair, (clicked["x"], clicked["y"]), strict=True):
        if name in MOVED:
            places = 2 if name == "zone_mm" else 0
            moved[name] = number_text(name, round(float(value), places))
    on_desk.replace(on_desk.side, before | moved)
    on_desk.revision += 1
    said = ", ".join(f"{fields()[name].label} {text} {fields()[name].unit}" for name, text in moved.items())
    stays = "" if "sphere_D" not in pair else " The sphere is measured and was not moved."
    st.session_state["to_moved"] = (on_desk.side, before, f"The plan was moved: {said}.{stays}")
    st.rerun()


def _moved_back(on_desk):
    """What a click changed, and the way back."""
    moved = st.session_state.get("to_moved")
    if not moved or moved[0] != on_desk.side:
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.html(f'<div class="ask">{moved[2]}</div>')
        st.button("Take it back", key="to_back", on_click=_back, args=(on_desk, moved))
        st.button("It is right", key="to_right", on_click=lambda: st.session_state.pop("to_moved", None))


def _back(on_desk, moved):
    """The plan as it was before the click."""
    on_desk.replace(moved[0], moved[1])
    on_desk.revision += 1
    st.session_state.pop("to_moved", None)


def _cached(name, key, build):
    """What was worked out last for the same input, by name."""
    kept = st.session_state.setdefault("to_cache", {})
    if name not in kept or kept[name][0] != key:
        kept[name] = (key, build())
    return kept[name][1]


def _sweep(on_desk, shown, colours, measure):
    """All options over one input, spread as bands."""
    field = st.session_state["to_field"]
    try:
        made = _cached(
            "to_sweep",
            (shown, measure, field),
            lambda: sweep(shown.inputs.values, _figure(shown, measure), field, number=POINTS),
        )
    except EyeError as error:
        st.html(strip(f"No lines: {error}"))
        return
    known = measures()[measure]
    chart(
        "to_sweep",
        (shown, measure, field, colours.name),
        lambda: (sweeps.sweep_lines(made, colours, known), sweeps.describe_sweep(made, known)),
        "all options over one input",
        file=f"{on_desk.code}-{on_desk.side}-lines.svg",
        columns=2,
        tall=True,
    )
    st.html(notes(BANDS))


def _search(shown, measure, option):
    """What value of one input gives a wanted figure."""
    from tissue.targets import seek

    known = measures()[measure]
    st.html(part("What would give …"))
    with st.container(horizontal=True, vertical_alignment="bottom", gap="small"):
        wanted = st.number_input(
            f"{known.heading(shown.comparison.judgement)}, {known.unit}", value=None, key="to_wanted", width=260
        )
        field = st.selectbox(
            "by changing", SOUGHT, format_func=lambda one: fields()[one].heading, key="to_seek", width=260
        )
        same = st.selectbox(
            "or the same as", ("–", *HEADS), format_func=lambda one: HEADS.get(one, one), key="to_same", width=260
        )
    if same != "–":
        wanted = _value(shown, measure, same)
    if wanted is None or np.isnan(wanted):
        return
    found = seek(shown.inputs.values, option, _figure(shown, measure), float(wanted), field)
    said = found.words(fields()[field].heading, lambda value: f"{number(value, known.decimals)} {known.unit}".strip())
    st.html(f'<div class="prose"><p>{HEADS[option]}. {said}</p></div>')


def _value(shown, measure, option):
    """The figure of one option in the plan."""
    result = shown.comparison.results[option]
    if measures()[measure].figure == "strength":
        return result.strength.strength_percent[shown.comparison.judgement.relationship]
    name = measures()[measure].figure
    return getattr(result.budget, name, None) if hasattr(result.budget, name) else getattr(result.spread, name)


def _errors(shown, colours):
    """Which error matters: exact for the bed, from draws for the strength."""
    st.html(part("Which error matters"))
    shares = _cached("to_shares", shown, lambda: _shares(shown.comparison))
    chart(
        "to_bars",
        (shown, colours.name),
        lambda: (sweeps.variance_bars(shares, colours), sweeps.describe_variance(shares)),
        "which error matters",
        tall=True,
    )
    st.html(
        notes("Residual bed: exact. Relative strength: what each error explains by itself in 4,096 draws, seed 2013.")
    )


def _shares(comparison):
    """Share of the variance of bed and strength from each error, by option."""
    from tissue.draws import draw, strength_name

    name = strength_name(comparison.judgement.relationship)
    drawn = draw(comparison, [name])
    found = {}
    for option, result in comparison.results.items():
        bed = bed_variance_percent(result.option, comparison.errors)
        known = bool(result.available) and np.isfinite(
            result.strength.strength_percent[comparison.judgement.relationship]
        )
        found[option] = bed, drawn[option].variance_percent(name) if known else dict.fromkeys(bed, np.nan)
    return found
