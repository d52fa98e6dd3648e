"""Readings of a plan file and files of own errors: what is read, what is refused and how a plan is written again."""

from dataclasses import replace

import pytest

from tissue.entry.own_errors import OwnErrors, own_of, own_text
from tissue.entry.plan_file import PlanError, dumps
from tissue.entry.plan_file import read_plan as read
from tissue.entry.readings import read_entry
from tissue.entry.toml_file import Unreadable

EYE = 'schema = 1\n[OD]\nrefraction = "-5.00"\ncentral_thickness_um = 548\n'
GOOD = 'days = 90\nmethod = "OCT"\nthickness_um = 462\n'


def plan(*readings, eye="", head=""):
    tables = "".join(f"[[OD.reading]]\n{text}" for text in readings)
    return (head + EYE + eye + tables).encode()


def faults(data, **more):
    with pytest.raises(PlanError) as refused:
        read(data, "F", **more)
    return refused.value.lines


def test_a_reading_is_read_as_people_write_it():
    text = (
        'days = 90\nmethod = " Oct "\nthickness_um = "462 µm"\nrefraction = "-0,25 -0.50 x 10"\nK_D = 38.5\nsd_um = 2\n'
    )
    found = read(plan(text)).readings["OD"][0].reading
    assert (found.days, found.method, found.thickness_um, found.K_D, found.sd_um) == (90, "oct", 462, 38.5, 2)
    assert found.SE_D == pytest.approx(-0.5) and found.measured == ("thickness_um", "K_D", "SE_D")


def test_a_plan_with_readings_does_not_move():
    with_, without = read(plan(GOOD, eye='done = "flap"\n')), read(EYE.encode())
    assert {name: value for name, value in with_.eyes["OD"].items() if name != "done"} == without.eyes["OD"]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("days = 90\nmethod = \"oct\"\nthickness_um = 95\n", "thickness_um: read 95, accepted 200 to 900 µm"),
        ("days = 9.5\nmethod = \"oct\"\nthickness_um = 450\n", "days: read 9.5, accepted whole −3650 to 36500 days"),
        ("days = 36501\nmethod = \"oct\"\nK_D = 40\n", "days: read 36501, accepted whole −3650 to 36500 days"),
        ("days = 9\nmethod = \"lamp\"\nK_D = 40\n", "method: read lamp, accepted oct, ultrasound, vhf or scheimpflug"),
        ("days = 9\nthickness_um = 450\n", "method: read nothing, accepted oct, ultrasound, vhf or scheimpflug"),
        ("method = \"oct\"\nK_D = 40\n", "days: read nothing, accepted −3650 to 36500 days"),
        ("days = 9\nmethod = \"oct\"\n", "thickness_um: read nothing, accepted something measured: thickness_um, "
         "epithelium_um, cut_um, bed_um, K_D, refraction"),
        ("days = 9\nmethod = \"ultrasound\"\nbed_um = 300\n",
         "bed_um: read a value by ultrasound, accepted oct or vhf, which tell layers apart"),
        ("days = 9\nmethod = \"scheimpflug\"\nepithelium_um = 55\n",
         "epithelium_um: read a value by scheimpflug, accepted oct or vhf, which tell layers apart"),
        ("days = -9\nmethod = \"oct\"\nK_D = 43\n", "K_D: read a value before surgery, accepted days of 0 or more"),
        ("days = 9\nmethod = \"oct\"\nthickness_um = 420\nbed_um = 420\n",
         "bed_um: read 420, accepted less than the thickness (420 µm)"),
        ("days = 9\nmethod = \"oct\"\nthick_um = 420\nK_D = 40\n",
         "thick_um: read an unknown name, accepted a name of a reading, nearest thickness_um"),
        ("days = 9\nmethod = \"oct\"\nK_D = true\n", "K_D: read true, accepted 20 to 70 D"),
        ("days = 9\nmethod = \"oct\"\nrefraction = \"0.50\"\n",
         "refraction: read 0.50, accepted sphere and cylinder each with its sign"),
    ],
)  # fmt: skip
def test_what_is_wrong_names_eye_reading_field_value_and_limit(text, line):
    found = faults(plan(GOOD, text))
    assert len(found) == 1 and found[0].startswith(f"F: OD: reading 2: {line}")


