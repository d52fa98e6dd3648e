"""Mechanics: where the stress goes, with the range that the unknown cap leaves and with the model's failures."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import streamlit as st
from markupsafe import Markup

from tissue.budget.comparison import Comparison
from tissue.budget.strength.relationship import relationships
from tissue.drawing.base.palette import Look
from tissue.drawing.charts import stress
from tissue.drawing.charts.shear_ratio import describe_shear_ratios, draw_shear_ratios
from tissue.drawing.charts.stress import Frame
from tissue.entry.checks import Fault
from tissue.ground.vocabulary import TRUE_MINUS, Array
from tissue.mechanics.body import CLOSED
from tissue.mechanics.ladder.cases import DEPTH, cases, kept_runs
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.plan import SectionPlan
from tissue.mechanics.states import BARE, INTACT, LIFTED, SLACK, SLIDING, TAUT, State
from tissue.removal.options import first_name
from tissue.report.ladder import SAID, by_law, case_citation, closed_form, population, verdicts
from tissue.report.measures import NO_FIGURE
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.fields.of_eye import of_eye
from tissue.screens.html import notes, paragraphs, part, plain_table, prose, put, tag
from tissue.screens.kept import kept
from tissue.screens.mechanics.law import law_key, picked_law, shear_ratios
from tissue.screens.mechanics.space import whole_cornea
from tissue.screens.parts.chart.chart import Picture, chart, main_width, width_of

FIGURES = {
    "bed_stress_ratio": "Stress in the bed",
    "bed_strain_ratio": "Strain in the bed",
    "mean_strain_ratio": "Strain, mean of what carries",
    "cap_stress_ratio": "Stress in front of the cut",
    "load_share_percent": "Load carried in front of the cut, %",
}
CLAIMS = (
    "What it shows: the pattern of in-plane stress in one section of this eye under 15 mmHg, and ratios to the same "
    "eye before surgery. The level of the modulus cancels.",
    "What it does not say: any change of refraction or of shape, any risk, any limit to keep to, how the cornea heals, "
    "or that one way is better than another.",
    "A cap lies somewhere between taut and carrying nothing. All three states are always shown: the range is the "
    "message. By the fibre law nothing slides; a cap closed with its own length stands in its place. Too long for its "
    "bed, it presses on it, for the model cannot fold.",
    "For a surface ablation the bed is the stroma behind the depth of the cap, in this eye and in the intact one, so "
    "that nothing removed gives 1.",
)

SECTION_WORDS = (
    "Depth below the front of the intact stroma, drawn four times as large and laid flat. A line each tenth; the thick "
    "one is the mean of the intact bed.",
    "The thin dotted line is the front of the stroma before surgery.",
)
NARROW_PX = 900  # in a narrower main column the sections stand one below the other
AFTER = (BARE, LIFTED, TAUT, SLACK)
LADDER_WORDS = (
    f"Changes in percent unless the row says otherwise. Isotropic: by {relationships()[DEPTH[0]].short}, in brackets "
    f"over {len(DEPTH)} relationships.",
)


def show() -> None:
    """Draw the screen."""
    of_eye("mechanics", _screen)


def _screen(on_desk: Desk, shown: Shown, _: dict[str, Fault], colours: Look) -> None:
    """Draw everything that depends on the eye: the numbers first, then the pictures."""
    choice = picked_law()
    eye_key = on_desk.side, tuple(sorted(on_desk.texts[on_desk.side].items())), str(shown.texts)
    key = *eye_key, *law_key(choice)
    found = _solved(shown.comparison, choice, key)
    if isinstance(found, str):
        put(tag("div", paragraphs(found), class_="stale"))
        return
    states, ranges, plan, intact = found
    put(part("Ratios to the intact eye"))
    chart(
        "stress_ratios",
        (key, colours.name),
        Picture(
            lambda: stress.ratio_picture(states, ranges, colours),
            lambda: stress.describe_ratios(states, ranges),
            "ratios of stress in the bed",
            file="stress-ratios",
        ),
    )
    put(_figures(states, ranges) + _strain(states, plan))
    _shear(shown.comparison, choice, key, colours)
    put(part("Stress in the section, over the mean of the intact bed"))
    _maps(states, intact, key, colours)
    put(notes(*SECTION_WORDS, *plan.notes))
    whole_cornea(shown.comparison, choice, eye_key, colours)
    put(part("What it may and may not claim") + prose(*CLAIMS))
    put(part("The ladder of published experiments, failures too") + _ladder())
    _details(shown.comparison, choice, key)


def _solved(comparison: Comparison, choice: Choice, key: tuple[Any, ...]) -> Any:
    """The states at picture mesh, their ranges, the section plan and the intact front; or words why there are none."""
    kept = st.session_state.setdefault("mechanics_solved", {})
    if key not in kept:
        kept.clear()
        kept[key] = _solve(comparison, choice)
    return kept[key]


def _solve(comparison: Comparison, choice: Choice) -> Any:
    from tissue.ground.errors import EyeError
    from tissue.mechanics import PICTURE, model, runs, section_plan, spread_of_runs
    from tissue.mechanics.shape import conic_mm

    try:
        with st.spinner("Working out the section …"):
            plan = section_plan(comparison)
            found = runs(model(plan, PICTURE), choice.laws(plan.shape, PICTURE), pictures=(choice.name,))
    except EyeError as error:
        return f"No section: {error.field} is {error.value}; what can be worked out: {error.limit}."
    shape = plan.shape

    def front(r_mm: Array) -> Array:
        return np.asarray(conic_mm(np.asarray(r_mm), shape.radius_mm, shape.asphericity)) + shape.epithelium_mm

    return found[choice.name], spread_of_runs(found), plan, front


def _shear(
    comparison: Comparison,
    choice: Choice,
    key: tuple[Any, ...],
    colours: Look,
) -> None:
    """The ratios against how soft the stroma is between its lamellae; worked out when it is opened."""
    if not st.toggle("Show the ratios against modulus over shear modulus", key="mechanics_shear_open"):
        return
    with st.spinner("Working out six laws …"):
        found = kept("mechanics_shear_ratios", key, lambda: shear_ratios(comparison, choice))
    picture = Picture(
        partial(draw_shear_ratios, found, colours),
        partial(describe_shear_ratios, found),
        "ratios of stress against modulus over shear modulus",
        file="stress-shear-ratio",
        tall=True,
    )
    chart("stress_shear", (key, colours.name), picture)


def _maps(
    states: dict[str, State],
    front: Callable[[Array], Array],
    key: tuple[Any, ...],
    colours: Look,
) -> None:
    """The intact eye beside one state, and every state of the cap beside the others."""
    shared = stress.frame_of(states, front)
    after = st.selectbox(
        "Beside the intact eye", AFTER, key="mechanics_after", format_func=stress.TITLES.__getitem__, width=420
    )
    _side_by_side(states, (INTACT, after), shared, (key, colours))
    _side_by_side(
        states, [name for name in stress.CAP if name in states and name != _unused(states)], shared, (key, colours)
    )


def _unused(states: dict[str, State]) -> str:
    """The cap's state that this law does not have: sliding, where a closed cap takes its place."""
    return SLIDING if CLOSED in states else CLOSED


