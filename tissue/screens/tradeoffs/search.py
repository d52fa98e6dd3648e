"""The searches of Trade-offs: what value of one input gives a wanted figure, or the same figure as another option."""

from html import escape

import numpy as np
import streamlit as st

from tissue.drawing.base.palette import HEADS
from tissue.entry.fields import fields
from tissue.explore.targets import seek
from tissue.report.measures import measures, number, strength
from tissue.screens.html import part
from tissue.screens.kept import kept
from tissue.screens.tradeoffs.map import figure_name
from tissue.screens.tradeoffs.pick import outlived, pick

OWN = "own"
INPUTS = {"surface": ("zone_mm",), "flap": ("zone_mm", "flap_um"), "lenticule": ("zone_mm", "cap_um", "base_um")}
SOUGHT = ("bed_least", "bed", "strength", "altered", "removed", "uncut", "below_line")


def search(shown, stands_for):
    """A row of choices that reads as a question, and its answer.

    Args:
        shown: Shown.
        stands_for: name of the input.
    """
    st.html(part("What would give the same, or a value of your own"))
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        option = pick("to_of", "Option", tuple(HEADS), HEADS.get, 180, "lenticule")
        field = pick("to_by", "Input to change", INPUTS[option], lambda one: fields()[one].heading, 230)
        judgement = shown.comparison.judgement
        id = pick("to_gives", "Figure wanted", SOUGHT, lambda one: measures()[one].heading(judgement), 230)
        others = (*(other for other in HEADS if other != option), OWN)
        like = pick("to_like", "The same as", others, _like_words, 200, "flap")
        wanted = _own(measures()[id]) if like == OWN else _value(shown, measures()[id], like)
    said = escape(_answer(shown, option, field, measures()[id], like, wanted))
    st.html(f'<div class="prose answer" role="status" data-for="{stands_for}"><p>{said}</p></div>')


def _like_words(like):
    return "a value of my own" if like == OWN else f"{HEADS[like]} as planned"


def _own(measure):
    """A value of the user's own; it outlives a change of screen."""
    begin = outlived("to_own")
    value = st.number_input(f"Value, {measure.unit}", key="to_own", value=begin, format="%g", width=130)
    st.session_state["to_own_last"] = value
    return value


def _value(shown, measure, option):
    """The figure of an option in the plan."""
    result = shown.comparison.results[option]
    if measure.figure == "strength":
        return strength(result, shown.comparison.judgement)
    part_ = result.budget if hasattr(result.budget, measure.figure) else result.spread
    return getattr(part_, measure.figure)


def _answer(shown, option, field, measure, like, wanted):
    """The answer in words."""
    if wanted is None:
        return "Enter the value that is wanted."
    if np.isnan(wanted):
        return f"{HEADS[like]} has no such figure in this plan."
    name = figure_name(measure, shown.comparison)
    key = (shown, option, name, float(wanted), field)
    found = kept("to_found", key, lambda: seek(shown.inputs.values, option, name, float(wanted), field))
    said = found.words(
        fields()[field].heading, lambda value: f"{number(value, measure.decimals)} {measure.unit}".strip()
    )
    return f"{HEADS[option]}. {said}"
