"""The rules of the house, held by walking the source: imports only go up the list, and every offender is named.

Source of the rules: DEVELOPERS.md, the map and the conventions. Each checker is shown an offender of its own first.
"""

import ast
import re
import statistics
import subprocess
import sys
from pathlib import Path

import pytest
from helpers import ROOT
from house_sources import FILES, PLACES, TREES, room_of

import tissue

# Each room may use those before it.
ROOMS = (
    "ground eye removal budget optics followup routes entry explore "
    "mechanics report series rounds drawing paper screens command"
).split()
FRONT_DOOR = "budget"  # what `from tissue import …` brings: the rooms up to here
ARITHMETIC = "ground eye removal budget optics followup routes explore mechanics".split()
SHOWN_FROM = ROOMS.index("drawing")
SHOWN_BY = {
    "streamlit": lambda place: place == "app" or place.startswith("screens/"),
    "plotly": lambda place: place.startswith("drawing/"),
    "reportlab": lambda place: place.startswith("paper/"),
}
MOST_ROOMS, MOST_FLOORS, MOST_ARROWS = 19, 10, 113  # both doors, `__init__` and `__main__`, counted
MOST_FILES = 14  # in a folder
MOST_BY_POSITION, MOST_ARGUMENTS = 6, 8
MANY = ("budget/comparison compare",)  # the front door: a plan has so many parts, each a value of its own
PROCESS = ("screens/process", "series/working", "series/stopping", "command/command")
SLOW = ("scipy.stats", "scipy.optimize")
VAGUE = ("object", "dict", "tuple", "list", "Callable")  # of a field: they say nothing of what is in it
LONGEST_FILE, LONGEST_FUNCTION, NINE_OF_TEN, MEDIAN_FUNCTION = 400, 60, 30, 12  # lines
MOST_PAIRS = 20


