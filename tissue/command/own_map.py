"""`tissue map`: what a table says about an eye's thickness or epithelium, and the plan with it."""

from pathlib import Path
from typing import Any

from tissue.command.loading import Wrong, say_open_end, write_beside
from tissue.command.printing import print_result
from tissue.entry.checks import fault_of
from tissue.entry.own_map.keys import table_of
from tissue.entry.own_map.tables import KIND, LARGEST_TABLE, Asked, maps_of_table
from tissue.entry.own_map.taken import require_together, surface_of, without_apart
from tissue.entry.own_map.written import X_SIDES, Y_SIDES, WrittenMap
from tissue.entry.plan_file import KIND as PLAN_KIND
from tissue.entry.plan_file import PlanError, most_bytes, plan_bytes, read_plan
from tissue.entry.plan_text import changed_text
from tissue.entry.toml_file import Unreadable, file_bytes, tables, text_of
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import EYES
from tissue.report.contract import SCHEMA, plain_json
from tissue.report.map_json import part_as_dict
from tissue.report.map_terminal import COLUMNS_SAID, map_text

LAYERS = ("thickness", "epithelium")


def add_commands(commands: Any) -> None:
    """Put the command among the others.

    Args:
        commands: where sub-commands are put.
    """
    words = "a table of thickness or epithelium, and the plan with it"
    asked = commands.add_parser("map", help=words, description=words, epilog=COLUMNS_SAID, allow_abbrev=False)
    asked.add_argument("plan", metavar="PLAN.toml")
    asked.add_argument("table", metavar="TABLE")
    asked.add_argument("--eye", choices=EYES, required=True)
    asked.add_argument(
        "--positive-x", choices=X_SIDES, default="", help="where the table's x runs; seen from the front"
    )
    asked.add_argument("--positive-y", choices=Y_SIDES, default="", help="where the table's y runs")
    asked.add_argument("--of", choices=LAYERS, default="", help="what a grid is of; else thickness")
    asked.add_argument("--missing", metavar="TEXT", default="", help="the text that stands for a missing reading")
    asked.add_argument("--sd", metavar="UM", default="", help="what a reading is out by, 0 to 30 µm; else 4")
    asked.add_argument("--leave-out", action="store_true", help="count readings that lie apart as missing")
    asked.add_argument("--json", action="store_true", help="figures for machines")
    asked.add_argument("--out", metavar="NEW.toml", help="the plan with the map, an older map replaced")
    asked.set_defaults(run=map_command)


def map_command(chosen: Any) -> int:
    """Read a table, say what it says, and with --out write the plan with it."""
    maps = _maps(chosen)
    text = _plan_with(chosen, maps)
    if chosen.out:
        write_beside(chosen.out, text.encode("utf-8"), ".toml", chosen.plan, chosen.table)
    if not chosen.json:
        return print_result("\n\n".join(map_text(one, surface_of(one)[1]) for one in maps.values()))
    parts = {name: maps.get(f"{name}_map") for name in LAYERS}
    found = {name: part_as_dict(one, surface_of(one)[1]) if one else None for name, one in parts.items()}
    return print_result(plain_json({"schema": SCHEMA, "eye": chosen.eye, "map": found}))


def _plan_with(chosen: Any, maps: dict[str, WrittenMap]) -> str:
    """The text of the plan with the maps in it; without them it need not have a thickness."""
    try:
        data = plan_bytes(chosen.plan)
        document = tables(data, PLAN_KIND, most=most_bytes(data))
        eye = document.get(chosen.eye)
        if not isinstance(eye, dict):
            accepted = f"a plan file with a table [{chosen.eye}]"
            raise Wrong([f"{chosen.plan}: {chosen.eye}: read nothing, accepted {accepted}"])
        added = {name: table_of(one) for name, one in maps.items()}
        text = changed_text(text_of(data), document | {chosen.eye: eye | added})
        read_plan(text.encode("utf-8"), chosen.plan, Path(chosen.plan).parent)
        say_open_end(chosen.plan, text_of(data))
    except Unreadable as error:
        raise Wrong([f"{chosen.plan}: file: {error}"]) from None
    except PlanError as error:
        raise Wrong(error.lines) from None
    return text


def _maps(chosen: Any) -> dict[str, WrittenMap]:
    """The maps of the table, readings apart left out where that was asked."""
    asked = Asked(chosen.eye, chosen.positive_x, chosen.positive_y, chosen.of, chosen.missing, chosen.sd)
    try:
        maps = maps_of_table(file_bytes(chosen.table, KIND, LARGEST_TABLE), asked)
        if chosen.leave_out:
            maps = {name: without_apart(one) for name, one in maps.items()}
        for one in maps.values():
            require_together(one)
    except Unreadable as error:
        raise Wrong([f"{chosen.table}: file: {error}"]) from None
    except EyeError as error:
        raise Wrong([f"{chosen.table}: {chosen.eye}: {fault_of(error).text}"]) from None
    return maps
