"""The commands: everything the screens do, without them."""

import os
import sys
import tomllib
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from tissue.ground.errors import EyeError
from tissue.ground.sources import folder
from tissue.ground.vocabulary import EYES, STAGES, VERSION
from tissue.report.commands import add_commands as add_report_commands
from tissue.report.mechanics_options import add_law, law_of, space_of
from tissue.report.own_map.commands import MapError
from tissue.report.own_map.commands import add_commands as add_map_commands
from tissue.report.printing import Parser, Unprinted, drop_output, print_result, say
from tissue.series.commands import add_commands as add_series_commands
from tissue.series.own import commands as own_commands
from tissue.series.stopping import stop_once
from tissue.series.wrong import TableError

DONE, FAULT_OF_THE_TOOL, WRONG_INPUT = 0, 1, 2
HERE = Path(__file__).parent


class Wrong(Exception):
    """Input that cannot be used: the lines that say why."""

    def __init__(self, lines):
        self.lines = list(lines)
        super().__init__("\n".join(self.lines))


def main(arguments=None):
    """Run one command; returns the exit code: 0 done, 2 wrong input, 1 a fault of the tool."""
    if arguments is None:  # a process of its own
        stop_once()
        arguments = sys.argv[1:]
    try:
        if arguments[:1] == ["app"]:
            return app(arguments[1:])
        chosen = parser().parse_args(arguments)
        return chosen.run(chosen)
    except (Wrong, TableError, MapError) as wrong:
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
    except Exception as error:  # no traceback ever reaches a user
        say([f"tissue: a fault of the tool, not of the input: {type(error).__name__}: {error}"])
        return FAULT_OF_THE_TOOL


def parser():
    """The parser of all commands."""
    top = Parser(
        prog="tissue", description="The tissue budget of an eye before corneal refractive surgery.", allow_abbrev=False
    )
    top.add_argument("--version", action="version", version=f"tissue {VERSION}")
    commands = top.add_subparsers(required=True, metavar="COMMAND")
    commands.add_parser("app", help="the screens, on this machine only; settings go to Streamlit", add_help=False)
    _add(commands, "plan", plan_command, "the table of a plan file")
    record = commands.add_parser("record", help="the printed record of a plan", allow_abbrev=False)
    record.add_argument("file", metavar="FILE")
    record.add_argument("out", metavar="OUT.pdf")
    record.add_argument("--date", default="", help="printed as it stands, as in 2026-11-25; no date where not given")
    record.set_defaults(run=record_command)
    rescue = _add(commands, "rescue", rescue_command, "rescue options when suction is lost", one_eye=True)
    rescue.add_argument("--stage", choices=STAGES, help="the cut that was under way; else that of the plan")
    rescue.add_argument("--done", type=float, metavar="SHARE", help="share of it that was done, 0 to 1; or as planned")
    enhance = _add(commands, "enhance", enhance_command, "ways to an enhancement", one_eye=True)
    enhance.add_argument(
        "--residual", metavar="TEXT", help='what is left, as in "-0.75 -0.25 x 90"; else that of the plan'
    )
    enhance.add_argument("--today", action="store_true", help="the eye as its readings have it")
    _add(commands, "follow", follow_command, "what came of a plan, by its readings")
    mechanics = _add(commands, "mechanics", mechanics_command, "where the stress goes", one_eye=True)
    add_law(mechanics)
    words = "published experiments and what every law of the cornea gives for them"
    ladder = commands.add_parser("ladder", help=words, description=words, allow_abbrev=False)
    ladder.add_argument("--json", action="store_true", help="figures for machines")
    ladder.add_argument("--fresh", action="store_true", help="run everything anew; it takes minutes")
    ladder.set_defaults(run=ladder_command)
    _add(commands, "letter", letter_command, "what a letter says of two eyes")
    readback = _add(commands, "readback", readback_command, "what a second person typed, beside a plan")
    readback.add_argument("typed", metavar="TYPED.toml", help="what was typed; it needs only schema")
    readback.add_argument("--date", default="", help="kept as it stands, as in 2026-11-25; no date where not given")
    readback.add_argument("--out", metavar="OUT.toml", help="the plan with what the read-back said")
    add_series_commands(commands, study_figures)
    add_report_commands(commands, load_one, refused)
    own_commands.add_commands(commands, print_result)
    add_map_commands(commands, _write_beside)
    return top


def _add(commands, name, run, words, one_eye=False):
    """A sub-command on a plan file."""
    added = commands.add_parser(name, help=words, description=words, allow_abbrev=False)
    added.add_argument("file", metavar="FILE")
    added.add_argument("--json", action="store_true", help="figures for machines")
    if one_eye:
        added.add_argument("--eye", choices=EYES, help="which eye; not needed where the file has one")
    added.set_defaults(run=run)
    return added


