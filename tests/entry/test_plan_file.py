"""Plan files: what is read, every refusal with its line, and writing that reads back the same."""

import math
from dataclasses import replace

import pytest
from helpers import ROOT
from hypothesis import given
from hypothesis import strategies as st

from tissue.entry.fields import fields
from tissue.entry.plan_file import MOST_FAULTS, Plan, PlanError, dumps, read_plan, save

EYE = "sphere_D = -4.75\ncylinder_D = -1.25\naxis_deg = 170\ncentral_thickness_um = 548\n"


def eye(text, head="schema = 1\n"):
    """A plan of one right eye with these lines."""
    return f"{head}[OD]\n{text}".encode()


def lines(data):
    """The lines of the faults of a plan that is refused."""
    with pytest.raises(PlanError) as caught:
        read_plan(data, "plan.toml")
    assert str(caught.value).splitlines() == caught.value.lines
    assert not any(";" in line for line in caught.value.lines)
    return caught.value.lines


def test_example_of_the_interface():
    # Source: the interface of the tool, plan file
    plan = read_plan(
        """schema = 1
code = "harbour-03"             # a pseudonym; a person's name is never asked for
[OD]
sphere_D = -4.75
cylinder_D = -1.25
axis_deg = 170
central_thickness_um = 548
[OS]
refraction = "-5.00 DS / -0.75 DC × 12°"   # as people write it, instead of the three numbers
central_thickness_um = "551 µm"
""".encode()
    )
    assert plan.code == "harbour-03"
    assert plan.eyes == {
        "OD": {"sphere_D": -4.75, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0},
        "OS": {"sphere_D": -5.0, "cylinder_D": -0.75, "axis_deg": 12.0, "central_thickness_um": 551.0},
    }
    assert plan.typed["OS"] == {"refraction": "-5.00 DS / -0.75 DC × 12°", "central_thickness_um": "551 µm"}
    assert plan.typed["OD"]["sphere_D"] == "-4.75"


# The text of a power counts, not its number. Source: the interface of the tool.
SIGNED = [
    ("sphere_D = +4.75", 4.75),
    ("sphere_D = +4", 4.0),
    ("sphere_D = -4", -4.0),
    ("sphere_D = 0", 0.0),
    ("sphere_D = 0.00", 0.0),
    ("sphere_D = +1_0.5_0", 10.5),
    ("sphere_D =+4", 4.0),
    ("sphere_D\t=\t+4\t# = 4", 4.0),
    ('"sphere_D" = +4', 4.0),
    ("'sphere_D' = +4", 4.0),
    ('sphere_D = "+4"', 4.0),
    ("sphere_D = '− 4,75 DS'", -4.75),
    ('sphere_D = """+4"""', 4.0),
    ("sphere_D = +4.5e-1", 0.45),
]


@pytest.mark.parametrize(("line", "value"), SIGNED)
def test_sign_of_a_power_is_read_from_its_text(line, value):
    assert read_plan(eye(line + "\ncentral_thickness_um = 548")).eyes["OD"]["sphere_D"] == value


@pytest.mark.parametrize("number", ["4", "4.75", "1_0", "4e0", '"4.75"', "'4'", "0.25"])
@pytest.mark.parametrize("name", ["sphere_D", "cylinder_D", "target_D", "treated_sphere_D", "treated_cylinder_D"])
def test_power_without_its_sign_is_refused(name, number):
    text = "\n".join(line for line in EYE.splitlines() if not line.startswith(name))
    assert any(
        line.startswith(f"plan.toml: OD: {name}: read ") and "without a sign" in line
        for line in lines(eye(f"{text}\n{name} = {number}"))
    )


def test_a_byte_order_mark_is_no_fault():
    assert read_plan(b"\xef\xbb\xbf" + eye(EYE)).eyes["OD"]["sphere_D"] == -4.75


def test_second_spellings_are_read():
    # 337.5: the keratometer's constant (convention)
    values = read_plan(eye(EYE + 'mean_K_D = "7.50 mm"\nthinnest_um = 0.543\nzone_mm = "6,5 mm"')).eyes["OD"]
    assert (values["mean_K_D"], values["thinnest_um"], values["zone_mm"]) == (45.0, 543.0, 6.5)


