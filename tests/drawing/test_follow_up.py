"""Pictures of a follow-up: places, numbers and words are those of the arithmetic."""

import numpy as np
import pytest

from tissue import Cornea, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.charts.follow_up import (
    StripRow,
    account_figure,
    bed_figure,
    describe_account,
    describe_bed,
    describe_strips,
    strips_figure,
)
from tissue.eye.reading import Reading
from tissue.followup.follow import bed_planned, bed_today, follow
from tissue.followup.strips import strips

READINGS = (
    Reading(30, "oct", thickness_um=462.0, SE_D=-0.25),
    Reading(200, "oct", thickness_um=300.0, bed_um=331.0, K_D=39.0),
)
LIGHT = look("light")


@pytest.fixture(scope="module")
def found():
    return follow(compare(Cornea(548.0), Treatment(Refraction(-5.0))), "lenticule", READINGS, "oct")


@pytest.fixture(scope="module")
def rows(found):
    return [
        StripRow(reading, name, getattr(reading, name), one)
        for reading, laid in zip(found.readings, strips(found), strict=True)
        for name, one in laid.items()
    ]


def said(figure):
    return [note["text"] for note in figure["layout"]["annotations"]]


def diamonds(figure):
    return [(trace["x"][0], trace["y"][0]) for trace in figure["data"] if trace.get("mode") == "markers"]


def test_every_reading_stands_at_its_place_on_its_strip(rows):
    """The diamond lies as many SD from the mean as the reading; one far outside at the edge of the picture."""
    where = [x for x, _ in diamonds(strips_figure(rows, LIGHT, 1000))]
    for x, row in zip(where, rows, strict=True):
        sd = np.hypot(row.strip.between_sd, row.strip.eye_sd)
        assert x == pytest.approx(np.clip((row.value - row.strip.expected) / sd, -3.4, 3.4), abs=1e-3)
    assert min(where) == -3.4


def test_rows_do_not_lie_over_each_other(rows):
    ys = [y for _, y in diamonds(strips_figure(rows, LIGHT, 1000))]
    assert all(b - a >= 1.0 for a, b in zip(ys, ys[1:], strict=False))


def test_the_words_hold_the_numbers(rows):
    texts = said(strips_figure(rows, LIGHT, 1000))
    assert "thickness <b>462</b> µm" in texts and "spherical equivalent <b>−0.25</b> D" in texts
    assert sum(text.startswith("Day ") for text in texts) == 2
    assert any(text.endswith("130 eyes, 2 series") for text in texts)
    narrow = said(strips_figure(rows, LIGHT, 500))
    assert not any("series" in text for text in narrow)
    told = describe_strips(rows)
    assert all(f"{row.strip.expected:.0f}" in told for row in rows if row.name.endswith("_um"))


def test_a_reading_without_published_rows_says_so(found):
    row = StripRow(found.readings[0], "SE_D", 0.5, None)
    assert "no published rows" in said(strips_figure([row], LIGHT, 900)) and "no published rows" in describe_strips(
        [row]
    )


def test_the_account_is_a_chain_of_dimension_lines(found):
    """Each part begins where the one before ends, and the last one ends where the measured one does."""
    ledger = found.ledgers[0]
    figure = account_figure(found.readings[0], ledger, LIGHT, 500)
    x = [value for value in figure["data"][1]["x"] if value is not None]
    spans = [(x[i], x[i + 1]) for i in range(0, len(x), 6)]
    assert spans[0] == (0.0, pytest.approx(float(ledger.planned_um), abs=1e-3))
    for one, other in zip(spans[:4], spans[1:5], strict=True):
        assert other[0] == pytest.approx(one[1], abs=1e-3)
    assert spans[4][1] == pytest.approx(spans[5][1], abs=1e-3) == pytest.approx(548.0 - 462.0, abs=1e-3)
    assert "= measured <b>86</b>" in said(figure) and "measured 86" in describe_account(found.readings[0], ledger)


def test_the_bed_stands_beside_the_users_line(found):
    before, today = bed_planned(found), bed_today(found)
    figure = bed_figure(before, today, 250.0, LIGHT, 900)
    assert [x for x, _ in diamonds(figure)] == pytest.approx([before.mean_um, today.mean_um], abs=1e-3)
    assert figure["data"][0]["x"][0] == 250.0 and "your line 250" in said(figure)
    assert f"today {today.mean_um:.0f}" in describe_bed(before, today, 250.0)