def app(settings):
    """Start the screens with the tool's own settings; every setting of the user goes to Streamlit itself and wins."""
    script = HERE / "screens" / "start" / "start.py"
    sys.stdout.flush()
    own = server_settings(tomllib.loads((folder("settings") / "config.toml").read_text("utf-8")))
    os.execv(sys.executable, [sys.executable, "-m", "streamlit", "run", str(script), *own, *settings])


def server_settings(table, above=""):
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


def load(path, side=None, data=None):
    """The plan in a file: its code, and by side (Inputs, Comparison, refraction as typed); as `load_plan`."""
    plan, eyes = load_plan(path, side, data)
    return plan.code, {name: (*eye, plan.typed[name].get("refraction", "")) for name, eye in eyes.items()}


def load_plan(path, side=None, data=None):
    """The Plan in a file, and by side its Inputs and their Comparison.

    Args:
        path: of the file.
        side: OD or OS, both where None.
        data: the bytes of the file where they were read before.

    Raises:
        Wrong: a line for every fault.
    """
    from tissue.entry.checks import fault_of
    from tissue.entry.eye import build
    from tissue.entry.own_errors import NO_OWN
    from tissue.entry.plan_file import PlanError, read_plan

    plan, faults = None, []
    try:
        plan = read_plan(path) if data is None else read_plan(data, path, Path(path).parent)
        sound = plan.eyes
    except PlanError as error:
        faults, sound = error.lines, error.sound
    if plan and side and side not in sound:
        raise Wrong([f"{path}: {side}: read nothing, accepted a plan file with a table [{side}]"])
    eyes = {}
    for name, values in sound.items():
        if side in (None, name):
            try:
                inputs = build(values, name, plan.own if plan else NO_OWN)
                eyes[name] = inputs, inputs.compare()
            except EyeError as error:
                faults.append(f"{path}: {name}: {fault_of(error).text}")
    if faults or plan is None:
        raise Wrong(faults)
    return plan, eyes


def load_one(chosen):
    """The side, Inputs and Comparison of the one eye a command is about.

    Raises:
        Wrong: a line for every fault.
    """
    side, inputs, comparison, _ = _one_eye(chosen)
    return side, inputs, comparison


def _one_eye(chosen):
    """The same with the readings of that eye."""
    plan, eyes = load_plan(chosen.file, chosen.eye)
    if len(eyes) > 1:
        raise Wrong([f"{chosen.file}: eye: read both eyes, accepted --eye OD or --eye OS"])
    side, (inputs, comparison) = next(iter(eyes.items()))
    return side, inputs, comparison, plan.readings.get(side, ())


def follow_command(chosen):
    """`tissue follow`: what came of it, by the readings of the plan."""
    from tissue.report.followup.follow_json import follow_as_dict, followed
    from tissue.report.followup.follow_terminal import follow_table

    plan, eyes = load_plan(chosen.file)
    found, wrong = followed(plan.readings, eyes)
    if wrong:
        raise Wrong([f"{chosen.file}: {side}: {fault.text}" for side, fault in wrong.items()])
    return print_result((follow_as_dict if chosen.json else follow_table)(plan.code, found))


def plan_command(chosen):
    """`tissue plan`: the table, or the JSON."""
    from tissue.report.contract import plan_as_dict
    from tissue.report.terminal import plan_table

    write = plan_as_dict if chosen.json else plan_table
    return print_result(write(*load(chosen.file)))


def record_command(chosen):
    """`tissue record`: the A4 page, written whole or not at all."""
    from tissue.entry.file_name import file_name
    from tissue.entry.notation import read_line
    from tissue.entry.plan_file import plan_bytes
    from tissue.entry.toml_file import Unreadable
    from tissue.paper.record import record

    try:
        data = plan_bytes(chosen.file)
    except Unreadable as error:
        raise Wrong([f"{chosen.file}: file: {error}"]) from None
    code, eyes = load(chosen.file, data=data)
    with refused("record"):
        date = read_line("date", chosen.date, 40) if chosen.date else ""
    page = record(code, eyes, data, file_name(Path(chosen.file).name), date)
    _write_beside(chosen.out, page, ".pdf", chosen.file)
    return DONE


def rescue_command(chosen):
    """`tissue rescue`: the rescue options at one moment of the cuts."""
    from tissue.report.routes_json import rescue_report
    from tissue.report.routes_terminal import rescue_table

    side, inputs, comparison = load_one(chosen)
    stage = _or_planned(chosen, inputs, "stage", "suction_stage")
    done = _or_planned(chosen, inputs, "done", "suction_done")
    with refused("rescue"):
        report = rescue_report(comparison, side, stage, done)
    if chosen.json:
        return print_result(report)
    return print_result(rescue_table(report, stage, done, comparison.judgement.relationship))


