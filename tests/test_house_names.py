"""The names of the house: one name for one thing, and no procedure asked for by its name.

Source of the rules: DEVELOPERS.md, the conventions.
"""

import ast
import re
import tomllib
from pathlib import Path

from helpers import ROOT
from house_sources import FILES, TREES, room_of


def test_no_room_for_odds_and_ends():
    words = {part for place in FILES for part in place.split("/")}
    assert words & {"utils", "util", "helpers", "misc", "common"} == set()


# The same letters in another meaning, each with its count: ids of the JSON, of data files and of tables, no procedure.
OTHER_MEANINGS = {
    "ground/vocabulary": 1,  # a stage of the cuts
    "routes/ways": 2,  # ids of two ways
    "mechanics/states": 2,  # ids of two states
    "mechanics/ladder/experiments": 3,  # kinds of experiments, and treatments of a published order
    "ground/sources": 1,  # a procedure of a published table
    "ground/published": 1,  # a procedure of a published table
    "followup/own": 3,  # ids of errors in a surgeon's own table
    "series/own/table": 2,  # the same
    "report/followup/own": 2,  # the same
    "screens/parts/form/form": 1,  # a group of fields
    "report/map_json": 1,  # the measured surface of an eye
}


TRAITS = ("removal/options", "removal/traits")  # the procedures are named where they are made


def procedures_named(tree):
    """How often a source writes the name of a procedure as a text; examples in docstrings are read as a user's."""
    names = ("surface", "flap", "lenticule")
    return sum(isinstance(node, ast.Constant) and node.value in names for node in ast.walk(tree))


def test_nothing_asks_for_a_procedure_by_its_name():
    """Only its traits are asked for. Source: DEVELOPERS.md, the rules of the house."""
    assert procedures_named(ast.parse('if option.name == "flap": pass')) == 1
    named = {place: procedures_named(tree) for place, tree in TREES.items() if place not in TRAITS}
    assert {place: count for place, count in named.items() if count} == OTHER_MEANINGS


def test_words_of_the_interface_are_written_once():
    """The eyes, the three numbers of a refraction and the true minus. Sources of data stand below it.

    Source: DEVELOPERS.md, the rules of the house.
    """
    once = ('("OD", "OS")', '.replace("-", "−")', ' = ("sphere_D", "cylinder_D", "axis_deg")')
    above = {place: file for place, file in FILES.items() if place not in ("ground/vocabulary", "ground/sources")}
    texts = {place: file.read_text(encoding="utf-8") for place, file in above.items()}
    assert [f"{place}: {words}" for place, text in texts.items() for words in once if words in text] == []


def test_one_name_means_one_thing():
    """No two public functions of one name in two rooms; a random draw is `sample`, a picture `draw`.

    A later need is met by a better word, not by a second meaning. Source: DEVELOPERS.md, the rules of the house.
    """
    rooms = {}
    for place in FILES:
        for node in TREES[place].body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                rooms.setdefault(node.name, set()).add(room_of(place))
    assert {name: sorted(found) for name, found in rooms.items() if len(found) > 1} == {}
    assert rooms["sample"] == {"explore"} and "explore" not in rooms.get("draw", ())


def test_no_file_is_named_for_its_length():
    """A name says a subject, not that something else became too long; those of functions too."""
    tests = [file.stem for file in (ROOT / "tests").rglob("*.py")]
    names = {*(Path(place).name for place in FILES), *tests}
    made = {node.name for tree in TREES.values() for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
    assert [name for name in sorted(names) if name.endswith(("_parts", "_later", "_more", "utils"))] == []
    assert made & {"_parts", "_later", "_more", "_rest_of_it"} == set()


# Called from outside: by a notebook, and by the library whose class it is a method of.
CALLED_FROM_OUTSIDE = {"to_frame", "_print_message"}


def names_used(tree):
    """Names that a source reads: alone, behind a point, or as a text. A definition or an import is no use of a name."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def test_nothing_is_there_for_the_tests_alone():
    """Every function is used by the tool itself. Source: DEVELOPERS.md, the rules of the house."""
    assert set(names_used(ast.parse("from a import b\ndef c(): return d.e('f')"))) == {"d", "e", "f"}
    used = {name for tree in TREES.values() for name in names_used(tree)}
    made = {
        (place, node.name)
        for place, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
    }
    unused = {f"{place} {name}" for place, name in made if name not in used and not name.startswith("__")}
    assert unused == {f"{place} {name}" for place, name in made if name in CALLED_FROM_OUTSIDE}


def test_every_key_of_a_style_is_the_key_of_something_shown():
    """Otherwise a style outlives what it was for. Keys that are put together count by their beginning.

    Source: DEVELOPERS.md, the rules of the house.
    """
    shown = "".join(file.read_text(encoding="utf-8") for place, file in FILES.items() if place.startswith("screens/"))
    texts = re.findall(r"""["']([\w-]+)[{"']""", shown)
    styles = [file.read_text(encoding="utf-8") for file in (ROOT / "tissue" / "screens").rglob("*.css")]
    keys = {key for style in styles for key in re.findall(r"st-key-(?:(?:piece|press|change)-)?([\w-]+)", style)}
    assert keys and {key for key in keys if key not in texts} == set()


def test_the_lines_of_equivalent_mutants_are_still_there():
    """A line that has changed would count as a fault that no test finds. Source: tests/hard/mutants.py."""
    entries = tomllib.loads((ROOT / "tests/hard/mutants.toml").read_text(encoding="utf-8"))["equivalent"]
    lines = {module: FILES[module].read_text(encoding="utf-8") for module in {one["module"] for one in entries}}
    assert [one["line"] for one in entries if one["line"] not in lines[one["module"]]] == []
