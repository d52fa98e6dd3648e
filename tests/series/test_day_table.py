"""A table of the day: a plan a patient, refused whole with the line of each fault.

Source: rule of the desk: the list takes a series table of the day; columns and spellings are those of a series.
"""

import csv
import io

import pytest

from tissue.screens.desk.plan import Desk, demo_files, open_demo
from tissue.screens.desk.state import Day
from tissue.series.tables.day import MOST_EYES, day_plans
from tissue.series.wrong import TableError

MAPPED = ("harbour-09_own_map", "harbour-10_thinner_below_centre")
HEAD = "patient,side,refraction,central_thickness_um,zone_mm\n"


def plans(text):
    return {plan.code: plan for plan in day_plans(text.encode(), "day.csv")[0]}


def faults(text):
    with pytest.raises(TableError) as told:
        day_plans(text.encode(), "day.csv")
    return told.value.lines


def test_a_row_an_eye_and_a_plan_a_patient():
    found = plans(HEAD + "b,OD,-4.50 -0.75 x 12,548,6.5\na,os,+2.00,531,\nb,OS,-4.25,551,6.3\n")
    assert list(found) == ["b", "a"] and list(found["b"].eyes) == ["OD", "OS"] and list(found["a"].eyes) == ["OS"]
    right = found["b"].eyes["OD"]
    assert (right["sphere_D"], right["cylinder_D"], right["axis_deg"]) == (-4.5, -0.75, 12.0)
    assert found["a"].typed["OS"] == {"refraction": "+2.00", "central_thickness_um": "531"}


def test_semicolons_and_decimal_commas_as_a_spreadsheet_writes_them():
    found = plans("patient;side;sphere_D;central_thickness_um;zone_mm\nkö-1;OD;-4,50;548;6,5\n")
    eye = found["kö-1"].eyes["OD"]
    assert (eye["sphere_D"], eye["zone_mm"]) == (-4.5, 6.5)


def test_the_day_as_csv_is_opened_again(monkeypatch):
    """Every input of every demo eye comes back as it was; its figures are worked out anew."""
    from tissue.screens.pages import day_list

    names = [name for name in demo_files() if name not in MAPPED]
    desks = [Desk() for _ in names]
    for desk, name in zip(desks, names, strict=True):
        open_demo(desk, name)
    monkeypatch.setattr(day_list, "day", lambda: Day.of(*desks))
    found = {plan.code: plan for plan in day_plans(day_list.csv_file(None)[2], "day.csv")[0]}
    assert list(found) == [desk.code for desk in desks]
    for desk in desks:
        for side in desk.texts:
            read = {name: one for name, one in found[desk.code].eyes[side].items() if one is not None}
            assert read == desk.read(side)[0], (desk.code, side)


def test_an_eye_with_a_map_has_no_figures_in_the_day_as_csv(monkeypatch):
    """Source: a table has no room for a map, and the figures without it are those of another eye."""
    from tissue.screens.pages import day_list

    desks = Desk(), Desk()
    open_demo(desks[0], MAPPED[0])
    open_demo(desks[1], "harbour-03_moderate_myopia")
    monkeypatch.setattr(day_list, "day", lambda: Day.of(*desks))
    made = day_list.csv_file(None)[2]
    rows = list(csv.DictReader(io.StringIO(made.decode())))
    mapped = [
        row for row in rows if row["patient"] == desks[0].code and row["central_thickness_um"] == "a measured map"
    ]
    assert mapped and all(row["status"] == "refused" and not row["flap_bed_min_um"] for row in mapped)
    assert all("read a measured map" in row["reason"] for row in mapped)
    assert {row["status"] for row in rows if row["patient"] == desks[1].code} == {"ok"}
    plans, left_out = day_plans(made, "day.csv")
    assert desks[1].code in [plan.code for plan in plans]
    assert (
        len(left_out) == len(mapped)
        and left_out[0] == "day.csv: line 2: harbour-09 OD has a measured map: open its plan file"
    )


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (HEAD + "a,OD,-4.50,5480,6.5\n", "day.csv: line 2: central_thickness_um: read 5480, accepted 300 to 900 µm"),
        (HEAD + "a,OD,-4.50,548,6.5\na,OD,-4.25,548,6.5\n", "day.csv: line 3: side: read OD of a twice"),
        (HEAD + ",OD,-4.50,548,6.5\n", "day.csv: line 2: patient: read nothing, accepted a code"),
        (HEAD + "a,,-4.50,548,6.5\n", "day.csv: line 2: side: read nothing, accepted OD or OS"),
        (HEAD + "a,OD,-4.50,548\n", "day.csv: line 2: row: read 4 cells, accepted 5"),
        (HEAD + 'a,"OD,-4.50,548,6.5\na,OS,-4.50,548,6.5\n', "day.csv: line 2: read a quote that is never closed"),
        ("side,sphere_D\nOD,-4.50\n", "day.csv: header: read no column patient, accepted both"),
        ("patient,side,sphre_D\na,OD,-4.50\n", "day.csv: header: read sphre_D, accepted sphere_D"),
        ("", "day.csv: file: read nothing, accepted a table with a header"),
        (HEAD + "a\u202eb,OD,-4.50,548,6.5\n", "day.csv, patient"),
        (HEAD + "a,OD,4.50,548,6.5\n", "day.csv: line 2: refraction: read 4.50"),
    ],
)
def test_what_cannot_be_read_is_named_by_its_line(text, line):
    assert faults(text)[0].startswith(line), faults(text)


def test_more_eyes_than_a_day_has_are_refused():
    rows = "".join(f"p{i},OD,-4.50,548,6.5\n" for i in range(MOST_EYES + 1))
    assert faults(HEAD + rows) == [f"day.csv: read {MOST_EYES + 1} rows, accepted up to {MOST_EYES} eyes"]
