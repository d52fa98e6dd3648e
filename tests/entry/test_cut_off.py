"""A file that was cut off is spoken of: in its last line, and between two where the tool began the file itself."""

from dataclasses import replace

import pytest
from helpers import ROOT

from tissue.command.command import main
from tissue.entry.own_errors import OwnErrors, own_of, own_text
from tissue.entry.plan_file import PlanError, dumps, read_plan
from tissue.entry.plan_text import FIRST, LAST, open_end
from tissue.entry.toml_file import Unreadable
from tissue.screens.desk.plan import Desk
from tissue.screens.fields import inputs
from tissue.series.tables.header import map_document, map_of, write_map
from tissue.series.wrong import TableError

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


@pytest.mark.parametrize("line", ["series {} {}.out.csv", "own {}"])
def test_a_table_cut_off_in_its_last_number_is_spoken_of(line, tmp_path, capsys):
    file = tmp_path / "eyes.csv"
    row = "p{},OD,-6.00,548,6.50,12,10,90\n"
    head = "patient,side,sphere_D,central_thickness_um,zone_mm,flap_um,flap_measured_um,days\n"
    data = (head + "".join(row.format(i) for i in range(12))).encode()
    for ended, times in ((data, 0), (data[:-2], 1)):
        file.write_bytes(ended)
        main(line.format(file, file).split())
        assert capsys.readouterr().err.count(f"{file}: file: read {SAID}") == times


BEGUN = dumps(replace(read_plan(WHOLE), text=""))  # as of a plan that was begun on the desk
OWN = own_text(OwnErrors({"cap_sd_um": 3.9, "flap_sd_um": 4.5}, "own series, 12 eyes"))
COLUMNS = write_map({"zone_mm": ("OZ", 1.0), "central_thickness_um": ("Pachy", 1000.0)})


def cuts(text, read, *errors):
    """By where it is cut, what is read of each shorter file that is not refused."""
    found = {}
    for at in range(len(text)):
        try:
            found[at] = read(text[:at].encode())
        except errors:
            continue
    return found


def test_every_cut_of_a_plan_that_was_begun_here_is_refused_or_takes_nothing():
    left = cuts(BEGUN, read_plan, PlanError)
    assert list(left) == [len(BEGUN) - 1]
    assert left[len(BEGUN) - 1].eyes == read_plan(BEGUN.encode()).eyes and not open_end(BEGUN[:-1])


def test_so_is_every_cut_of_own_errors_and_of_names_of_columns():
    found = {at: own.values for at, own in cuts(OWN, own_of, Unreadable).items()}
    assert found == {len(OWN) - 1: {"cap_sd_um": 3.9, "flap_sd_um": 4.5}}
    found = cuts(COLUMNS, lambda data: map_of(map_document("cut", data), "cut"), TableError)
    assert {at: set(names) for at, names in found.items()} == {
        0: set(),
        len(COLUMNS) - 1: {"zone_mm", "central_thickness_um"},
    }


@pytest.mark.parametrize("line", ["plan {}", "record {} {}.pdf", "readback {} {}", "enhance {} --eye OD --residual -1"])
def test_a_plan_cut_off_between_two_lines_is_refused_by_every_command(line, tmp_path, capsys):
    file = tmp_path / "cut.toml"
    file.write_text(BEGUN[: BEGUN.index("[OS]")], "utf-8")
    assert main(line.format(file, file).split()) == 2
    assert f'file: read no last line "{LAST}", as in a file that was cut off' in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == [file]


def test_the_last_line_stays_the_last_and_by_hand_it_may_go_with_the_first():
    plan = read_plan(BEGUN.encode())
    one = dumps(replace(plan, eyes={"OD": plan.eyes["OD"]}))
    assert dumps(plan) == BEGUN and BEGUN.startswith(f"{FIRST}\n")
    more = dumps(replace(read_plan(one.encode()), eyes=plan.eyes, typed=plan.typed))
    for text in (one, more):
        assert text.endswith(f"\n{LAST}\n") and text.count(LAST) == FIRST.count(LAST) + 1
    assert read_plan(more.encode()).eyes == plan.eyes
    behind = read_plan((one + "cap_um = 125\n").encode())
    assert behind.eyes["OD"]["cap_um"] == 125 and dumps(behind).endswith(f"cap_um = 125\n{LAST}\n")
    assert LAST not in dumps(read_plan(one.replace(f"{FIRST}\n", "").replace(f"{LAST}\n", "").encode()))
    assert read_plan(BEGUN.replace("\n", "\r\n").encode()).eyes == plan.eyes
