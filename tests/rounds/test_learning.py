"""The record of learning: kinds come back at growing distances, the file says what is due and reads back the same.

Sources: learn.md's distances of 1, 3, 7 and 14 days since the last right answer; the calendar.
"""

import json
from datetime import date, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tissue.ground.errors import EyeError
from tissue.rounds.learning import Known, Record, read_record, record_json
from tissue.rounds.question import kinds

FIRST = date(2026, 11, 29)
KIND = "bed"


def day(n):
    return FIRST + timedelta(days=n)


def of(*answers):
    """The Known of one kind after (day, right) of each answer."""
    return Record().after((KIND, right, day(n)) for n, right in answers).kinds[KIND]


def test_a_kind_comes_back_after_1_3_7_and_14_days():
    """Each time it is answered rightly on the day it is due: 1 + 3 + 7 + 14 + 14 days in all."""
    at, found = 0, []
    answers = []
    for _ in range(5):
        answers.append((at, True))
        due = (of(*answers).due - FIRST).days
        found.append(due - at)
        at = due
    assert found == [1, 3, 7, 14, 14]


def test_a_wrong_answer_brings_it_back_at_once_and_to_the_first_distance():
    assert of((0, True), (1, True), (4, False)).due == day(4)
    assert of((0, True), (1, True), (4, False), (4, True)).due == day(5)


def test_many_right_answers_of_one_day_climb_one_distance():
    assert of((0, True), (0, True), (0, True)).due == day(1)
    early = of((0, True), (1, True), (2, True))  # due on day 4, answered on day 2: 3 days since the last right one
    assert early.due == day(5) and early.step == 2


def test_what_is_due_is_named_the_longest_first():
    record = Record().after(
        [
            ("bed", True, day(0)),
            ("thumb", False, day(0)),
            ("vertex", True, day(2)),
            ("of another version", False, day(0)),
        ]
    )
    assert record.due(day(0)) == ("thumb",)
    assert record.due(day(1)) == ("thumb", "bed")
    assert record.due(day(3)) == ("thumb", "bed", "vertex")


answered = st.lists(
    st.tuples(st.sampled_from([*kinds(), "of another version"]), st.booleans(), st.integers(0, 60)), max_size=40
)


@example([("of another version", True, 60)])
@given(answered)
def test_a_file_reads_back_the_same(answers):
    """Also a kind that this version does not know: nothing is lost."""
    record = Record().after((kind, right, day(n)) for kind, right, n in sorted(answers, key=lambda one: one[2]))
    content = record_json(record, day(60))
    again = read_record(content)
    assert record_json(again, day(60)) == content
    table = json.loads(content)
    for kind, row in table["kinds"].items():
        mine = [(right, n) for one, right, n in answers if one == kind]
        assert (row["asked"], row["right"]) == (len(mine), sum(right for right, _ in mine))
        assert (kind in table["due_now"]) == (kind in kinds() and row["due"] <= day(60).isoformat())


@given(answered)
def test_no_answer_is_forgotten_between_two_sittings(answers):
    """Answers read in two files, one after another, are those of one."""
    ordered = sorted(((kind, right, day(n)) for kind, right, n in answers), key=lambda one: one[2])
    half = len(ordered) // 2
    first = read_record(record_json(Record().after(ordered[:half]), day(30)))
    assert record_json(first.after(ordered[half:]), day(60)) == record_json(Record().after(ordered), day(60))


GOOD = json.loads(record_json(Record().after([(KIND, True, FIRST)]), FIRST))


def changed(**values):
    """The good file with other values in the row of its kind."""
    return json.dumps(GOOD | {"kinds": {KIND: GOOD["kinds"][KIND] | values}}).encode()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no JSON"),
        (b"[1, 2]", "what"),
        (b"\xff\xfe", "no JSON"),
        (b"[" * 100_000, "no JSON"),
        (b" " * 300_000, "bytes"),
        (b'{"what": "something else"}', "what"),
        (json.dumps(GOOD | {"schema": 2}).encode(), "schema: read 2; accepted 1"),
        (json.dumps(GOOD | {"kinds": []}).encode(), "kinds"),
        (json.dumps(GOOD | {"kinds": {KIND: 3}}).encode(), "kinds.bed: read 3"),
        (b'{"what": 1, "what": 2}', "each name once"),
        (changed(asked=0), "kinds.bed.asked: read 0"),
        (changed(asked=True), "kinds.bed.asked: read True"),
        (changed(right=2), "kinds.bed.right: read 2; accepted a whole number, 0 to 1"),
        (changed(step=5), "kinds.bed.step"),
        (changed(last_asked="yesterday"), "kinds.bed.last_asked: read yesterday; accepted a day"),
        (changed(last_right="2027-01-01"), "kinds.bed.last_right"),
        (changed(due="2026-12-24"), "kinds.bed.due: read 2026-12-24; accepted 2026-11-30"),
    ],
)
def test_a_wrong_file_is_refused_by_name(content, words):
    with pytest.raises(EyeError) as told:
        read_record(content)
    assert words in str(told.value)


def test_a_new_kind_is_not_due():
    assert Record().due(FIRST) == () and Known().after(False, FIRST).due == FIRST


def test_a_number_of_thousands_of_digits_is_refused_as_a_file():
    """Python reads no whole number of over 4300 digits, and says so in an error of its own."""
    with pytest.raises(EyeError, match="file"):
        read_record(b'{"what": ' + b"9" * 5000 + b"}")