def _or_planned(chosen, inputs, option, name):
    """What an option gives, or else the plan.

    Raises:
        Wrong: neither does.
    """
    given = getattr(chosen, option)
    found = inputs.values.get(name) if given is None else given
    if found is None:
        raise Wrong([f"{chosen.file}: {name}: read nothing, accepted --{option} or {name} in the plan"])
    return found


def enhance_command(chosen):
    """`tissue enhance`: the ways to an enhancement of a residual refraction."""
    from tissue.entry.eye import written_residual
    from tissue.report.followup.follow_json import eye_today
    from tissue.report.routes_json import enhance_report
    from tissue.report.routes_terminal import enhance_table
    from tissue.routes.enhancement import enhancement

    side, inputs, comparison, readings = _one_eye(chosen)
    written = _or_planned(chosen, inputs, "residual", "residual")
    if chosen.today:
        comparison, fault = eye_today(inputs, comparison, readings)
        if fault:
            raise Wrong([f"{chosen.file}: {side}: {fault.text}"])
    with refused("enhance"):
        residual = written_residual(written, comparison)
        given = {name: inputs.values.get(name) for name in ("ablation_blend_mm", "lenticule_blend_mm", "base_um")}
        report = enhance_report(comparison, side, residual, **given)
        if chosen.json:
            return print_result(report)
        found = enhancement(comparison, residual, **given)
    return print_result(enhance_table(report, comparison, found, comparison.judgement.relationship))


def mechanics_command(chosen):
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


def letter_command(chosen):
    """`tissue letter`: fields, questions, matters and what was not used."""
    from tissue.entry.letter.letter import ACCEPTED, letter_text, read_letter
    from tissue.entry.toml_file import Unreadable, file_bytes
    from tissue.report.letter_terminal import letter_table

    try:
        found = read_letter(letter_text(file_bytes(chosen.file, ACCEPTED)))
    except Unreadable as error:
        raise Wrong([f"{chosen.file}: file: {error}"]) from None
    return print_result(found if chosen.json else letter_table(found))


def readback_command(chosen):
    """`tissue readback`: every typed name beside the value used; with --out a plan that keeps what it said."""
    from tissue.entry.notation import read_line
    from tissue.entry.plan_file import PlanError, dumps, plan_bytes, read_plan
    from tissue.entry.readback import read_typed
    from tissue.entry.toml_file import Unreadable
    from tissue.report.readback import note_of, readback_report, readback_table

    with refused("readback"):
        date = read_line("date", chosen.date, 40) if chosen.date else ""
    try:
        data = plan_bytes(chosen.file)
        typed = read_typed(chosen.typed)
    except Unreadable as error:
        raise Wrong([f"{chosen.file}: file: {error}"]) from None
    except PlanError as error:
        raise Wrong(error.lines) from None
    _, eyes = load(chosen.file, data=data)
    report = readback_report(eyes, typed)
    if chosen.out:
        plan = replace(read_plan(data, chosen.file), readback=note_of(report, date))
        _write_beside(chosen.out, dumps(plan).encode("utf-8"), ".toml", chosen.file, chosen.typed)
    return print_result(report if chosen.json else readback_table(report))


def _write_beside(out, data, ending, *sources):
    """Write a file of that ending, whole or not at all, that is none of those it was made from."""
    from tissue.entry.whole_file import other_kind, same_file, write_whole

    if any(same_file(source, out) for source in sources):
        raise Wrong([f"{out}: file: read a file it is made from, accepted another file to write to"])
    if words := other_kind(out, ending):
        raise Wrong([f"{out}: file: read {words}"])
    try:
        write_whole(out, data)
    except OSError as error:
        raise Wrong([f"{out}: file: read {error.strerror or error}, accepted a place to write to"]) from None


def ladder_command(chosen):
    """`tissue ladder`: the published experiments, as kept or run anew."""
    from tissue.mechanics.ladder.cases import judged_runs, kept_runs
    from tissue.report.ladder import ladder_report, ladder_table

    if chosen.fresh:
        from tissue.mechanics.ladder.experiments import fresh_runs  # it brings the solver

        runs = judged_runs(fresh_runs())
    else:
        runs = kept_runs()
    return print_result((ladder_report if chosen.json else ladder_table)(runs))


def study_figures(series, question):
    """The figures of a bundle of `tissue series`."""
    from tissue.paper.study_figures import study_prints

    return study_prints(series, question)


@contextmanager
def refused(command):
    """An EyeError of the arithmetic as a line for the user."""
    from tissue.entry.checks import fault_of

    try:
        yield
    except EyeError as error:
        raise Wrong([f"{command}: {fault_of(error).text}"]) from None