# lines of the eye, fields at fault. Source: the refusals of the interface.
REFUSED = [
    ("central_thickness_um = 548", ["sphere_D"]),
    ("sphere_D = -4.75", ["central_thickness_um"]),
    (EYE.replace("axis_deg = 170\n", ""), ["axis_deg"]),
    (EYE.replace("170", "181"), ["axis_deg"]),
    (EYE.replace("170", "-1"), ["axis_deg"]),
    (EYE.replace("-4.75", "-30.25"), ["sphere_D"]),
    (EYE.replace("-4.75", "nan"), ["sphere_D"]),
    (EYE.replace("548", "inf"), ["central_thickness_um"]),
    (EYE.replace("548", "+nan"), ["central_thickness_um"]),
    (EYE.replace("548", "999"), ["central_thickness_um"]),
    (EYE.replace("548", "-1"), ["central_thickness_um"]),
    (EYE.replace("548", "0"), ["central_thickness_um"]),
    (EYE.replace("548", "99"), ["central_thickness_um"]),
    (EYE.replace("548", '""'), ["central_thickness_um"]),
    (EYE.replace("548", "true"), ["central_thickness_um"]),
    (EYE.replace("548", "[548]"), ["central_thickness_um"]),
    (EYE.replace("548", "{um = 548}"), ["central_thickness_um"]),
    (EYE.replace("548", "2026-11-25"), ["central_thickness_um"]),
    (EYE.replace("548", "0x224"), ["central_thickness_um"]),
    (EYE.replace("548", "1e999"), ["central_thickness_um"]),
    (EYE + 'refraction = "-4.75 -1.25 x 170"', ["sphere_D", "cylinder_D", "axis_deg"]),
    ('refraction = "5.75 4.00 x 005"\ncentral_thickness_um = 548', ["refraction"]),
    ('refraction = "-4.50 1.50 X35"\ncentral_thickness_um = 548', ["refraction"]),
    ('refraction = "-5.00 -0.75"\ncentral_thickness_um = 548', ["refraction"]),
    ("refraction = true\ncentral_thickness_um = 548", ["refraction"]),
    (EYE + "radius_mm = 7.8\nmean_K_D = 43.25", ["mean_K_D"]),
    (EYE + "treated_sphere_D = -4.00", ["treated_cylinder_D"]),
    (EYE + "treated_cylinder_D = -1.00\ntreated_axis_deg = 5", ["treated_sphere_D"]),
    (EYE + "treated_sphere_D = -4.00\ntreated_cylinder_D = -1.00", ["treated_axis_deg"]),
    (EYE + "flap_um = 60\nepithelium_um = 60", ["flap_um"]),
    (EYE + "flap_measured_um = 50", ["flap_measured_um"]),
    (EYE + "cap_um = 80\nepithelium_um = 85", ["cap_um"]),
    (EYE + "cap_measured_um = 53", ["cap_measured_um"]),
    (EYE + "thinnest_um = 549", ["thinnest_um"]),
    (EYE + "thinnest_x_mm = 0.5\nthinnest_y_mm = 0.5", ["thinnest_um"]),
    (EYE + 'profile = "flat"', ["profile"]),
    (EYE + 'relationship = "none"', ["relationship"]),
    (EYE + 'refraction_kind = "guess"', ["refraction_kind"]),
    (EYE + "profile = 3", ["profile"]),
    (EYE + 'zone_mm = "6.5 D"', ["zone_mm"]),
    (EYE + "zone_mm = 65\nclock_s = 4\npupil_mm = 0", ["pupil_mm", "zone_mm", "clock_s"]),
]


@pytest.mark.parametrize(("text", "at_fault"), REFUSED)
def test_refusal_names_file_eye_and_field(text, at_fault):
    assert [line.split(": ")[:3] for line in lines(eye(text))] == [["plan.toml", "OD", name] for name in at_fault]


def test_a_line_says_what_was_read_and_what_is_accepted():
    assert lines(eye(EYE.replace("548", '"250; µm"'))) == [
        "plan.toml: OD: central_thickness_um: read 250, µm, accepted 300 to 900 µm, or 0.3 to 0.9 mm"
    ]
    assert lines(eye(EYE.replace("-4.75", "4.75"))) == [
        "plan.toml: OD: sphere_D: read 4.75 without a sign, "
        "accepted +4.75 or −4.75 (−30 to +20 D, with its sign unless it is 0)"
    ]


