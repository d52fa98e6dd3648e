"""A plan file that was cut off within its last line is spoken of, on the terminal and on the screens."""

import pytest
from helpers import ROOT

from tissue.command.command import main
from tissue.entry.plan_file import PlanError, dumps, read_plan
from tissue.entry.plan_text import open_end
from tissue.screens.desk.plan import Desk
from tissue.screens.fields import inputs

WHOLE = (ROOT / "demo_profiles" / "harbour-03_moderate_myopia.toml").read_bytes()
SAID = "no line end after the last line"
IN_A_NUMBER = b'schema = 1\n[OD]\nrefraction = "-6.00 -1.25 x 170"\ncentral_thickness_um = 548\nzone_mm = 6'  # of 6.5


def readable(data):
    """The Plan in these bytes, None where it is refused."""
    try:
        return read_plan(data)
    except PlanError:
        return None


def test_of_all_cuts_only_those_between_two_lines_are_not_spoken_of():
    read = {at: plan for at in range(len(WHOLE)) if (plan := readable(WHOLE[:at]))}
    silent = {at for at, plan in read.items() if not open_end(plan.text)}
    assert all(WHOLE[at - 1 : at] == b"\n" for at in silent) and len(read) - len(silent) > 10


@pytest.mark.parametrize("line", ["plan {}", "plan {} --json", "record {} {}.pdf", "readback {} {}", "rescue {} WHERE"])
def test_a_number_cut_off_is_spoken_of_once_by_every_command(line, tmp_path, capsys):
    file = tmp_path / "cut.toml"
    arguments = line.replace("WHERE", "--stage lenticule --done 0.5").format(file, file).split()
    file.write_bytes(IN_A_NUMBER)
    assert main(arguments) == 0 and capsys.readouterr().err.count(f"{file}: file: read {SAID}") == 1
    file.write_bytes(IN_A_NUMBER + b"\n")
    assert main(arguments) == 0 and not capsys.readouterr().err


def test_on_the_desk_it_is_said_until_the_plan_is_saved():
    desk = Desk()
    desk.open(read_plan(IN_A_NUMBER), "harbour-90")
    assert SAID in inputs.open_end_line(desk) and desk.as_file().endswith("\n")
    desk.saved()
    assert not inputs.open_end_line(desk)
    desk.open(read_plan(WHOLE), "harbour-03")
    assert not inputs.open_end_line(desk)


def test_what_is_written_has_its_line_end():
    assert dumps(read_plan(IN_A_NUMBER)).endswith("zone_mm = 6\n")
