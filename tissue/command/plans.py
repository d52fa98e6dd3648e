"""The commands on a plan file: table, follow-up, record, rescue, enhancement, letter, read-back."""

from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from tissue.command.loading import Wrong, load, load_one, load_plan, one_eye, or_planned, refused, write_beside
from tissue.command.printing import DONE, print_result


def plan_command(chosen: Namespace) -> int:
    """`tissue plan`: the table, or the JSON."""
    if chosen.json:
        from tissue.report.contract import plan_as_dict

        return print_result(plan_as_dict(*load(chosen.file)))
    from tissue.report.terminal import plan_table

    return print_result(plan_table(*load(chosen.file)))


def follow_command(chosen: Namespace) -> int:
    """`tissue follow`: what came of it, by the readings of the plan."""
    from tissue.report.followup.follow_json import follow_as_dict, followed
    from tissue.report.followup.follow_terminal import follow_table

    plan, eyes = load_plan(chosen.file)
    found, wrong = followed(plan.readings, eyes)
    if wrong:
        raise Wrong([f"{chosen.file}: {side}: {fault.text}" for side, fault in wrong.items()])
    return print_result((follow_as_dict if chosen.json else follow_table)(plan.code, found))


def record_command(chosen: Namespace) -> int:
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
    write_beside(chosen.out, page, ".pdf", chosen.file)
    return DONE


def rescue_command(chosen: Namespace) -> int:
    """`tissue rescue`: the rescue options at one moment of the cuts."""
    from tissue.report.routes_json import rescue_report
    from tissue.report.routes_terminal import rescue_table

    side, inputs, comparison = load_one(chosen)
    stage = or_planned(chosen, inputs, "stage", "suction_stage")
    done = or_planned(chosen, inputs, "done", "suction_done")
    with refused("rescue"):
        report = rescue_report(comparison, side, stage, done)
    if chosen.json:
        return print_result(report)
    return print_result(rescue_table(report, stage, done, comparison.judgement.relationship))


def enhance_command(chosen: Namespace) -> int:
    """`tissue enhance`: the ways to an enhancement of a residual refraction."""
    from tissue.entry.eye import written_residual
    from tissue.report.followup.follow_json import eye_today
    from tissue.report.routes_json import enhance_report
    from tissue.report.routes_terminal import enhance_table
    from tissue.routes.enhancement import enhancement

    side, inputs, comparison, readings = one_eye(chosen)
    written = or_planned(chosen, inputs, "residual", "residual")
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


def letter_command(chosen: Namespace) -> int:
    """`tissue letter`: fields, questions, matters and what was not used."""
    from tissue.entry.letter.letter import ACCEPTED, letter_text, read_letter
    from tissue.entry.toml_file import Unreadable, file_bytes
    from tissue.report.letter_terminal import letter_table

    try:
        found = read_letter(letter_text(file_bytes(chosen.file, ACCEPTED)))
    except Unreadable as error:
        raise Wrong([f"{chosen.file}: file: {error}"]) from None
    return print_result(found if chosen.json else letter_table(found))


def readback_command(chosen: Namespace) -> int:
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
        write_beside(chosen.out, dumps(plan).encode("utf-8"), ".toml", chosen.file, chosen.typed)
    return print_result(report if chosen.json else readback_table(report))