def test_an_unknown_name_is_one_fault_with_the_nearest_known_name():
    assert lines(eye(EYE + "zone = 6.5")) == [
        "plan.toml: OD: zone: read an unknown name, accepted a name of the interface, nearest zone_mm"
    ]
    assert lines(eye(EYE.replace("sphere_D", "sphere")))[0].endswith("nearest sphere_D")


def test_faults_of_both_eyes_stand_together():
    found = lines(b'schema = 1\n[OD]\nsphere_D = 4\n[OS]\nrefraction = "x"\nzone_mm = 3')
    assert [line.split(": ")[1:3] for line in found] == [
        ["OD", "sphere_D"],
        ["OD", "central_thickness_um"],
        ["OS", "refraction"],
        ["OS", "central_thickness_um"],
        ["OS", "zone_mm"],
    ]


# whole text of a file, what its only line holds
WHOLE = [
    ("", "schema: read nothing, accepted 1"),
    ("[OD]\n" + EYE, "schema: read nothing, accepted 1"),
    ("schema = 2\n[OD]\n" + EYE, "schema: read 2, accepted 1"),
    ('schema = "1"\n[OD]\n' + EYE, "schema: read 1"),
    ("schema = true\n[OD]\n" + EYE, "schema: read true"),
    ("schema = 1\n", "OD: read nothing, accepted a table [OD] or [OS]"),
    ("schema = 1\n[OD]\n" + EYE + "[OX]\n" + EYE, "OX: read an unknown name"),
    ("schema = 1\nsphere_D = -4.75\n[OD]\n" + EYE, "sphere_D: read a value outside an eye"),
    ("schema = 1\nOS = 5\n[OD]\n" + EYE, "OS: read 5, accepted a table [OS]"),
    ("schema = 1\n[[OS]]\n" + EYE + "[OD]\n" + EYE, "OS: read a list, accepted a table [OS]"),
    ("schema = 1\ncode = 7\n[OD]\n" + EYE, "code: read 7, accepted a pseudonym in quotes"),
    ('schema = 1\ncode = ""\n[OD]\n' + EYE, "code: read nothing"),
    ('schema = 1\ncode = "a\\nb"\n[OD]\n' + EYE, "code: read a b"),
    ("schema = 1\n[OD]\nsphere_D = −4.75\n", "line 3"),
    ("schema = 1\n[OD]\naxis_deg = 005\n", "line 3"),
    ("schema = 1\n[OD]\nsphere_D = -4\nsphere_D = -5\n", "line 4"),
    ("schema = 1\n[OD\n", "line 2"),
    ("schema = 1\nx = " + "[" * 5000, "too deeply nested"),
    ("schema = " + "9" * 5000, "accepted"),
    ("schema = 1\nOD = {sphere_D = 4, central_thickness_um = 548}", "OD: sphere_D: read 4 without a sign"),
    ("schema = 1\nOD.sphere_D = 4\nOD.central_thickness_um = 548", "OD: sphere_D: read 4 without a sign"),
    ("#" * 100_001, "more than 100 kB"),
]


@pytest.mark.parametrize(("text", "expected"), WHOLE, ids=[row[1] for row in WHOLE])
def test_whole_file_is_refused(text, expected):
    assert any(expected in line for line in lines(text.encode()))


def test_bytes_that_are_not_utf8_are_refused_with_their_line():
    assert "not UTF-8 in line 2" in lines('schema = 1\ncode = "é"'.encode("latin-1"))[0]


def test_files_that_cannot_be_opened(tmp_path):
    for path, words in ((tmp_path / "none.toml", "no such file"), (tmp_path, "a folder"), ("a\0b", "null")):
        with pytest.raises(PlanError) as caught:
            read_plan(path)
        assert len(caught.value.lines) == 1
        assert words in caught.value.lines[0]
        assert caught.value.lines[0].startswith(str(path).replace("\0", " "))


def test_very_many_faults_are_counted():
    found = lines(eye(EYE + "".join(f"x{i} = 1\n" for i in range(MOST_FAULTS + 50))))
    assert len(found) == MOST_FAULTS + 1
    assert "50 more faults" in found[-1]