def imported(tree):
    """Every module that a source imports, anywhere in it, in full; `tissue` alone is the front door."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: a relative import"
            for alias in node.names:
                if node.module != "tissue":
                    yield node.module if node.module.startswith("tissue.") else f"{node.module}.{alias.name}"
                elif alias.name in tissue.LATER:
                    yield tissue.LATER[alias.name][0]
                else:
                    yield f"tissue.{alias.name}" if alias.name in ROOMS else "tissue"


def wrong_way(place, tree):
    """Imports of a source that do not go up the list."""
    if place in ("__init__", "__main__"):
        return []
    here, found = ROOMS.index(room_of(place)), []
    for name in imported(tree):
        parts = name.split(".")
        if parts[0] == "tissue":
            room = parts[1] if len(parts) > 1 else ""  # the front door stands over all rooms that it opens
            if room != ROOMS[here] and (not room or ROOMS.index(room) >= here):
                found.append(f"{place} imports {name}")
    return found


def shown_early(place, tree):
    """Libraries that show something, imported where nothing is shown."""
    packages = {name.split(".")[0] for name in imported(tree)}
    return [
        f"{place} imports {package}" for package in packages if package in SHOWN_BY and not SHOWN_BY[package](place)
    ]


def slow_at_the_top(place, tree):
    """Slow parts of SciPy imported when the module is, not where they are used."""
    top = ast.Module([node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)], [])
    return [f"{place} imports {name} at the top" for name in imported(top) if name.startswith(SLOW)]


def one_by_one(place, tree):
    """Names that treat a number and a column differently, or hide a loop."""
    named = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    named |= {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    return [f"{place} uses {name}" for name in sorted(named & {"isscalar", "vectorize"})]


def is_command(place):
    """Whether a source holds commands."""
    return room_of(place) == "command"


def printing(place, tree):
    """Calls of print outside the commands."""
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)]
    return [f"{place} line {c.lineno} prints" for c in calls if c.func.id == "print" and not is_command(place)]


def undocumented(place, tree):
    """Public functions, methods and classes of the arithmetic without a docstring."""
    if room_of(place) not in ARITHMETIC:
        return []
    kinds = ast.FunctionDef | ast.ClassDef
    return [
        f"{place} {node.name}"
        for parent in ast.walk(tree)
        if isinstance(parent, ast.Module | ast.ClassDef)
        for node in parent.body
        if isinstance(node, kinds) and not node.name.startswith("_") and not ast.get_docstring(node)
    ]


def untyped(place, tree):
    """What is public and does not say its types."""
    found = []
    for parent in ast.walk(tree):
        for node in parent.body if isinstance(parent, ast.Module | ast.ClassDef) else ():
            if isinstance(node, ast.FunctionDef) and not (node.name.startswith("_") and node.name != "__getattr__"):
                given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
                given += [more for more in (node.args.vararg, node.args.kwarg) if more]
                missing = [arg.arg for arg in given if arg.annotation is None and arg.arg not in ("self", "cls")]
                found += [f"{place} {node.name}({arg})" for arg in missing]
                found += [f"{place} {node.name} -> ?"] if node.returns is None else []
            elif isinstance(node, ast.AnnAssign) and ast.unparse(node.annotation) in VAGUE:
                found.append(f"{place} {ast.unparse(node.target)}: {ast.unparse(node.annotation)}")
    return found


def thawed(place, tree):
    """Dataclasses before the drawing that are not frozen, or in the arithmetic compare by value (columns cannot)."""
    if room_of(place) not in ROOMS[:SHOWN_FROM]:
        return []
    found = []
    for node in ast.walk(tree):
        for mark in getattr(node, "decorator_list", []):
            text = ast.unparse(mark)
            if "dataclass" in text and "frozen=True" not in text:
                found.append(f"{place} {node.name} is not frozen")
            if "dataclass" in text and room_of(place) in ARITHMETIC and "eq=False" not in text:
                found.append(f"{place} {node.name} without eq=False")
    return found


def hand_made_html(place, tree):
    """HTML in a text that is put together by hand, or shown past screens/html.py: there alone it is escaped."""
    if not place.startswith("screens/") or place == "screens/html":
        return []
    pieces = [part for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values]
    found = [p.lineno for p in pieces if isinstance(p, ast.Constant) and re.search(r"<[a-z/]", p.value)]
    html = [node for node in ast.walk(tree) if isinstance(node, ast.Attribute) and node.attr == "html"]
    found += [node.lineno for node in html] + [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.BinOp | ast.AugAssign) and re.search(r"""['"]<[a-z/]""", ast.unparse(node))
    ]
    return [f"{place} line {line} makes HTML by hand" for line in sorted(set(found))]