def _side_by_side(
    states: dict[str, State],
    names: list[str] | tuple[str, str],
    shared: Frame,
    drawn_for: tuple[tuple[str | float | tuple[tuple[str, str], ...] | None, ...], Look],
) -> None:
    """Sections in one row, or one below the other in a narrow window; the last of a row has the colour bar."""
    key, colours = drawn_for
    in_row = len(names) if main_width() >= NARROW_PX else 1
    columns = st.columns(len(names), gap="small") if in_row > 1 else [st.container() for _ in names]
    for at, (column, name) in enumerate(zip(columns, names, strict=True)):
        with column:
            chart(
                f"stress_{len(names)}_{at}",
                (key, colours.name, name),
                Picture(
                    partial(
                        stress.draw_stress,
                        states[name],
                        name,
                        colours,
                        shared,
                        wide_px=width_of(in_row),
                        bar=at % in_row == in_row - 1,
                    ),
                    partial(stress.describe_map, states[name], name, shared.bed_kPa),
                    stress.TITLES[name],
                    file=f"stress-{name}",
                ),
                columns=in_row,
            )


def _figures(states: dict[str, State], ranges: dict[str, Any]) -> Markup:
    """Every figure of every state with its spread over relationships."""
    lines = []
    for name, state in states.items():
        title = stress.TITLES[name]
        if state.figures is None:
            lines.append(((title, state.why_not), *[NO_FIGURE] * len(FIGURES)))
            continue
        lines.append((title, *(_cell(state, ranges.get(name), figure) for figure in FIGURES)))
    return plain_table(
        ("State", *FIGURES.values()), lines, "Figures of the states", range(1, len(FIGURES) + 1)
    ) + notes("In brackets least and greatest over all relationships, or by the fibre law over its sets of numbers.")