def test_a_cut_goes_with_what_was_done():
    cut = 'days = 90\nmethod = "oct"\ncut_um = 118\n'
    assert "none after surface" in faults(plan(cut, eye='done = "surface"\n'))[0]
    both = faults(plan(cut, eye='done = "lenticule"\ncap_measured_um = 118\n'))
    assert both == ["F: OD: reading 1: cut_um: read a value, accepted either this or cap_measured_um, not both"]
    assert read(plan(cut, eye='done = "lenticule"\nflap_measured_um = 118\n')).readings["OD"]


def test_one_to_twenty_readings():
    assert len(read(plan(*[GOOD] * 20)).readings["OD"]) == 20
    assert faults(plan(*[GOOD] * 21)) == ["F: OD: reading: read 21 readings, accepted 1 to 20"]
    assert "tables [[OD.reading]]" in faults((EYE + "reading = 3\n").encode())[0]
    assert "an unknown name" in faults((EYE + "[[reading]]\ndays = 3\n").encode())[0]


def test_done_is_one_of_three():
    assert faults(plan(GOOD, eye='done = "laser"\n')) == [
        "F: OD: done: read laser, accepted surface, flap or lenticule"
    ]


def test_a_plan_is_written_again_with_its_readings():
    """Comments and spelling stay; what was added stands behind."""
    text = plan('days = +90 # after three months\nmethod = "OCT"\nthickness_um = 462.0\n', eye='done = "flap"\n')
    again = read(text)
    assert dumps(again).encode() == text
    entry, wrong = read_entry({"days": "200", "method": "oct", "K_D": "38.25"})
    more = replace(again, readings={"OD": (*again.readings["OD"], entry)})
    back = read(dumps(more).encode())
    assert not wrong and [one.reading.days for one in back.readings["OD"]] == [90, 200]
    assert back.readings["OD"][1].reading.K_D == 38.25


def test_own_errors_stand_in_for_what_is_not_given(tmp_path):
    """The eye's own values, then the file, then the defaults."""
    from tissue.entry.eye import build, used

    own = OwnErrors({"cap_bias_um": 2.5, "cap_sd_um": 3.1}, "own series, 84 eyes of 46 patients, dates not given")
    (tmp_path / "own.toml").write_text(own_text(own), "utf-8")
    (tmp_path / "plan.toml").write_bytes(plan(head='errors_from = "own.toml"\n', eye="cap_sd_um = 9\n"))
    found = read(tmp_path / "plan.toml")
    inputs = build(found.eyes["OD"], "OD", found.own)
    assert (inputs.errors.cap_bias_um, inputs.errors.cap_sd_um, inputs.errors.flap_bias_um) == (2.5, 9.0, 4.0)
    assert used(inputs, inputs.compare())["cap_bias_um"] == 2.5 and found.own.source == own.source
    assert dumps(found).encode() == (tmp_path / "plan.toml").read_bytes()


@pytest.mark.parametrize("name", ["../own.toml", "/etc/own.toml", "", "..", "a\\\\b.toml", "none.toml"])
def test_only_a_bare_name_in_the_folder_of_the_plan_is_taken(name, tmp_path):
    (tmp_path / "plan.toml").write_bytes(plan(head=f'errors_from = "{name}"\n'))
    with pytest.raises(PlanError, match="errors_from: read"):
        read(tmp_path / "plan.toml")


def test_a_plan_that_comes_without_its_folder_says_so():
    found = faults(plan(head='errors_from = "own.toml"\n'))
    assert found == ["F: errors_from: read own.toml, accepted a plan read from its folder, with that file beside it"]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (('kind = "own errors"', 'kind = "plan"'), "kind plan"),
        (("schema = 1", "schema = 2"), "schema = 1"),
        (("cap_sd_um", "cap_spread_um"), "nearest cap_sd_um"),
        (("3.9", "61"), "cap_sd_um 61"),
        (("3.9", "true"), "cap_sd_um True"),
        (("3.9", "nan"), "cap_sd_um nan"),
        (("[errors]", "[error]"), "unknown name"),
        (("own series", ""), "source"),
        (("cap_sd_um", "zone_mm"), "an error of a plan"),
    ],
)
def test_a_file_of_own_errors_is_checked(change, says):
    text = 'schema = 1\nkind = "own errors"\nsource = "own series"\n[errors]\ncap_sd_um = 3.9\n'
    assert own_of(text.encode()).values == {"cap_sd_um": 3.9}
    with pytest.raises(Unreadable, match=says):
        own_of(text.replace(*change).encode())
