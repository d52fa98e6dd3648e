"""`tissue schema` and `tissue cite`: what the JSON holds, and how the tool is cited."""

from argparse import Namespace, _SubParsersAction

from tissue.command.printing import print_result

SCHEMAS = (
    "plan", "rescue", "enhance", "mechanics", "letter", "readback", "follow", "own", "sight", "map",
    "manifest", "series", "summary", "agreement", "comparison", "dictionary",
)  # fmt: skip


def add_commands(commands: _SubParsersAction) -> None:
    """Put these commands among the others.

    Args:
        commands: where sub-commands are put.
    """
    schema = commands.add_parser("schema", help="the JSON Schema of what a command gives", allow_abbrev=False)
    schema.add_argument("name", choices=SCHEMAS, metavar="NAME", help=", ".join(SCHEMAS))
    schema.set_defaults(run=schema_command)
    cite = commands.add_parser("cite", help="how the tool is cited, with version and commit", allow_abbrev=False)
    form = cite.add_mutually_exclusive_group()
    form.add_argument("--bibtex", action="store_true", help="for BibTeX alone")
    form.add_argument("--cff", action="store_true", help="in the Citation File Format alone")
    cite.set_defaults(run=cite_command)


def schema_command(chosen: Namespace) -> int:
    """`tissue schema`: draft 2020-12."""
    return print_result(schema_text(chosen.name).rstrip("\n"))


def schema_text(name: str) -> str:
    """The JSON Schema of that name.

    >>> '"title": "tissue plan FILE --json"' in schema_text("plan")
    True
    """
    from importlib.resources import files

    return (files("tissue") / "data" / "schemas" / f"{name}.json").read_text(encoding="utf-8")


def cite_command(chosen: Namespace) -> int:
    """`tissue cite`: both forms, or the one that is asked for."""
    from tissue.report.origin import bibtex, cff

    forms = [] if chosen.cff else [bibtex()]
    forms += [] if chosen.bibtex else [cff()]
    return print_result("\n\n".join(forms).rstrip("\n"))