def many_arguments(place, tree):
    """Functions with more than six arguments by position, or eight in all; what a class keeps is no argument list."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.Lambda):
            own = node.args
            first = [one for one in own.posonlyargs + own.args if one.arg not in ("self", "cls")]
            by_position, by_name = len(first) + bool(own.vararg), len(own.kwonlyargs)
            name = f"{place} {getattr(node, 'name', 'lambda')}"
            if name not in MANY and (by_position > MOST_BY_POSITION or by_position + by_name > MOST_ARGUMENTS):
                found.append(f"{name} takes {by_position + by_name} arguments")
    return found


def touches_the_process(place, tree):
    """What changes the running process, anywhere but in the files that may: of screens, workers and commands."""
    named = {f"{ast.unparse(node.value)}.{node.attr}" for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    found = {name for name in named if name.startswith("gc.") or name in ("sys.setswitchinterval", "signal.signal")}
    return [f"{place} uses {name}" for name in sorted(found) if place not in PROCESS]


def no_docstring_of_its_own(place, tree):
    """A source without a first line that says what it is."""
    return [] if ast.get_docstring(tree) else [place]


RULES = {
    wrong_way: ("removal", "from tissue.budget import budget"),
    shown_early: ("budget", "import plotly.graph_objects"),
    slow_at_the_top: ("explore", "from scipy import stats"),
    one_by_one: ("cornea", "import numpy as np\nnp.isscalar(3)"),
    printing: ("removal", "print(3)"),
    undocumented: ("removal", "def deep(): return 3"),
    untyped: ("removal", "def deep(x_mm): return 3"),
    thawed: ("removal", "@dataclass\nclass A: pass"),
    no_docstring_of_its_own: ("removal", "x = 3"),
    many_arguments: ("removal", "def deep(a, b, c, d, e, f, g): return 3"),
    touches_the_process: ("screens/frame", "import gc\ngc.freeze()"),
    hand_made_html: ("screens/pages/plan", "x = f'<p>{name}</p>'"),
}


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_each_checker_finds_its_offender(rule):
    place, text = RULES[rule]
    assert rule(place, ast.parse(text))


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule is not wrong_way], ids=lambda rule: rule.__name__)
def test_no_source_offends(rule):
    assert [offence for place, tree in TREES.items() for offence in rule(place, tree)] == []


def test_imports_only_go_up_the_list():
    assert [o for place, tree in TREES.items() if place != "app" for o in wrong_way(place, tree)] == []


@pytest.mark.parametrize(
    ("place", "text"),
    [
        ("removal/removal", "from tissue import budget"),
        ("ground/errors", "from tissue import compare"),
        ("screens/frame", "import tissue"),
        ("routes/route", "from tissue import read_plan"),
        ("budget/budget", "import tissue.report.contract"),
        ("entry/eye", "def f():\n    from tissue.screens.desk.state import x"),
        ("drawing/section/section", "from tissue.command.command import main"),
    ],
)
def test_a_hidden_import_is_found_too(place, text):
    assert wrong_way(place, ast.parse(text))


def test_every_room_stands_in_the_list():
    assert {room_of(place) for place in FILES} - {"__init__", "__main__"} == set(ROOMS)
    assert len(ROOMS) == len(set(ROOMS))


def test_the_house_is_read_at_one_look():
    """A room is a file or folder under tissue, an arrow an import of another room; a room stands above all it imports.

    Source: DEVELOPERS.md, the rules of the house.
    """
    arrows, floors = arrows_of_rooms(), {}
    for room in (*ROOMS, "__init__", "__main__"):
        floors[room] = 1 + max((floors[there] for here, there in arrows if here == room), default=0)
    counted = len(floors), max(floors.values()), len(arrows)
    assert all(count <= most for count, most in zip(counted, (MOST_ROOMS, MOST_FLOORS, MOST_ARROWS), strict=True))


def arrows_of_rooms():
    """(room, room that it imports), each once."""
    inside = {place: tree for place, tree in TREES.items() if place != "app"}
    named = [(room_of(place), *name.split(".")) for place, tree in inside.items() for name in imported(tree)]
    found = {(here, there[0] if there else "__init__") for here, package, *there in named if package == "tissue"}
    return {(here, there) for here, there in found if here != there}


def test_the_map_names_every_room():
    """The map of DEVELOPERS.md, row by row, is the list of the rooms, in the same order."""
    table = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("| room |")[2].partition("\n\n")[0]
    named = [name for row in table.splitlines()[2:] for name in re.findall(r"`(\w+)/?`", row.split("|")[1])]
    assert [name for name in named if name != "data"] == list(ROOMS)


def test_nothing_before_the_drawing_shows_anything():
    # from the rooms themselves: what is loaded with the front door is looked at in test_command.py
    early = {place: tree for place, tree in TREES.items() if room_of(place) in ROOMS[:SHOWN_FROM]}
    libraries = {name.split(".")[0] for tree in early.values() for name in imported(tree)}
    assert libraries & set(SHOWN_BY) == set()


def test_no_file_is_long():
    lengths = {place: len(file.read_text(encoding="utf-8").splitlines()) for place, file in PLACES.items()}
    tests = {file.name: len(file.read_text(encoding="utf-8").splitlines()) for file in (ROOT / "tests").rglob("*.py")}
    assert {place: length for place, length in (lengths | tests).items() if length > LONGEST_FILE} == {}
    assert statistics.median(lengths.values()) <= 160


def test_no_folder_is_full():
    """A folder is read at one look. Source: DEVELOPERS.md, the rules of the house."""
    assert {str(folder): count for folder, count in files_of_folders().items() if count > MOST_FILES} == {}


def files_of_folders():
    """How many sources each folder holds, its own first line (`__init__`) not counted."""
    inside = [Path(place).parent for place in FILES if not place.endswith("__init__")]
    return {folder: inside.count(folder) for folder in set(inside)}


def test_no_test_file_imports_another():
    """What several tests use stands in tests/support. Source: DEVELOPERS.md, the rules of the house."""
    offenders = [
        f"{file.relative_to(ROOT)} imports {name}"
        for file in sorted((ROOT / "tests").rglob("*.py"))
        for name in imported(ast.parse(file.read_text(encoding="utf-8")))
        if name.split(".")[0].startswith("test_")
    ]
    assert offenders == []


def test_functions_are_short():
    """Each is read at one look, its words included. Source: DEVELOPERS.md, the rules of the house."""
    lengths = {
        f"{place} {node.name}": node.end_lineno - node.lineno + 1
        for place, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
    }
    assert {name: length for name, length in lengths.items() if length > LONGEST_FUNCTION} == {}
    assert statistics.median(lengths.values()) <= MEDIAN_FUNCTION
    assert statistics.quantiles(lengths.values(), n=10)[-1] <= NINE_OF_TEN


def test_few_files_are_used_by_their_neighbour_alone():
    """A subject has one file: one that only another of its folder uses, and that would fit into it, is an exception.

    Source: DEVELOPERS.md, the rules of the house.
    """
    users = {place: set() for place in FILES}
    for place, tree in TREES.items():
        for there in files_imported(tree):
            users[there].add(place)
    pairs = [
        f"{place} <- {one}" for place, found in users.items() if len(found) == 1 for one in found if fit(place, one)
    ]
    assert len(pairs) <= MOST_PAIRS, pairs


def test_no_circle_of_files():
    """No file comes back to itself by its imports, those for types and those inside a function included."""
    assert in_circles({"a": {"b"}, "b": {"a"}, "c": {"a"}, "d": set()}) == {"a", "b", "c"}
    assert in_circles({place: set(files_imported(tree)) - {place} for place, tree in TREES.items()}) == set()


def in_circles(uses):
    """The places that lie in a circle, or lead into one: what stays when every end is taken away."""
    left = dict(uses)
    while ends := [place for place, found in left.items() if not found & left.keys()]:
        left = {place: found for place, found in left.items() if place not in ends}
    return set(left)


def files_imported(tree):
    """The files of the tool that a source imports."""
    for name in imported(tree):
        for there in (name, name.rpartition(".")[0]):
            if (place := there.removeprefix("tissue.").replace(".", "/")) in FILES:
                yield place


def fit(place, other):
    """Whether two files of one folder would be one file that is not too long."""
    lines = sum(len(PLACES[one].read_text(encoding="utf-8").splitlines()) for one in (place, other))
    return Path(place).parent == Path(other).parent and lines <= LONGEST_FILE


def test_nothing_else_at_the_top():
    # built files apart: an installation leaves them beside the sources
    built = ("build", "dist", "__pycache__", "tissue.egg-info")
    assert {p.name for p in ROOT.iterdir() if not p.name.startswith(".") and p.name not in built} == {
        "README.md", "DEVELOPERS.md", "pyproject.toml", "app.py", "demo_profiles", "tests", "tissue"
    }  # fmt: skip


def test_the_front_door():
    """Small and sorted; what it loads at once is arithmetic alone, what is slow comes when it is asked for.

    Source: DEVELOPERS.md.
    """
    assert tissue.__all__ == sorted(tissue.__all__) == [
        "Budget", "CapCut", "Comparison", "Cornea", "Errors", "EyeError", "FlapCut", "Judgement", "Option", "Pupil",
        "Refraction", "Result", "Treatment", "compare", "figures", "mechanics", "optics", "read_plan", "series",
    ]  # fmt: skip
    assert all(hasattr(tissue, name) for name in tissue.__all__)
    assert set(tissue.LATER) <= set(tissue.__all__)


def test_the_front_door_loads_no_more_than_it_must():
    """From a process of its own: here every room is loaded. Source: DEVELOPERS.md."""
    asked = "import sys, tissue; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout.split()
    rooms = {name.split(".")[1] for name in loaded if name.startswith("tissue.")}
    assert rooms and rooms <= set(ROOMS[: ROOMS.index(FRONT_DOOR) + 1])
