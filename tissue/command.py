"""The commands: everything the screens do, without them."""

import argparse
import json
import os
import sys
from pathlib import Path

from tissue import __version__
from tissue.errors import EyeError

DONE, FAULT_OF_THE_TOOL, WRONG_INPUT = 0, 1, 2


class Wrong(Exception):
    """Input that cannot be used: the lines that say why."""

    def __init__(self, lines):
        self.lines = list(lines)
        super().__init__("\n".join(self.lines))


def main(arguments=None):
    """Run one command; returns the exit code: 0 done, 2 wrong input, 1 a fault of the tool."""
    arguments = sys.argv[1:] if arguments is None else arguments
    try:
        if arguments[:1] == ["app"]:
            return app(arguments[1:])
        chosen = parser().parse_args(arguments)
        return chosen.run(chosen)
    except Wrong as wrong:
        print(*wrong.lines, sep="\n", file=sys.stderr)
        return WRONG_INPUT
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return FAULT_OF_THE_TOOL
    except Exception as error:  # no traceback ever reaches a user
        print(f"tissue: a fault of the tool, not of the input: {type(error).__name__}: {error}", file=sys.stderr)
        return FAULT_OF_THE_TOOL


def parser():
    """The parser of all commands."""
    top = argparse.ArgumentParser(
        prog="tissue", description="The tissue budget of an eye before corneal refractive surgery.", allow_abbrev=False
    )
    top.add_argument("--version", action="version", version=f"tissue {__version__}")
    commands = top.add_subparsers(required=True, metavar="COMMAND")
    commands.add_parser("app", help="the screens, on this machine only; settings go to Streamlit", add_help=False)
    plan = _add(commands, "plan", plan_command, "the table of a plan file")
    plan.add_argument("file", metavar="FILE")
    plan.add_argument("--json", action="store_true", help="figures for machines")
    return top


def _add(commands, name, run, words):
    """A sub-command."""
    added = commands.add_parser(name, help=words, description=words, allow_abbrev=False)
    added.set_defaults(run=run)
    return added


def app(settings):
    """Start the screens; every setting goes to Streamlit itself."""
    folder = Path(__file__).resolve().parent.parent
    if not (folder / "app.py").is_file():
        raise Wrong(
            [f"app: no app.py in {folder.name}, accepted: an installation from the project's folder (pip install -e .)"]
        )
    os.chdir(folder)
    sys.stdout.flush()
    os.execv(sys.executable, [sys.executable, "-m", "streamlit", "run", "app.py", *settings])


def load(path, side=None):
    """The plan in a file: its code, and by side (Inputs, Comparison, refraction as typed).

    Raises:
        Wrong: a line for every fault.
    """
    from tissue.entry.checks import fault_of
    from tissue.entry.eye import build
    from tissue.entry.plan_file import PlanError, read

    try:
        plan = read(path)
    except PlanError as error:
        raise Wrong(error.lines) from None
    if side and side not in plan.eyes:
        raise Wrong([f"{path}: {side}: read nothing, accepted a plan file with a table [{side}]"])
    eyes, faults = {}, []
    for name, values in plan.eyes.items():
        if side in (None, name):
            try:
                inputs = build(values, name)
                eyes[name] = inputs, inputs.compare(), plan.typed[name].get("refraction", "")
            except EyeError as error:
                faults.append(f"{path}: {name}: {fault_of(error).text}")
    if faults:
        raise Wrong(faults)
    return plan.code, eyes


def plan_command(chosen):
    """`tissue plan`: the table, or the JSON."""
    code, eyes = load(chosen.file)
    if chosen.json:
        from tissue.contract import plan_as_dict

        print_json(plan_as_dict(code, eyes))
    else:
        from tissue.table import plan_table

        print(plan_table(code, eyes))
    return DONE


def print_json(value):
    """Strict JSON on standard output, UTF-8 whatever the terminal is set to."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1)
    sys.stdout.flush()
    sys.stdout.buffer.write(text.encode("utf-8") + b"\n")
