"""The law of the stroma that is picked on the Mechanics screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import streamlit as st

from tissue.budget.strength.relationship import Relationship, relationships
from tissue.mechanics.laws.choice import LAWS, SETS, SHEAR_RELATIONSHIPS, Choice

if TYPE_CHECKING:
    from tissue.budget.comparison import Comparison

OUT_OF_PLANE = " (out-of-plane: overstates)"
TITLES = {
    "isotropic": "alike in every direction",
    "transverse": "stiff along the lamellae, soft between them",
    "fibre": "stiffening fibres, large displacements",
}
RATIOS = (2.98, 10.0, 47.0, 100.0, 300.0, 1000.0)
SET_TITLES = {"soft": "soft", "middle": "middle (assumed)", "donor": "donor (fitted to donor buttons)"}
USUAL = {"law": "isotropic", "ratio": 47.0, "shear": SHEAR_RELATIONSHIPS[0], "set": "middle", "depth": "nambiar2023"}


def picked_law() -> Choice:
    """The Choice that the screen's fields stand for."""
    known = relationships()
    places = st.columns([3, 3, 4], gap="small")
    with places[0]:
        law = _picked("law", "Law of the stroma", LAWS, TITLES.__getitem__)
    with places[2]:
        depth = _picked("depth", "Stiffness with depth by", list(known), lambda name: _named(known[name]))
    with places[1]:
        if law == "isotropic":
            return Choice(depth)
        if law == "fibre":
            return Choice(depth, law, set=_picked("set", "Numbers of the law", SETS, SET_TITLES.__getitem__))
        ratio = _picked("ratio", "Modulus over shear modulus", RATIOS, "{:g}".format)
        shear = _picked("shear", "Shear stiffness with depth by", SHEAR_RELATIONSHIPS, _shear)
    return Choice(depth, law, ratio, shear)


def _picked(name: str, label: str, options: list[str] | tuple[str | float, ...], words: Callable[..., Any]) -> Any:
    """One field; it shows the last choice when the screen is opened again."""
    kept = st.session_state.setdefault("mechanics_picked", dict(USUAL))
    key = f"mechanics_{name}"
    st.session_state.setdefault(key, kept[name])
    kept[name] = st.selectbox(label, list(options), key=key, format_func=words)
    return kept[name]


def _named(relationship: Relationship) -> str:
    """A relationship in words."""
    return relationship.label + (OUT_OF_PLANE if relationship.plane == "out-of-plane" else "")


def _shear(name: str) -> str:
    """How the shear stiffness falls with depth, in words."""
    return "as the stiffness does" if name == "same" else relationships()[name].label


def law_words(choice: Choice) -> str:
    """A Choice in a few words."""
    more = {"transverse": f", ratio {choice.shear_ratio}", "fibre": f", {choice.set} set"}.get(choice.law, "")
    return f"{TITLES[choice.law]}{more}; depth by {relationships()[choice.relationship].short}"


def law_key(choice: Choice) -> tuple[str, str, float | None, str | None, str | None]:
    """A key that tells one Choice from another."""
    return tuple(getattr(choice, name) for name in ("relationship", "law", "shear_ratio", "shear_relationship", "set"))


def shear_ratios(comparison: Comparison, choice: Choice) -> dict[float, dict[str, float]]:
    """Stress in the bed by the transverse law, {modulus over shear modulus: {state: ratio}}.

    Args:
        comparison: Comparison of one eye.
        choice: Choice of the law; its relationships are kept.
    """
    from tissue.mechanics import PICTURE, model, runs, section_plan

    plan = section_plan(comparison)
    shear = choice.shear_relationship or SHEAR_RELATIONSHIPS[0]
    choices = {ratio: Choice(choice.relationship, "transverse", ratio, shear) for ratio in RATIOS}
    laws = {f"{ratio:g}": one.law_of(plan.shape, PICTURE) for ratio, one in choices.items()}
    found = runs(model(plan, PICTURE), laws)
    return {
        float(ratio): {name: state.figures.bed_stress_ratio for name, state in states.items() if state.figures}
        for ratio, states in found.items()
    }
