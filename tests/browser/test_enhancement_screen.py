"""Enhancement in a real browser: the residual as people write it, ways with their figures, what a cap keeps open."""

import re

import pytest
from acts import demo, field, go, heads, idle, row
from playwright.sync_api import expect

from tissue.eye.refraction import Refraction
from tissue.report.measures import rounded
from tissue.routes.enhancement import enhancement

WAYS = ".st-key-chart-enhance_ways0 .plot"
CAPS = ".st-key-chart-enhance_caps .plot"


@pytest.fixture
def later(page):
    """The screen, drawn."""
    return opened(page)


def opened(page):
    go(page, "Enhancement")
    if not page.locator("form.own [name=residual]").input_value():
        page.get_by_text("Type what is left: no figures until then.").wait_for()
        residual(page, "-0.75 -0.25 x 90")
    page.wait_for_selector(f"{WAYS}[data-drawn]", timeout=60000)
    page.get_by_text("What was assumed").wait_for()
    return page


def residual(page, text):
    """Type a residual refraction."""
    box = page.locator("form.own [name=residual]")
    box.fill(text)
    box.press("Enter")


def test_the_figures_are_those_of_the_arithmetic(later):
    """Source: the ways of the same eye worked out without the screen; vertex 12 mm."""
    routes = enhancement(demo(), Refraction(-0.75, -0.25, 90.0)).routes
    assert heads(later) == [route.way.name for route in routes]
    assert row(later, "Residual bed (RSB), centre") == [rounded(r.bed_central_um) for r in routes]
    assert row(later, "Residual bed, least") == [rounded(r.bed_min_um) for r in routes]
    assert row(later, "Tissue altered, PTA") == [rounded(r.altered_percent, 1) for r in routes]
    assert row(later, "Clearance to the old cut") == [rounded(r.clearance.value) for r in routes]
    assert "28 µm are missing" in later.locator("table.ways tr.said", has_text="Why not").inner_text()


SPELLINGS = (
    ("−1,25 −0,50 × 10°", "−1.25 −0.50 × 10"),
    ("-1.75 +0.50 x 100", "−1.25 −0.50 × 10"),
    ("+0.50 DS", "+0.50"),
    ("pl -0.75 @ 5", "0.00 −0.75 × 5"),
)


def test_the_residual_is_read_as_people_write_it(later):
    """Source: the spellings of the plan file; what was read is echoed."""
    for text, read in SPELLINGS:
        residual(later, text)
        expect(later.locator(".notes", has_text="Read:").first).to_contain_text(f"Read: {read}", timeout=20000)


def test_a_wrong_residual_is_told_beside_it_and_the_figures_stay(later):
    before = row(later, "Residual bed (RSB), centre")
    residual(later, "0.75")
    fault = later.locator("#residual_fields-fault-residual")
    expect(fault).to_contain_text("read 0.75, accepted", timeout=20000)
    assert later.locator("form.own [name=residual]").get_attribute("aria-invalid") == "true"
    expect(
        later.locator(".stale", has_text="Residual refraction -0.75 -0.25 x 90 is used: the field holds 0.75")
    ).to_be_visible()
    assert row(later, "Residual bed (RSB), centre") == before


def test_the_residual_outlives_a_change_of_screen(later):
    residual(later, "-1.25")
    expect(later.locator(".notes", has_text="Read: −1.25")).to_be_visible(timeout=20000)
    idle(later)
    before = row(later, "Residual bed (RSB), centre")
    go(later, "Plan")
    later.wait_for_selector("table.heads:not(.ways)")
    opened(later)
    expect(later.locator("form.own [name=residual]")).to_have_value("-1.25")
    assert row(later, "Residual bed (RSB), centre") == before


def test_a_thicker_cap_opens_the_thin_flap_and_costs_its_bed(later):
    """Source: C: 30 µm more cap leave 30 µm less bed; the thin flap needs 148 µm here and then has its bed."""
    before = row(later, "Residual bed (RSB), centre")
    assert before[1] == "–"
    field(later, "cap_um").fill("150")
    expect(
        later.locator("table.ways tr", has_text="Residual bed (RSB), centre").locator(".value").nth(1)
    ).not_to_have_text("–", timeout=20000)
    after = row(later, "Residual bed (RSB), centre")
    assert after[1] == after[0] and int(before[0]) - int(after[0]) == 30
    expect(later.locator(CAPS)).to_have_attribute("aria-label", re.compile("The plan's cap is 150"), timeout=20000)


def test_the_reserve_is_the_bed_of_plan_less_the_line(later):
    """Source: reserve = bed − line, 250 µm, within the rounding of both."""
    rows = later.locator("table.plain", has_text="Bed over the line").locator("tbody tr").all_inner_texts()
    reserve = [int(line.split("\t")[1]) for line in rows]
    beds = [float(r.budget.bed_central_um) for r in demo().results.values()]
    assert reserve == [int(rounded(bed - 250.0)) for bed in beds]


def test_nothing_to_treat_is_said(later):
    residual(later, "plano")
    why = later.locator("table.ways tr.said", has_text="Why not").locator("td")
    expect(why).to_have_text(["There is nothing to treat."] * 4, timeout=20000)
    expect(later.get_by_text("Nothing is to be treated, so no thin flap is asked for.")).to_be_visible()


def test_a_first_act_without_figures_says_why(later):
    field(later, "central_thickness_um").fill("330")
    field(later, "thinnest_um").fill("326")
    field(later, "refraction").fill("-14.00 -1.00 x 10")
    expect(later.get_by_text("The primary treatment, lenticule extraction, has no figures")).to_be_visible(
        timeout=20000
    )
    assert later.locator("[data-testid=stException]").count() == 0
