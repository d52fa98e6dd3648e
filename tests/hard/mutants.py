r"""How many small faults put into the arithmetic do its own tests find? Mutation testing on a copy of the sources.

    pip install cosmic-ray
    python tests/hard/mutants.py                          # every mutant of every module
    python tests/hard/mutants.py --sample 400 --seed 1    # a sample of them
    python tests/hard/mutants.py removal/removal removal/profile          # two modules

Cosmic Ray makes the mutants: another operator, another comparison, a number one more or one less, a decorator or a loop
left out. Left out are shifts and bitwise operators in place of arithmetic, which every float refuses at once. Each
mutant is written into a temporary copy, and only the tests named here may find it, in a forked process that has NumPy
and hypothesis loaded already; hypothesis takes EXAMPLES fixed examples a law. Printed: module, mutants, killed,
survived, share, share without those shown to be equivalent (mutants.toml beside this file), seconds a mutant; then the
survivors. Branch coverage by the same tests:

    pip install coverage
    coverage run --branch -m pytest -q tests/{eye,removal,budget}
    coverage report -m --include=$(printf 'tissue/%s.py,' eye/refraction removal/{removal,profile,options} \
        budget/{budget,strength/strength,strength/relationship})
"""

import argparse
import os
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TESTS = {
    "eye/refraction": ("eye/test_refraction",),
    "removal/removal": ("removal/test_removal", "removal/test_removal_laws", "budget/test_budget"),
    "removal/profile": ("removal/test_removal", "removal/test_removal_laws", "removal/test_profile"),
    "removal/options": ("removal/test_options",),
    "budget/budget": ("budget/test_budget",),
    "budget/strength/strength": ("budget/strength/test_strength", "budget/strength/test_relationship"),
    "budget/strength/relationship": ("budget/strength/test_relationship", "budget/strength/test_strength"),
}
EXAMPLES, TIMEOUT_S, FOUND_LATE = 5, 60, 124
QUICKLY = "-qx -o addopts= --import-mode=importlib --assert=plain --tb=line --hypothesis-profile=mutants"
QUICKLY += " -p no:cacheprovider -p no:doctest"
QUICKLY += " -p no:unraisableexception -p no:threadexception"
ARITHMETIC, BITWISE = "Add|Sub|Mul|Div|FloorDiv|Mod|Pow", "RShift|LShift|BitOr|BitAnd|BitXor"
REFUSED_AT_ONCE = re.compile(rf"_({ARITHMETIC})_({BITWISE})$|_({BITWISE})_({ARITHMETIC}|RShift|LShift)$")


