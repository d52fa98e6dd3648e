"""Mechanics: where the stress goes, with the range that a cap leaves open and what the model fails at."""

from functools import partial

import numpy as np
import streamlit as st

from tissue.drawing.charts import stress
from tissue.mechanics.ladder.cases import cases, kept_runs
from tissue.options.options import first_name
from tissue.report.ladder import SAID, case_citation, closed_form, population, said
from tissue.report.measures import NO_FIGURE
from tissue.screens.desk.of_eye import of_eye
from tissue.screens.html import notes, paragraphs, part, plain_table, prose, put, tag
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.strength.relationship import relationships

OUT_OF_PLANE = " (out-of-plane: overstates)"
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
    "message.",
    "For a surface ablation the bed is the stroma behind the depth of the cap, in this eye and in the intact one, so "
    "that nothing removed gives 1.",
)


def show():
    """Draw the screen."""
    of_eye("mechanics", _screen)


def _screen(on_desk, shown, _, colours):
    """Everything that depends on the eye; the numbers first, from the coarse mesh, then the pictures."""
    name = _relationship()
    key = (on_desk.side, tuple(sorted(on_desk.texts[on_desk.side].items())), str(shown.texts), name)
    found = _solved(shown.comparison, key)
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
    put(part("Stress in the section, at true scale, one colour scale"))
    _maps(states, intact, key, colours)
    put(notes(*plan.notes, "The thin dotted line is the front surface before surgery."))
    put(part("What it may and may not claim") + prose(*CLAIMS))
    put(part("The ladder of published experiments, failures too") + _ladder())
    _details(shown.comparison, states, ranges, name, key)


def _relationship():
    """The relationship that gives the stiffness, picked."""
    known = relationships()
    kept = st.session_state.get("mechanics_last", "nambiar2023")
    st.session_state.setdefault("mechanics_relationship", kept)
    picked = st.selectbox(
        "Stiffness with depth by",
        list(known),
        key="mechanics_relationship",
        format_func=lambda name: known[name].label + (OUT_OF_PLANE if known[name].plane == "out-of-plane" else ""),
        width=420,
    )
    st.session_state["mechanics_last"] = picked
    return picked


def _solved(comparison, key):
    """States at picture mesh, their ranges, the section plan and the intact front; words where it cannot be."""
    kept = st.session_state.setdefault("mechanics_solved", {})
    if key not in kept:
        kept.clear()
        kept[key] = _solve(comparison, key[-1])
    return kept[key]


def _solve(comparison, name):
    from tissue.errors import EyeError
    from tissue.mechanics import PICTURE, Choice, model, runs, section_plan, spread_of_runs
    from tissue.mechanics.shape import conic_mm

    try:
        with st.spinner("Working out the section …"):
            plan = section_plan(comparison)
            found = runs(model(plan, PICTURE), Choice(name).laws(plan.shape, PICTURE), pictures=(name,))
    except EyeError as error:
        return f"No section: {error.field} is {error.value}; what can be worked out: {error.limit}."
    shape = plan.shape

    def front(r_mm):
        return conic_mm(np.asarray(r_mm), shape.radius_mm, shape.asphericity) + shape.epithelium_mm

    return found[name], spread_of_runs(found), plan, front


def _maps(states, front, key, colours):
    """The six sections, two in a row."""
    scale = stress.scale_kPa(states)
    names = list(stress.TITLES)
    barred = next(name for name in (*names[1::2], *names) if states[name].map is not None)
    for first in range(0, len(names), 2):
        for column, name in zip(st.columns(2, gap="small"), names[first : first + 2], strict=True):
            with column:
                chart(
                    f"stress_{name}",
                    (key, colours.name, name),
                    Picture(
                        partial(stress.draw_stress, states[name], name, colours, scale, front, bar=name == barred),
                        partial(stress.describe_map, states[name], name),
                        stress.TITLES[name],
                        file=f"stress-{name}",
                    ),
                    columns=2,
                )


def _figures(states, ranges):
    """Every figure of every state with its spread over relationships."""
    lines = []
    for name, title in stress.TITLES.items():
        state = states[name]
        if state.figures is None:
            lines.append(((title, state.why_not), *[NO_FIGURE] * len(FIGURES)))
            continue
        lines.append((title, *(_cell(state, ranges.get(name), figure) for figure in FIGURES)))
    return plain_table(
        ("State", *FIGURES.values()), lines, "Figures of the states", range(1, len(FIGURES) + 1)
    ) + notes("In brackets least and greatest over all relationships.")


def _cell(state, ranges, figure):
    """A figure with its range."""
    value, places = getattr(state.figures, figure), 0 if figure.endswith("percent") else 2
    if np.isnan(value):
        return NO_FIGURE
    text = f"{value:.{places}f}"
    if ranges is None:
        return text
    low, high = ranges[figure]
    return f"{text} ({low:.{places}f}–{high:.{places}f})"


def _strain(states, plan):
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


def _longer(percent):
    """A length in percent against another, in words."""
    return f"{abs(percent):.1f} % {'longer' if percent >= 0 else 'shorter'}"


def _ladder():
    """The ladder of published experiments with what every law gives, failures too."""
    kept = kept_runs()
    lines = [
        (
            (case.published, population(case)),
            (*said(case, kept[name]), *closed_form(case)),
            case.note,
            case_citation(case),
        )
        for name, case in cases().items()
    ]
    heads = ("Published", "What every law gives", "To know", "Source")
    return notes(*SAID) + plain_table(heads, lines, "Published experiments")


def _details(comparison, states, ranges, name, key):
    """What the figures owe to the assumptions; worked out when it is opened."""
    if st.toggle("Show what the figures owe to the assumptions", key="mechanics_sensitivity"):
        kept = st.session_state.setdefault("mechanics_cases", {})
        if key not in kept:
            from tissue.mechanics import Choice, section_plan
            from tissue.mechanics.sensitivity import sensitivity

            kept.clear()
            with st.spinner("Working out eight cases …"):
                kept[key] = sensitivity(section_plan(comparison), Choice(name))
        heads = [title for state, title in stress.TITLES.items() if state != "intact"]
        lines = [
            (case, *(_ratio(found[state]) for state in stress.TITLES if state != "intact"))
            for case, found in kept[key].items()
        ]
        put(plain_table(("Stress in the bed, ratio", *heads), lines, "Sensitivity"))


def _ratio(state):
    """The bed's ratio of one state."""
    return "–" if state.figures is None else f"{state.figures.bed_stress_ratio:.2f}"
