"""The sources of the house by their place: what the tests of its rules walk through."""

import ast

from helpers import ROOT

TISSUE = ROOT / "tissue"
FILES = {f.relative_to(TISSUE).with_suffix("").as_posix(): f for f in sorted(TISSUE.rglob("*.py"))}
PLACES = {**FILES, "app": ROOT / "app.py"}
TREES = {place: ast.parse(file.read_text(encoding="utf-8")) for place, file in PLACES.items()}


def room_of(place):
    """The room that a source stands in."""
    return place.split("/")[0]