def _cell(state: State, ranges: dict[str, tuple[float, float]] | None, figure: str) -> str:
    """A figure with its range."""
    value, places = getattr(state.figures, figure), 0 if figure.endswith("percent") else 2
    if np.isnan(value):
        return NO_FIGURE
    text = _signed(value, places)
    if ranges is None:
        return text
    low, high = ranges[figure]
    return f"{text} ({_signed(low, places)}–{_signed(high, places)})"


def _signed(value: float, places: int) -> str:
    """A number with a true minus."""
    return f"{value:.{places}f}".translate(TRUE_MINUS)


def _strain(states: dict[str, State], plan: SectionPlan) -> Markup | str:
    """Closing strain in words, on the meridian of the lenticule and across it."""
    figures = states["lenticule_taut"].figures
    if figures is None:
        return ""
    own, other = figures.closing_strain_percent, figures.closing_strain_other_percent
    meridian = plan.meridian_deg[first_name("keeps_cap")]
    on = _longer(own) if meridian is None else f"{_longer(own)} at {meridian:.0f}°, {_longer(other)} across it"
    return prose(
        f"Closing strain: with the lenticule gone the cap is {on} than the bed under it, measured along both surfaces "
        "over the optical zone; base and blend add nothing. A mechanical argument, not a clinical finding."
    )


def _longer(percent: float) -> str:
    """A length in percent against another, in words."""
    return f"{abs(percent):.1f} % {'longer' if percent >= 0 else 'shorter'}"


def _ladder() -> Markup:
    """The ladder of published experiments with what every law gives, including those that no law reproduces."""
    kept = kept_runs()
    lines = []
    for name, case in cases().items():
        laws = by_law(case, kept[name])
        know = (*closed_form(case), case.note, case_citation(case))
        lines.append(((case.published, population(case)), *laws.values(), tuple(verdicts(kept[name])), know))
    heads = ("Published", "Isotropic", "Transverse, ratio 47", "Fibre law", "What that says", "To know, and source")
    return notes(*SAID, *LADDER_WORDS) + plain_table(heads, lines, "Published experiments")


def _details(comparison: Comparison, choice: Choice, key: tuple[Any, ...]) -> None:
    """How the figures depend on the assumptions; worked out when this part is opened."""
    if st.toggle("Show what the figures owe to the assumptions", key="mechanics_sensitivity"):
        kept = st.session_state.setdefault("mechanics_cases", {})
        if key not in kept:
            from tissue.mechanics import section_plan
            from tissue.mechanics.sensitivity import sensitivity

            kept.clear()
            with st.spinner("Working out eight cases …"):
                kept[key] = sensitivity(section_plan(comparison), choice)
        shown = [state for state in next(iter(kept[key].values())) if state != INTACT]
        heads = [stress.TITLES[state] for state in shown]
        lines = [(case, *(_ratio(found[state]) for state in shown)) for case, found in kept[key].items()]
        put(plain_table(("Stress in the bed, ratio", *heads), lines, "Sensitivity"))


def _ratio(state: State) -> str:
    """The bed's ratio of one state."""
    return "–" if state.figures is None else f"{state.figures.bed_stress_ratio:.2f}"
