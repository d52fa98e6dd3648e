"""One function rounds: text, chart, print and screen write the same whole number; a second rounding is found.

Source: a rule of the project; a least amount is rounded up, a most amount down, so that what is written holds.
"""

import ast
import re

import pytest
from helpers import ROOT
from hypothesis import given
from hypothesis import strategies as st

from tissue import CapCut, Cornea, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.base.words import whole
from tissue.drawing.charts.sweeps import cap_lines, describe_cap_lines
from tissue.ground.vocabulary import least_written, most_written, rounded, signed
from tissue.report.routes_terminal import cap_trade
from tissue.routes.enhancement import enhancement
from tissue.screens.pages.enhancement import caps

ROUNDS = ("ceil", "floor", "rint", "trunc", "round")
WRITES = ("whole", "rounded")
ALLOWED = {
    "entry/own_map/written.py": "a place in a refusal, to the digits that tell it from another",
    "drawing/base/palette.py": "a channel of a colour",
    "drawing/charts/stress.py": "the place of a value in a list",
    "entry/notation.py": "a power to its last digit before its sign is written, and an axis of 0 as 180",
    "rounds/cases.py": "a number of a question, which is written as it is given",
    "screens/pages/alignment.py": "a power to its last digit before its sign is written",
    "routes/cutting.py": "a share that is never written as more than was done",
}
SIGNED = {  # where a figure gets its sign by a format, which would write a small one as −0.0
    "entry/notation.py": "a power, its zero written without a sign",
    "entry/fields.py": "a zero is asked for first",
    "entry/letter/found.py": "a zero is asked for first",
    "entry/letter/values/powers.py": "as read, in steps",
    "entry/plan_file.py": "read back, and compared",
    "ground/sources.py": "a printed power",
    "rounds/about/published.py": "a printed power",
    "screens/evidence/figures.py": "a printed power",
    "report/letter_terminal.py": "a power as read, a zero asked for first",
    "screens/desk/reading.py": "a power, its zero written without a sign",
    "screens/pages/alignment.py": "a power to its last digit before its sign is written",
    "screens/pages/day_list.py": "all digits",
    "drawing/front/alignment.py": "all digits",
    "budget/notices.py": "all digits",
    "screens/plan/moved.py": "the difference of two figures that differ as written",
    "series/demo.py": "made up, its zero without a sign",
    "series/own/demo.py": "made up, for a table to be read",
}


def second_roundings(text):
    """Lines in which a figure is rounded while it is written, or before it is given to what rounds it."""
    found = []
    for node in ast.walk(ast.parse(text)):
        writes = isinstance(node, ast.Call) and getattr(node.func, "id", "") in WRITES
        if isinstance(node, ast.FormattedValue) or writes:
            calls = [one.func for one in ast.walk(node) if isinstance(one, ast.Call)]
            if any((getattr(one, "attr", "") or getattr(one, "id", "")) in ROUNDS for one in calls):
                found.append(node.lineno)
    return found


def signs_by_format(text):
    """Lines in which a figure gets its sign by a format."""
    parts = [one for one in ast.walk(ast.parse(text)) if isinstance(one, ast.FormattedValue) and one.format_spec]
    return [one.lineno for one in parts if ast.unparse(one.format_spec)[2:3] == "+"]


def in_every_file(finder):
    """By file, the lines that a finder names; but for the file where the figures are written."""
    files = [path for path in (ROOT / "tissue").rglob("*.py") if path.name != "vocabulary.py"]
    found = {str(path.relative_to(ROOT / "tissue")): finder(path.read_text(encoding="utf-8")) for path in files}
    return {name: lines for name, lines in found.items() if lines}


def test_the_finder_finds():
    assert signs_by_format("x = f'{a:+.1f} {b:+g}'") == [1, 1] and not signs_by_format("x = f'{a:.1f}+ {b}'")
    assert second_roundings("x = f'{np.ceil(a):.0f}'") == [1]
    assert second_roundings("x = whole(np.floor(a - 1e-9))") == [1]
    assert second_roundings("x = f'{round(a, 3):.2f}'") == [1]
    assert not second_roundings("x = f'{least_written(a)} {a:.0f} {rounded(a, 2)}'")


def test_nothing_rounds_twice():
    offends = in_every_file(second_roundings)
    assert set(offends) == set(ALLOWED), offends


def test_no_figure_gets_its_sign_by_a_format():
    offends = in_every_file(signs_by_format)
    assert set(offends) == set(SIGNED), offends


@given(st.floats(-2.0, 2.0), st.integers(0, 3))
def test_a_zero_has_no_sign(value, decimals):
    for text in (rounded(value, decimals), signed(value, decimals)):
        assert float(text.replace("−", "-")) or not set(text) & {"+", "−"}


@given(st.floats(-1e4, 1e4))
def test_whole_numbers_are_written_alike(value):
    assert whole(value) == rounded(value) == f"{value:z.0f}".replace("-", "−")
    below, above = (float(one(value).replace("−", "-")) for one in (most_written, least_written))
    assert below - 1e-5 <= value <= above + 1e-5 and above - below <= 1.0


@pytest.mark.parametrize("cap_um", [120.0, 120.4, 135.5, 160.0])
@pytest.mark.parametrize("residual", [-0.5, -0.75, -1.25, 0.75])
def test_the_cap_that_is_needed_is_one_number(cap_um, residual):
    plan = compare(Cornea(548.0, 543.0, -0.6, -0.5), Treatment(Refraction(-6.0)), cap=CapCut(cap_um))
    found = enhancement(plan, Refraction(residual))
    told = re.search(r"needs a cap of (\d+) µm", cap_trade(plan, found)).group(1)
    assert told == least_written(found.cap_needed_um)
    why = [route.why_not for route in found.routes if "it needs a cap of" in route.why_not]
    assert all(f"it needs a cap of {told} µm" in words for words in why)
    assert bool(why) == bool(found.cap_needed_um > cap_um)
    trade = caps(plan, found)
    assert f"a thin flap has room from {told}" in describe_cap_lines(trade)
    if trade.cap_um[0] <= found.cap_needed_um <= trade.cap_um[-1]:
        notes = cap_lines(trade, look("light"), 900)["layout"]["annotations"]
        assert any(f"fits from <b>{told}</b>" in note["text"] for note in notes)
