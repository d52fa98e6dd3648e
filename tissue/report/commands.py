"""`tissue schema`, `tissue cite` and `tissue sight`: what the JSON holds, how the tool is cited, what a zone buys."""

from functools import partial

from tissue.ground.vocabulary import EYES
from tissue.report.printing import print_result

SIGHT = "what the zone buys: optics of the planned surface"
SCHEMAS = (
    "plan", "rescue", "enhance", "mechanics", "letter", "readback", "follow", "own", "sight", "map", "manifest",
)  # fmt: skip


def add_commands(commands, load_one, refused):
    """Put these commands among the others.

    Args:
        commands: where sub-commands are put.
        load_one: gives side, Inputs and Comparison of the one eye that was chosen.
        refused: makes an EyeError a line for the user, by the name of the command.
    """
    _add_sight(commands, partial(sight_command, load_one=load_one, refused=refused))
    schema = commands.add_parser("schema", help="the JSON Schema of what a command prints", allow_abbrev=False)
    schema.add_argument("name", choices=SCHEMAS, metavar="NAME", help=", ".join(SCHEMAS))
    schema.set_defaults(run=schema_command)
    cite = commands.add_parser("cite", help="how the tool is cited, with version and commit", allow_abbrev=False)
    form = cite.add_mutually_exclusive_group()
    form.add_argument("--bibtex", action="store_true", help="for BibTeX alone")
    form.add_argument("--cff", action="store_true", help="in the Citation File Format alone")
    cite.set_defaults(run=cite_command)


def _add_sight(commands, run):
    """`tissue sight` with its arguments."""
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
    added.set_defaults(run=run)


def sight_command(chosen, load_one, refused):
    """`tissue sight`: the table, or the JSON."""
    from tissue.optics.sight.view import GREEN, WHITE
    from tissue.report.sight.sight_json import Asked, pupil_of, sight_report, view_of
    from tissue.report.sight.sight_terminal import sight_table

    _, inputs, comparison = load_one(chosen)
    with refused("sight"):
        light = WHITE if chosen.white else GREEN
        pupil = pupil_of(inputs, chosen.pupil)
        view = view_of(light, chosen.smoothed, chosen.stiles_crawford, chosen.eye_c40)
        asked = Asked(chosen.ladder, chosen.offsets, chosen.through_focus)
        report = sight_report(inputs, comparison, pupil, view, asked)
    return print_result(report if chosen.json else sight_table(report))


def schema_command(chosen):
    """`tissue schema`: draft 2020-12."""
    return print_result(schema_text(chosen.name).rstrip("\n"))


def schema_text(name):
    """The JSON Schema of that name.

    >>> '"title": "tissue plan FILE --json"' in schema_text("plan")
    True
    """
    from importlib.resources import files

    return (files("tissue") / "data" / "schemas" / f"{name}.json").read_text(encoding="utf-8")


def cite_command(chosen):
    """`tissue cite`: both forms, or the one that is asked for."""
    from tissue.report.origin import bibtex, cff

    forms = [] if chosen.cff else [bibtex()]
    forms += [] if chosen.bibtex else [cff()]
    return print_result("\n\n".join(forms).rstrip("\n"))
