"""The command `tissue`: its parser, its exit codes, and the screens."""

import gc
import os
import sys
import tomllib
from argparse import ArgumentParser, Namespace, _SubParsersAction
from collections.abc import Callable
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn, TypeAlias

from tissue.command.loading import Wrong
from tissue.command.mechanics import add_law, ladder_command, mechanics_command
from tissue.command.plans import (
    enhance_command,
    follow_command,
    letter_command,
    plan_command,
    readback_command,
    record_command,
    rescue_command,
)
from tissue.command.printing import DONE, Parser, Unprinted, drop_output, say
from tissue.ground.sources import folder
from tissue.ground.vocabulary import EYES, STAGES, VERSION
from tissue.series.stopping import stop_once
from tissue.series.wrong import TableError

FAULT_OF_THE_TOOL, WRONG_INPUT = 1, 2
HERE = Path(__file__).parent.parent  # the package
Commands: TypeAlias = _SubParsersAction


def main(arguments: list[str] | None = None) -> int:
    """Run one command; returns the exit code: 0 done, 2 wrong input, 1 a fault of the tool."""
    if arguments is None:  # the command runs as a process of its own
        stop_once()
        gc.freeze()  # what is loaded now stays to the end: looking for what can be freed need not go through it
        arguments = sys.argv[1:]
    try:
        if arguments[:1] == ["app"]:
            return app(arguments[1:])
        chosen = parser(*arguments[:1]).parse_args(arguments)
        return chosen.run(chosen)
    except (Wrong, TableError) as wrong:
        say(wrong.lines)
        return WRONG_INPUT
    except Unprinted as wrong:
        say([str(wrong)])
        return WRONG_INPUT
    except BrokenPipeError:
        drop_output()
        return DONE
    except KeyboardInterrupt:
        say(["stopped"])
        return FAULT_OF_THE_TOOL
    except MemoryError:
        say(["memory: read too little for this input, accepted a machine that has more, or a smaller input"])
        return WRONG_INPUT
    except Exception as error:  # no traceback ever reaches a user
        if isinstance(error, FileNotFoundError) and not folder_is_there():
            say(["folder: read one that is gone, accepted a folder that is there to run the command in"])
            return WRONG_INPUT
        say([f"tissue: a fault of the tool, not of the input: {type(error).__name__}: {error}"])
        return FAULT_OF_THE_TOOL


def folder_is_there() -> bool:
    """Whether the folder that the process runs in is still there."""
    try:
        return bool(os.getcwd())
    except FileNotFoundError:
        return False


def parser(command: str = "") -> Parser:
    """The parser of one command alone; of all where there is none of that name, for the help and for errors.

    >>> parser("plan").parse_args(["plan", "eye.toml"]).file
    'eye.toml'
    """
    top = Parser(
        prog="tissue", description="The tissue budget of an eye before corneal refractive surgery.", allow_abbrev=False
    )
    top.add_argument("--version", action="version", version=f"tissue {VERSION}")
    commands = top.add_subparsers(required=True, metavar="COMMAND", prog=top.prog)
    for add in [COMMANDS[command]] if command in COMMANDS else dict.fromkeys(COMMANDS.values()):
        add(commands)
    return top


def _app(commands: Commands) -> None:
    commands.add_parser("app", help="the screens, on this machine only; settings go to Streamlit", add_help=False)


def _plan(commands: Commands) -> None:
    _add(commands, "plan", plan_command, "the table of a plan file")


def _record(commands: Commands) -> None:
    record = commands.add_parser("record", help="the printed record of a plan", allow_abbrev=False)
    record.add_argument("file", metavar="FILE")
    record.add_argument("out", metavar="OUT.pdf")
    record.add_argument("--date", default="", help="printed as it stands, as in 2026-11-25; no date where not given")
    record.set_defaults(run=record_command)


def _rescue(commands: Commands) -> None:
    rescue = _add(commands, "rescue", rescue_command, "rescue options when suction is lost", one_eye=True)
    rescue.add_argument("--stage", choices=STAGES, help="the cut that was under way; else that of the plan")
    rescue.add_argument("--done", type=float, metavar="SHARE", help="share of it that was done, 0 to 1; or as planned")


