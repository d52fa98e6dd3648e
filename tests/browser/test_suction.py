"""Suction loss in a real browser: the moment by keyboard and as typed, rescue options with their figures, the page."""

import pytest
from acts import choose, demo, field, go, heads, idle, row
from playwright.sync_api import expect

from tissue.ground.vocabulary import STAGES
from tissue.report.measures import rounded
from tissue.routes.cutting import clock_of, done_percent
from tissue.routes.rescue import rescue
from tissue.routes.ways import ANOTHER_DAY

CLOCK = ".st-key-chart-suction_clock .plot"
WAYS = ".st-key-chart-suction_ways0 .plot"
TYPED = "A stage and a percentage"


@pytest.fixture
def suction(page):
    """The screen, drawn."""
    return opened(page)


def opened(page):
    go(page, "Suction loss")
    page.wait_for_selector(f"{WAYS}[data-drawn]", timeout=60000)
    page.get_by_text("The page that lies ready").wait_for()
    return page


def typed(page, stage, done):
    """Choose a stage and type a percentage."""
    choose(page, TYPED)
    page.locator("form.own [name=suction_stage]").select_option(stage)
    box = page.locator("form.own [name=suction_done]")
    box.fill(done)
    box.press("Enter")


def test_the_figures_are_those_of_the_arithmetic(suction):
    """Source: the rescue options of the same eye worked out without the screen."""
    plan = demo()
    stage, done = clock_of(plan).moment(4.5)
    routes = rescue(plan, STAGES[int(stage)], float(done)).routes
    assert heads(suction) == [route.way.name for route in routes]
    assert row(suction, "Residual bed (RSB), centre") == [rounded(r.bed_central_um) for r in routes]
    assert row(suction, "Residual bed, least") == [rounded(r.bed_min_um) for r in routes]
    assert row(suction, "Relative strength") == [rounded(r.strength_percent["reinstein2013"], 1) for r in routes]
    assert row(suction, "Clearance to the old cut") == [rounded(r.clearance.value) for r in routes]
    label = suction.locator(WAYS).get_attribute("aria-label")
    assert all(f"bed {rounded(r.bed_central_um)}" in label for r in routes)


def test_the_clock_moves_by_keyboard(suction):
    slider = suction.get_by_role("slider").first
    slider.focus()
    suction.keyboard.press("ArrowRight")
    suction.wait_for_function(f"document.querySelector('{CLOCK}').ariaLabel.includes('The moment is 4.6 s')")
    done = done_percent(clock_of(demo()).moment(4.6)[1])
    expect(suction.get_by_text(f"In the lenticule cut, outside in, {done} % of it done")).to_be_visible()


WAYS_OF = (
    ("lenticule", "9.9", ["Same plan again"]),
    ("lenticule", "10", ["Flap", "Thinner cap", "Thicker cap"]),
    ("lenticule-side", "50", ["Side cut again"]),
    ("cap", "0", ["Cap cut again", "Cap as a flap"]),
    ("cap", "30", ["Cap cut again", "Cap as a flap", "Flap"]),
    ("incision", "50", ["Incision again", "Open by hand", "Cap as a flap", "Flap"]),
)


def test_every_stage_has_its_ways_and_the_other_day_above_them(suction):
    """Source: J Refract Surg 2020;36:308 (the limit of 10 %), Acta Ophthalmol 2020 (the flap after a cap cut)."""
    for stage, done, ways in WAYS_OF:
        typed(suction, stage, done)
        expect(suction.locator("table.heads.ways th")).to_have_text(ways, timeout=20000)
        idle(suction)
        above = suction.get_by_text(ANOTHER_DAY).bounding_box()
        assert above["y"] < suction.locator("table.heads.ways").first.bounding_box()["y"]
        described = suction.locator("table.ways tr.said", has_text="Described in").locator("td").all_inner_texts()
        assert len([text for text in described if text]) == len(ways)
        expect(suction.get_by_text("The surgeon's own protocol decides.")).to_be_visible()


def test_a_wrong_percentage_is_told_beside_it_and_the_figures_stay(suction):
    typed(suction, "lenticule", "60")
    expect(suction.get_by_text("In the lenticule cut, outside in, 60 % of it done")).to_be_visible(timeout=20000)
    idle(suction)
    before = row(suction, "Clearance to the old cut")
    typed(suction, "lenticule", "140")
    expect(suction.locator("#suction_fields-fault-suction_done")).to_have_text(
        "read 140, accepted 0 to 1, or 2 to 100 %", timeout=20000
    )
    assert suction.locator("form.own [name=suction_done]").get_attribute("aria-invalid") == "true"
    expect(suction.locator(".stale", has_text="0.6 is used: the field holds 140")).to_be_visible()
    idle(suction)
    assert row(suction, "Clearance to the old cut") == before


