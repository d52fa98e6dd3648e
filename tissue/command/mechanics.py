"""`tissue mechanics` and `tissue ladder`: the section under pressure, and published experiments beside its laws."""

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from tissue.command.loading import load_one, refused
from tissue.command.printing import print_result
from tissue.ground.errors import EyeError

if TYPE_CHECKING:  # loaded by the commands that need them
    from tissue.mechanics.laws.choice import Choice
    from tissue.mechanics.shape import Setting
    from tissue.mechanics.space.plan import SpaceRequest

HELP = {
    "relationship": ("NAME", "depth relationship of the stiffness; nambiar2023"),
    "law": ("NAME", "isotropic, transverse or fibre; isotropic"),
    "shear_ratio": ("K", "modulus over shear modulus, 2.98 to 1000; 47; transverse only"),
    "shear_relationship": ("NAME", "of the shear stiffness, petsche2012 or same; petsche2012; transverse only"),
    "set": ("NAME", "numbers of the fibre law, soft, middle or donor; middle; fibre only"),
    "pressure": ("MMHG", "pressure in the eye, 0.5 to 40; 15"),
}


def add_law(parser: ArgumentParser) -> None:
    """Give a parser the options of the law."""
    for name, (kind, words) in HELP.items():
        parser.add_argument("--" + name.replace("_", "-"), metavar=kind, help=words)
    parser.add_argument("--three-d", action="store_true", help="the real plan in three dimensions, linear laws only")
    parser.add_argument("--mesh", metavar="NAME", help="of three dimensions, fine or coarse; fine")
    parser.add_argument("--states", metavar="A,B", help="states in three dimensions, with commas between them; all")
    parser.add_argument(
        "--no-spread", action="store_true", help="without the range over relationships or sets: quicker"
    )


def law_of(chosen: Namespace) -> "tuple[Choice, Setting]":
    """Choice and Setting that the options ask for.

    Args:
        chosen: what the parser read.

    Raises:
        EyeError: an unknown name, a number out of its range, or an option that the law does not take.
    """
    from tissue.mechanics.laws.choice import Choice, under
    from tissue.mechanics.shape import PICTURE

    named = {name: getattr(chosen, name) for name in ("relationship", "law", "shear_relationship", "set")}
    choice = Choice(
        **{name: value for name, value in named.items() if value is not None},
        shear_ratio=_number("shear_ratio", chosen.shear_ratio),
    )
    pressure = _number("pressure_mmHg", chosen.pressure)
    return choice, PICTURE if pressure is None else under(PICTURE, pressure)


def space_of(chosen: Namespace, choice: "Choice", setting: "Setting") -> "SpaceRequest | None":
    """SpaceRequest that the options ask for; None where three dimensions are not asked for.

    Args:
        chosen: what the parser read.
        choice, setting: what `law_of` gave.

    Raises:
        EyeError: the fibre law, an unknown mesh or state, or an option without --three-d.
    """
    from tissue.mechanics.space.plan import SPACE_STATES, SpaceRequest

    if not chosen.three_d:
        for field in ("mesh", "states"):
            if getattr(chosen, field) is not None:
                raise EyeError(field, getattr(chosen, field), "only with --three-d")
        return None
    states = SPACE_STATES if chosen.states is None else tuple(name.strip() for name in chosen.states.split(","))
    return SpaceRequest(choice, setting, "fine" if chosen.mesh is None else chosen.mesh, states)


def mechanics_command(chosen: Namespace) -> int:
    """`tissue mechanics`: the states of one eye under pressure."""
    from tissue.report.mechanics_json import TITLES, mechanics_report, mechanics_table
    from tissue.report.space_json import space_report, space_table

    side, _, comparison = load_one(chosen)
    with refused("mechanics"):
        choice, setting = law_of(chosen)
        request = space_of(chosen, choice, setting)
        report = mechanics_report(comparison, side, choice, setting, chosen.json, not chosen.no_spread)
        if request is not None:
            report["three_d"] = space_report(comparison, request)
    if chosen.json:
        return print_result(report)
    text = mechanics_table(report)
    return print_result(text if request is None else f"{space_table(report['three_d'], TITLES)}\n\n{text}")


def ladder_command(chosen: Namespace) -> int:
    """`tissue ladder`: the published experiments, as kept or run anew."""
    from tissue.mechanics.ladder.cases import judged_runs, kept_runs
    from tissue.report.ladder import ladder_report, ladder_table

    if chosen.fresh:
        from tissue.mechanics.ladder.experiments import fresh_runs  # it brings the solver

        runs = judged_runs(fresh_runs())
    else:
        runs = kept_runs()
    return print_result((ladder_report if chosen.json else ladder_table)(runs))


def _number(field: str, text: str | None) -> float | None:
    """A number as typed; None where nothing was."""
    try:
        return None if text is None else float(text)
    except ValueError:
        raise EyeError(field, text, "a number") from None
