"""`tissue sight`: what the zone buys."""

from argparse import Namespace
from typing import Any

from tissue.command.loading import load_one, refused
from tissue.command.printing import print_result
from tissue.ground.vocabulary import EYES

SIGHT = "what the zone buys: optics of the planned surface"


def add_commands(commands: Any) -> None:
    """Put the command among the others.

    Args:
        commands: where sub-commands are put.
    """
    added = commands.add_parser("sight", help=SIGHT, description=SIGHT, allow_abbrev=False)
    added.add_argument("file", metavar="FILE")
    added.add_argument("--json", action="store_true", help="figures for machines")
    added.add_argument("--eye", choices=EYES, help="which eye; not needed where the file has one")
    added.add_argument("--pupil", type=float, metavar="MM", help="diameter of the pupil; else that of the plan")
    added.add_argument("--smoothed", action="store_true", help="as the epithelium smooths it")
    added.add_argument("--white", action="store_true", help="in white light")
    added.add_argument("--stiles-crawford", type=float, default=0.0, metavar="RHO", help="per mm², 0.05 is usual")
    added.add_argument("--eye-c40", type=float, metavar="UM", help="the eye's own C40 over 6 mm; else 0.128")
    added.add_argument("--ladder", action="store_true", help="along the optical zone")
    added.add_argument("--offsets", action="store_true", help="along the offset of the treatment centre")
    added.add_argument("--through-focus", action="store_true", help="along the focus")
    added.set_defaults(run=sight_command)


def sight_command(chosen: Namespace) -> int:
    """`tissue sight`: the table, or the JSON."""
    from tissue.explore.zone_buys import Asked, run_through
    from tissue.optics.sight.view import GREEN, WHITE
    from tissue.report.sight.sight_json import pupil_of, sight_report, view_of
    from tissue.report.sight.sight_terminal import sight_table

    _, inputs, comparison = load_one(chosen)
    with refused("sight"):
        light = WHITE if chosen.white else GREEN
        pupil = pupil_of(inputs, chosen.pupil)
        view = view_of(light, chosen.smoothed, chosen.stiles_crawford, chosen.eye_c40)
        asked = Asked(chosen.ladder, chosen.offsets, chosen.through_focus)
        report = sight_report(inputs, comparison, pupil, view, run_through(inputs, comparison, pupil, view, asked))
    return print_result(report if chosen.json else sight_table(report))
