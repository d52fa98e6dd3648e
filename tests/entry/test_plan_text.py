"""The text of bare numbers in TOML: nothing else in a file changes."""

import tomllib

import pytest
from helpers import ROOT
from hypothesis import given
from hypothesis import strategies as st

from tissue.entry.plan_file import read_plan
from tissue.entry.plan_text import LOST, _texts_of_library, bare, changed_text, new_text, read_texts


def unmarked(value):
    """Marked numbers as the standard reader has them."""
    if isinstance(value, dict):
        return {key: unmarked(item) for key, item in value.items()}
    if isinstance(value, list):
        return [unmarked(item) for item in value]
    if bare(value) is None:
        return value
    number = bare(value)
    return int(number) if number.strip("+-").isdecimal() else float(number)


toml_keys = st.sampled_from(["a", "b-c", "sphere_D", '"q = 1"', "'r#'", "d . e", '"x\\"y"'])
toml_values = st.sampled_from(
    ["+4", "-4.75", "1_000", "0x1F", "1e5", "true", "[1, +2]", "1979-05-27", "07:32:00", "1979-05-27 07:32:00"]
    + [
        '"s = 4"',
        "'l = +4 # '",
        '"""m\n= 5 "" """',
        '"""q""""',
        "'''n = 6\n'''",
        "{k = +7, m = [1, {n = -2}]}",
        '"\\\\"',
    ]
)
toml_lines = st.tuples(toml_keys, toml_values, st.sampled_from(["", " # c = 4", ' # "', " # '''", '\n# """ = 5']))


@given(st.lists(toml_lines, max_size=6, unique_by=lambda line: line[0]))
def test_a_number_is_read_as_its_text_and_everything_else_as_the_standard_reader_has_it(rows):
    text = "".join(f"{key} = {value}{after}\n" for key, value, after in rows)
    assert unmarked(read_texts(text)) == tomllib.loads(text)


@given(st.lists(toml_lines, max_size=6, unique_by=lambda line: line[0]))
def test_a_text_with_its_own_values_stays_as_it_is(rows):
    text = "".join(f"{key} = {value}{after}\n" for key, value, after in rows)
    assert changed_text(text, tomllib.loads(text)) == text


def test_changed_values_are_there_and_comments_stay():
    text = "# first visit\nschema = 1\n\n[OD] # right\nzone_mm = 6.50 # as usual\ncap_um = 120\n"
    values = {"schema": 1, "OD": {"zone_mm": 6.5, "cap_um": 130, "flap_um": 100}, "OS": {"zone_mm": 6.25}}
    changed = changed_text(text, values)
    assert tomllib.loads(changed) == values
    assert "# first visit" in changed and "zone_mm = 6.50 # as usual" in changed and "[OD] # right" in changed
    assert tomllib.loads(changed_text("", values)) == tomllib.loads(new_text(values)) == values


@pytest.mark.parametrize(
    "text",
    [
        "OD = {sphere_D = +4, central_thickness_um = 548}",
        "OD = { central_thickness_um=548,sphere_D=+4 }",
        "OD.sphere_D = +4\nOD.central_thickness_um = 548",
        'OD . "sphere_D" = +4\nOD.central_thickness_um = 548',
        "[OD]\r\nsphere_D = +4\r\ncentral_thickness_um = 548\r\n",
        '[OD]\nthickness_method = "sphere_D = 4 # "\nsphere_D = +4\ncentral_thickness_um = 548',
        '[OD]\nthickness_method = "a \\" = 4"\nsphere_D = +4\ncentral_thickness_um = 548',
        '[OD]\nthickness_method = """x = 5 "" = 4"""\nsphere_D = +4 # "\ncentral_thickness_um = 548',
        "[OD]\nthickness_method = '''x = 5 ' = 4'''\nsphere_D = +4 # '\ncentral_thickness_um = 548",
        '[OD]\nthickness_method = """ends in a quote""""\nsphere_D = +4\ncentral_thickness_um = 548',
    ],
)
def test_signs_survive_every_way_toml_is_written(text):
    values = read_plan(f"schema = 1\n{text}".encode()).eyes["OD"]
    assert (values["sphere_D"], values["central_thickness_um"]) == (4.0, 548.0)


PLANS = [file.read_text("utf-8") for file in sorted(ROOT.glob("demo_profiles/*.toml"))]
ODD = (
    "+170 -4 0 -0 +0 1_0 +1_0 0x10 0o17 0b1 1e3 1E+3 +1e3 -1.5E-2 1_000.5 +1_0.5e1_0 6.50 +0.0 -0.0 -0e0 inf -inf "
    "+inf nan +nan -nan true 1979-05-27 07:32:00 07:32:00.9999999 1979-05-27T07:32:00Z 1979-05-27T07:32:00.5-08:00 [] "
    '{} [1,2.50] [[1.50],[2]] [{a=1.50},{b=+2}] [{a=1.50},3.5] {a=1.0,b={c=2.50}} {a.b=-3} \'+4\' "0x10" """+5\n1_0"""'
).split(" ")
KEYS = ["a", "b.c", "b.d", "OD.x"]
HEADS = ["[OD]", "[OS]", "[OD.map]", "[[OD.reading]]", "[[z]]", "[z.k]"]
odd_lines = st.one_of(
    st.sampled_from(HEADS),
    st.builds("{} = {}".format, st.sampled_from(KEYS), st.sampled_from(ODD)),
)


def in_full(value):
    """A value with its kind, its order and whether it is the text of a bare number."""
    if isinstance(value, dict):
        return [(key, in_full(item)) for key, item in value.items()]
    if isinstance(value, list):
        return [in_full(item) for item in value]
    return (bare(value), "bare") if bare(value) is not None else (str(value), type(value).__name__.lower())


@pytest.mark.parametrize("text", PLANS + [f"a = {value}\n" for value in ODD])
def test_both_readers_give_the_same_texts(text):
    """Source: the library that keeps every text; most plans are read without it."""
    assert in_full(read_texts(text)) == in_full(_texts_of_library(text))


@given(st.lists(odd_lines, max_size=8))
def test_both_readers_give_the_same_texts_of_any_plan(lines):
    text = "\n".join(lines)
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert in_full(read_texts(text)) == in_full(_texts_of_library(text))


def test_plans_as_people_write_them_are_read_without_the_library():
    assert PLANS and not any(LOST.search(text) for text in PLANS)