def test_the_moment_outlives_a_change_of_screen(suction):
    typed(suction, "cap", "30")
    expect(suction.locator("table.heads.ways th")).to_have_text(
        ["Cap cut again", "Cap as a flap", "Flap"], timeout=20000
    )
    go(suction, "Plan")
    suction.wait_for_selector("table.figures")
    opened(suction)
    expect(suction.locator("table.heads.ways th")).to_have_text(["Cap cut again", "Cap as a flap", "Flap"])
    expect(suction.locator("form.own [name=suction_done]")).to_have_value("30")


def test_the_total_of_the_clock_is_an_input(suction):
    suction.locator("[data-testid=stSidebar] summary", has_text="More: limits and assumptions").click()
    field(suction, "clock_s").fill("12")
    suction.wait_for_function(f"document.querySelector('{CLOCK}').ariaLabel.includes('incision to 12.0 s')")
    expect(suction.get_by_text("Seconds since the first cut began, of 12 in all")).to_be_visible()
    field(suction, "cut_order").select_option("cap-first")
    suction.wait_for_function(f"document.querySelector('{CLOCK}').ariaLabel.includes('in their order: cap cut')")
    expect(suction.get_by_role("heading", name="as the geometry leaves them: nobody")).to_be_visible()
    expect(suction.get_by_text("No published source says what is usual").first).to_be_visible()


def test_the_refraction_leaves_the_clock_alone(suction):
    """Source: common practice: the lasing time does not depend on the refraction; blend and base held."""
    for more, name, value in (
        ("More: treatment", "lenticule_blend_mm", "0.1"),
        ("More: extraction", "base_um", "20"),
    ):
        suction.locator("[data-testid=stSidebar] summary", has_text=more).click()
        field(suction, name).fill(value)
        suction.wait_for_timeout(1200)
    before = suction.locator(CLOCK).get_attribute("aria-label")
    field(suction, "sphere_D").fill("-2.50")
    expect(suction.locator(".eye b").first).to_have_text("−2.50 −1.25 × 170", timeout=20000)
    suction.wait_for_timeout(1000)
    assert suction.locator(CLOCK).get_attribute("aria-label") == before


def test_the_other_eye_has_its_own_ways(suction):
    suction.get_by_role("radio", name="OS (left)", exact=True).click()
    expect(suction.locator(".eye h1")).to_have_text("OS (left eye)", timeout=20000)
    plan = demo("OS")
    stage, done = clock_of(plan).moment(4.5)
    routes = rescue(plan, STAGES[int(stage)], float(done)).routes
    expect(suction.locator("table.ways tr", has_text="Residual bed, least").locator(".value")).to_have_text(
        [rounded(r.bed_min_um) for r in routes]
    )


def test_the_page_of_both_eyes_is_saved(suction, tmp_path):
    assert "both eyes" in suction.locator("[data-testid=stMain]").inner_text()
    with suction.expect_download() as saving:
        suction.get_by_role("button", name="Page for print").click()
    saving.value.save_as(tmp_path / "page.pdf")
    assert saving.value.suggested_filename.endswith("if-suction-is-lost.pdf")
    assert (tmp_path / "page.pdf").read_bytes().startswith(b"%PDF")


def test_an_eye_without_an_extraction_says_why(suction):
    field(suction, "central_thickness_um").fill("330")
    field(suction, "thinnest_um").fill("326")
    field(suction, "refraction").fill("-14.00 -1.00 x 10")
    said = suction.get_by_text("Nothing is cut in this eye, so no suction can be lost")
    expect(said).to_contain_text("no bed is left at the thinnest place", timeout=20000)
    assert suction.locator("[data-testid=stException]").count() == 0


def test_a_wrong_field_of_the_plan_leaves_the_figures_and_takes_the_page(suction):
    before = row(suction, "Residual bed, least")
    field(suction, "zone_mm").fill("65")
    expect(suction.locator(".stale", has_text="Optical zone 6.5 mm is used")).to_be_visible(timeout=20000)
    assert row(suction, "Residual bed, least") == before
    suction.get_by_role("button", name="Page for print").click()
    expect(suction.get_by_text("Not made, for a field cannot be read")).to_be_visible(timeout=20000)