@given(st.text(max_size=80))
def test_no_text_raises_anything_but_a_plan_error(text):
    for data in (
        text,
        f"schema = 1\n[OD]\n{text}",
        f"schema = 1\n[OD]\nrefraction = '{text}'",
        f"{EYE}zone_mm = {text}",
    ):
        try:
            read_plan(data.encode("utf-8", "surrogatepass"))
        except PlanError as error:
            assert error.lines


@given(st.binary(max_size=60))
def test_no_bytes_raise_anything_but_a_plan_error(data):
    with pytest.raises(PlanError):
        read_plan(data)


def hundredths(low, high):
    return st.integers(math.ceil(low * 100), math.floor(high * 100)).map(lambda n: n / 100)


FREE = ("vertex_mm", "target_D", "pupil_mm", "asphericity", "zone_mm", "cap_sd_um", "hinge_deg", "clock_s", "mean_K_D")
some_eyes = st.fixed_dictionaries(
    {"sphere_D": hundredths(-30, 20), "axis_deg": hundredths(0, 180), "central_thickness_um": hundredths(300, 900)},
    optional={name: hundredths(fields()[name].low, fields()[name].high) for name in FREE}
    | {"cylinder_D": hundredths(-12, 12), "thickness_method": st.sampled_from(["OCT", "ultra = sound", '"'])},
)


@given(
    st.sampled_from(["", "harbour-03", "π # ="]), st.dictionaries(st.sampled_from(["OD", "OS"]), some_eyes, min_size=1)
)
def test_what_is_written_reads_back_the_same(code, eyes):
    again = read_plan(dumps(Plan(code, eyes, {})).encode())
    assert (again.code, again.eyes) == (code, eyes)


def test_what_was_typed_stays_while_it_says_the_same():
    text = eye('refraction = "-5.00 DS / -0.75 DC × 12°"\ncentral_thickness_um = "551 µm"\nmean_K_D = "7.50 mm"')
    plan = read_plan(text)
    again = read_plan(dumps(plan).encode())
    assert again.typed == plan.typed
    assert again.eyes == plan.eyes
    plan.eyes["OD"]["sphere_D"] = 5.0
    plan.eyes["OD"]["central_thickness_um"] = 560.0
    changed = read_plan(dumps(plan).encode())
    assert changed.eyes == plan.eyes
    assert "refraction" not in changed.typed["OD"]


def test_a_plan_is_written_whole_or_not_at_all(tmp_path):
    path = tmp_path / "plan.toml"
    plan = Plan("harbour-09", {"OD": {"sphere_D": 2.0, "central_thickness_um": 548.0}}, {})
    save(plan, path)
    before = path.read_bytes()
    assert read_plan(path).eyes == plan.eyes
    with pytest.raises(TypeError):
        save(Plan("x", {"OD": {"thickness_method": object()}}, {}), path)
    assert path.read_bytes() == before
    with pytest.raises(OSError, match="none"):
        save(plan, tmp_path / "none" / "plan.toml")
    assert [item.name for item in tmp_path.iterdir()] == ["plan.toml"]


def test_a_plan_that_is_written_again_keeps_its_comments_and_spelling():
    text = (
        "# seen twice\nschema = 1\ncode = 'harbour-31' # invented\n\n[OD]\nsphere_D = +4 # cycloplegic\n"
        'central_thickness_um = "0.548 mm"\nzone_mm = 6.50 # as usual\ncap_um = 130\n'
    )
    plan = read_plan(text.encode())
    assert dumps(plan) == text
    changed = replace(plan, eyes={"OD": {**plan.eyes["OD"], "zone_mm": 6.25}})
    assert dumps(changed) == text.replace("6.50", "6.25")
    without = {name: value for name, value in plan.eyes["OD"].items() if name != "cap_um"}
    assert dumps(replace(plan, eyes={"OD": without})) == text.replace("cap_um = 130\n", "")


@pytest.mark.parametrize("path", sorted((ROOT / "demo_profiles").glob("*.toml")), ids=lambda path: path.stem)
def test_a_demo_profile_written_again_is_its_own_text(path):
    assert dumps(read_plan(path)) == path.read_text("utf-8")
