"""What pyproject.toml asks for is what the code imports, and nothing else."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions

from helpers import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
COMMANDS = {"ruff", "mypy"}  # of the one check; nothing imports them
OF_ANOTHER = {"setuptools"}  # prysm imports it and does not ask for it; Python 3.12 has it no longer from the start
OURS = {path.stem for path in (ROOT / "tests").rglob("*.py")} | {"tissue", "forgetful", "traced"}


def asked_for(lines):
    """Names of distributions."""
    return {re.match(r"[\w.-]+", line)[0].lower() for line in lines}


def named(node):
    """Top names of the packages that a part of a source imports or looks for."""
    if isinstance(node, ast.Import):
        return {one.name.partition(".")[0] for one in node.names}
    if isinstance(node, ast.ImportFrom):
        return {node.module.partition(".")[0]} if not node.level else set()
    looks = isinstance(node, ast.Call) and ast.unparse(node.func) in ("find_spec", "pytest.importorskip")
    return {node.args[0].value.partition(".")[0]} if looks else set()


def imported(folder):
    """Names of the distributions that the sources of a folder import."""
    trees = (ast.parse(path.read_bytes()) for path in (ROOT / folder).rglob("*.py"))
    names = {name for tree in trees for node in ast.walk(tree) for name in named(node)}
    installed = packages_distributions()
    return {installed[name][0].lower() for name in names - set(sys.stdlib_module_names) - OURS if name in installed}


def test_the_package_imports_what_it_asks_for():
    asked = asked_for([*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["cluster"]])
    assert imported("tissue") == asked


def test_the_tests_import_what_they_ask_for():
    extras = PROJECT["optional-dependencies"]
    assert set(extras) == {"test", "cluster"}
    assert asked_for(extras["test"]) - COMMANDS - OF_ANOTHER == imported("tests") - asked_for(
        PROJECT["dependencies"]
    ) - asked_for(extras["cluster"])