def copied(folder):
    """A copy of sources and tests; the working directory and the first place of imports from here on."""
    for name in ("tissue", "tests"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "browser"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    os.chdir(folder)
    sys.path.insert(0, str(folder))


def loaded_once():
    """What every run of the tests needs and no mutant changes."""
    import hypothesis.strategies
    import pytest
    import scipy.optimize
    import scipy.stats  # noqa: F401

    few = {"max_examples": EXAMPLES, "derandomize": True, "database": None, "deadline": None}
    few["phases"] = [hypothesis.Phase.explicit, hypothesis.Phase.generate]
    hypothesis.settings.register_profile("mutants", **few)
    law = hypothesis.given(hypothesis.strategies.lists(hypothesis.strategies.floats(0.0, 1.0)))
    hypothesis.settings(**few)(law(lambda numbers: None))()
    os.environ |= {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "PYTEST_PLUGINS": "_hypothesis_pytestplugin"}
    return pytest.main


def outcome(run, module):
    """Exit code of the module's tests in a process of their own: 0 where nothing is found."""
    child = os.fork()
    if child == 0:
        os.dup2(os.open("tests.log", os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 1)
        os.dup2(1, 2)
        signal.signal(signal.SIGALRM, lambda *_: os._exit(FOUND_LATE))
        signal.alarm(TIMEOUT_S)
        files = [f"tests/{name}.py" for name in TESTS[module]]
        os._exit(run([*QUICKLY.split(), *files]))
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def seconds():
    """Processor time of all tests so far: a busy machine prints the same."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def mutants_of(module):
    """Every mutant of a module as (module, operator, occurrence)."""
    from cosmic_ray.ast import ast_nodes, get_ast_from_path
    from cosmic_ray.plugins import get_operator, operator_names

    nodes = list(ast_nodes(get_ast_from_path(Path(f"tissue/{module}.py"))))
    for name in operator_names():
        if not REFUSED_AT_ONCE.search(name) and not get_operator(name).arguments():
            operator = get_operator(name)()
            found = sum(len(list(operator.mutation_positions(node))) for node in nodes)
            yield from ((module, operator, occurrence) for occurrence in range(found))


def changed_line(before, after):
    """Number and text of the first line that differs, and its new text."""
    lines = list(zip(before.splitlines(), after.splitlines(), strict=False))
    number = next((i for i, (old, new) in enumerate(lines) if old != new), len(lines) - 1)
    return number + 1, *(text.strip() for text in lines[number])


def tried(run, module, operator, occurrence):
    """(found, line, old text, new text) of one mutant."""
    from cosmic_ray.mutating import use_mutation

    with use_mutation(Path(f"tissue/{module}.py"), operator, occurrence) as (before, after):
        return outcome(run, module) != 0, *changed_line(before, after)


def equivalents():
    """{(module, old line, new line)} of the mutants shown to compute the same."""
    entries = tomllib.loads((ROOT / "tests/hard/mutants.toml").read_text(encoding="utf-8"))["equivalent"]
    return {(entry["module"], entry["line"], new) for entry in entries for new in entry["mutants"]}


def report(results, took_s):
    """The table, and every survivor that is not shown to be equivalent."""
    known = equivalents()
    print(f"{'module':<24}{'mutants':>8}{'killed':>8}{'survived':>9}{'share':>8}{'less equivalent':>17}{'s each':>8}")
    for module in [*results, "together"]:
        rows = results.get(module) or [row for found in results.values() for row in found]
        killed, same = sum(row[0] for row in rows), sum(not row[0] and row[1] in known for row in rows)
        each = took_s.get(module, sum(took_s.values())) / len(rows)
        shares = f"{100 * killed / len(rows):7.1f}%{100 * killed / max(1, len(rows) - same):16.1f}%"
        print(f"{module:<24}{len(rows):8d}{killed:8d}{len(rows) - killed:9d}{shares}{each:8.2f}")
    for row in (row for rows in results.values() for row in rows if not row[0] and row[1] not in known):
        (module, old, new), line = row[1:]
        print(f"survived: tissue/{module}.py {line}\n    {old}\n    {new}")


def chosen(modules, sample, seed):
    """Mutants of these modules, or so many of them drawn with a seed; the modules' compiled files are gone."""
    for module in modules:
        source = Path(f"tissue/{module}.py")
        for compiled in (source.parent / "__pycache__").glob(f"{source.stem}.*.pyc"):
            compiled.unlink()
    every = [mutant for module in modules for mutant in mutants_of(module)]
    return random.Random(seed).sample(every, min(sample, len(every))) if sample else every


def require_tests_pass(run, modules):
    """End with the log where the tests fail as it stands; what they compile is kept, and nothing after that."""
    sys.dont_write_bytecode = False
    for module in modules:
        if outcome(run, module):
            sys.exit(Path("tests.log").read_text(encoding="utf-8") + f"the tests of {module} fail as it stands")
    sys.dont_write_bytecode = True


def main():
    """Read the command line, mutate, test, report."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="*", metavar="module", choices=[[], *TESTS], default=[])
    parser.add_argument("--sample", type=int, help="how many mutants, drawn from all of them")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    modules = asked.modules or list(TESTS)
    results, took_s = {module: [] for module in modules}, dict.fromkeys(modules, 0.0)
    with tempfile.TemporaryDirectory() as folder:
        copied(Path(folder))
        run = loaded_once()
        require_tests_pass(run, modules)
        mutants = chosen(modules, asked.sample, asked.seed)
        for number, (module, operator, occurrence) in enumerate(mutants, 1):
            before_s = seconds()
            found, line, old, new = tried(run, module, operator, occurrence)
            took_s[module] += seconds() - before_s
            results[module].append((found, (module, old, new), line))
            print(f"\r{number} of {len(mutants)}", end="", file=sys.stderr)
    print(file=sys.stderr)
    report({module: rows for module, rows in results.items() if rows}, took_s)


if __name__ == "__main__":
    main()