def _enhance(commands: Commands) -> None:
    enhance = _add(commands, "enhance", enhance_command, "ways to an enhancement", one_eye=True)
    enhance.add_argument(
        "--residual", metavar="TEXT", help='what is left, as in "-0.75 -0.25 x 90"; else that of the plan'
    )
    enhance.add_argument("--today", action="store_true", help="the eye as its readings have it")


def _follow(commands: Commands) -> None:
    _add(commands, "follow", follow_command, "what came of a plan, by its readings")


def _mechanics(commands: Commands) -> None:
    add_law(_add(commands, "mechanics", mechanics_command, "where the stress goes", one_eye=True))


def _ladder(commands: Commands) -> None:
    words = "published experiments and what every law of the cornea gives for them"
    ladder = commands.add_parser("ladder", help=words, description=words, allow_abbrev=False)
    ladder.add_argument("--json", action="store_true", help="figures for machines")
    ladder.add_argument("--fresh", action="store_true", help="run everything anew; it takes minutes")
    ladder.set_defaults(run=ladder_command)


def _letter(commands: Commands) -> None:
    _add(commands, "letter", letter_command, "what a letter says of two eyes")


def _readback(commands: Commands) -> None:
    readback = _add(commands, "readback", readback_command, "what a second person typed, beside a plan")
    readback.add_argument("typed", metavar="TYPED.toml", help="what was typed; it needs only schema")
    readback.add_argument("--date", default="", help="kept as it stands, as in 2026-11-25; no date where not given")
    readback.add_argument("--out", metavar="OUT.toml", help="the plan with what the read-back said")


def _of_file(name: str, commands: Commands) -> None:
    """The commands of a file of this room, which is loaded here."""
    import_module(f"tissue.command.{name}").add_commands(commands)


COMMANDS: dict[str, Callable[[Commands], None]] = {  # what adds each command, in the order of the help
    "app": _app,
    "plan": _plan,
    "record": _record,
    "rescue": _rescue,
    "enhance": _enhance,
    "follow": _follow,
    "mechanics": _mechanics,
    "ladder": _ladder,
    "letter": _letter,
    "readback": _readback,
    **dict.fromkeys(("series", "demo-series"), partial(_of_file, "series")),
    "sight": partial(_of_file, "sight"),
    **dict.fromkeys(("schema", "cite"), partial(_of_file, "cite")),
    **dict.fromkeys(("own", "published"), partial(_of_file, "own_errors")),
    "map": partial(_of_file, "own_map"),
}


def _add(
    commands: Commands, name: str, run: Callable[[Namespace], int], words: str, one_eye: bool = False
) -> ArgumentParser:
    """A sub-command on a plan file."""
    added = commands.add_parser(name, help=words, description=words, allow_abbrev=False)
    added.add_argument("file", metavar="FILE")
    added.add_argument("--json", action="store_true", help="figures for machines")
    if one_eye:
        added.add_argument("--eye", choices=EYES, help="which eye; not needed where the file has one")
    added.set_defaults(run=run)
    return added


def app(settings: list[str]) -> NoReturn:
    """Start the screens with the tool's own settings; settings given by the user go to Streamlit and win."""
    script = HERE / "screens" / "start" / "start.py"
    own = server_settings(tomllib.loads((folder("settings") / "config.toml").read_text("utf-8")))
    os.execv(sys.executable, [sys.executable, "-m", "streamlit", "run", str(script), *own, *settings])


def server_settings(table: dict[str, Any], above: str = "") -> list[str]:
    """The settings of a configuration file as arguments of the server.

    >>> server_settings({"server": {"address": "127.0.0.1", "allowedHosts": ["a", "b"], "headless": False}})
    ['--server.address=127.0.0.1', '--server.allowedHosts=a', '--server.allowedHosts=b', '--server.headless=false']
    """
    found = []
    for name, value in table.items():
        if isinstance(value, dict):
            found += server_settings(value, f"{above}{name}.")
        else:
            for one in value if isinstance(value, list) else [value]:
                found.append(f"--{above}{name}={str(one).lower() if isinstance(one, bool) else one}")
    return found
