"""Choices that are kept when the screen is left."""

from collections.abc import Callable
from typing import Any, NamedTuple

import streamlit as st

from tissue.report.measures import Measure


class Chosen(NamedTuple):
    """The choices above map and lines: the figure, the option and two inputs of the map, and the input of the lines.

    levels: values of the contours; round ones where None.
    """

    measure: Measure
    option: str
    pair: tuple[str, str]
    field: str
    levels: list[float] | None


def pick(
    name: str,
    label: str,
    options: tuple[str | float | tuple[str, str], ...],
    say: Callable[..., Any],
    width: int,
    first: str | float | None = None,
) -> Any:
    """The option chosen.

    The first choice is given together with the list; set separately, it can be lost when the list is drawn twice.

    Args:
        name: its key; label: what stands over it.
        options: what can be chosen; say: gives the words of one.
        width: of its box [px].
        first: what is chosen at first; the first option where None.
    """
    begin = outlived(name, first)
    at = options.index(begin) if begin in options else 0
    picked = st.selectbox(label, options, at, key=name, format_func=say, width=width)
    st.session_state[f"{name}_last"] = picked
    return picked


def outlived(name: str, first: str | float | bool | None = None) -> str | float | bool | None:
    """The first value of a field: the one it had when its screen was left last.

    Args:
        name: key of the field, under whose name and `_last` it is kept.
        first: what it begins with the first time.
    """
    if name not in st.session_state:
        st.session_state[f"{name}_begin"] = st.session_state.get(f"{name}_last", first)
    return st.session_state.get(f"{name}_begin", first)
