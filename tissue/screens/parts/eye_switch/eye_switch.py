"""The switch for the eye in the fields: an entry in the log of the page, so that nothing typed after it goes astray."""

from functools import cache
from typing import Any

from markupsafe import Markup

from tissue.screens.desk.plan import SIDES
from tissue.screens.html import joined, start, tag
from tissue.screens.parts.component import component, text


@cache
def _html() -> Markup:
    """A word for each eye."""
    words = (
        tag("label", start("input", type="radio", name="eye-in-fields", value=side), tag("span", word))
        for side, word in SIDES.items()
    )
    return tag("div", joined(*words), class_="tissue-eye", role="radiogroup", aria_label="Eye")


def eye_switch(data: dict[str, Any]) -> None:
    """Draw the switch.

    Args:
        data: what the fields get, see `fields_data`.
    """
    whose = {name: data[name] for name in ("desk", "gone", "plan", "side", "answered", "late")}
    css = text("parts/eye_switch/eye_switch.css")
    component("eye_switch", _html(), "parts/eye_switch/eye_switch.js", css=css)(key="eye_switch", data=whose)
