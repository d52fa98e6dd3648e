"""The only reader of a typed eye: turns the texts of its fields into values, and says in words what is wrong."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from tissue.entry.checks import Fault, check_one, faults
from tissue.entry.eye_text import read_of_eye
from tissue.entry.own_map.names import MAPS
from tissue.entry.own_map.taken import faults_of_maps
from tissue.ground.vocabulary import REFRACTION

WRITTEN = "refraction"
EITHER = {"mean_K_D": "radius_mm", "radius_mm": "mean_K_D"}  # one of these two spellings must be given


def read_fields(texts: Mapping[str, Any], side: str | None = None) -> tuple[dict[str, Any], dict[str, Fault]]:
    """Values by name, and a Fault for each field that is wrong.

    Args:
        texts: by name, what a field holds; an empty text is not given. A map of the eye stands there as its
            WrittenMap and is given back as it is.
        side: OD or OS, where it is known: a mark of the eye and a direction in words are then read.

    >>> read_fields({"refraction": "-6.00 -1.25 x 170", "central_thickness_um": "0.548"})[0]["central_thickness_um"]
    548.0
    """
    values: dict[str, Any] = {name: texts[name] for name in MAPS if name in texts}
    texts = {name: text for name, text in texts.items() if name not in MAPS}
    wrong: dict[str, Fault] = {}
    for name, text in texts.items():
        value = check_one(name, text, side)
        if isinstance(value, Fault):
            wrong[name] = value
        elif text.strip():
            values[name] = value
    _vertex_behind(texts, side, values, wrong)
    given = {name: texts[name] if name == "refraction" else value for name, value in values.items()}
    for finding in faults(given, dict.fromkeys(wrong, True)):
        wrong.setdefault(finding.field, finding.fault(written=texts.get(finding.field)))
    for fault in [] if wrong else faults_of_maps(values):
        wrong.setdefault(fault.field, fault)
    numbers = zip(REFRACTION, values.pop("refraction", ()), strict=False)
    return values | {name: number for name, number in numbers if not np.isnan(number)}, wrong


def _vertex_behind(texts: Mapping[str, Any], side: str | None, values: dict[str, Any], wrong: dict[str, Fault]) -> None:
    """Add the vertex distance written after a refraction; a different one in its own field is a fault."""
    if "refraction" not in values:
        return
    for name, value in read_of_eye("refraction", texts["refraction"], side)[1].items():
        if values.setdefault(name, value) != value:
            wrong["refraction"] = Fault("refraction", texts["refraction"], f"no other {name} than the one in its field")
