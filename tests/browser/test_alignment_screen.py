"""The Alignment screen in a real browser: places move the plan, a rotation is a question, wrong values are told."""

import re

import pytest
from acts import field, go
from playwright.sync_api import expect

VIEW = ".st-key-align_view .plot[data-drawn]"


def place(page, name):
    """A field of the screen itself, not of the sidebar."""
    return page.locator(f"form.places [name={name}]")


@pytest.fixture
def alignment(page):
    """The Alignment screen, drawn."""
    return opened(page)


def opened(page):
    go(page, "Alignment")
    page.wait_for_selector(VIEW, timeout=60000)
    expect(place(page, "centre_x_mm")).to_be_visible()
    return page


def test_a_place_typed_here_moves_the_plan_on_every_screen(alignment):
    """Source: rule of the screens: what is changed here changes the plan and outlives a change of screen."""
    place(alignment, "centre_x_mm").fill("0.5")
    expect(alignment.locator(".notes", has_text="Treatment centre 0.5 mm nasal").first).to_be_visible(timeout=20000)
    expect(alignment.locator("table.plain", has_text="5.5 (6.5)")).to_be_visible()
    sidebar = alignment.locator("[data-testid=stSidebar] [name=centre_x_mm]")
    expect(sidebar).to_have_value("0.5")
    assert "harbour-03-copy" in alignment.locator(".plan-name").inner_text()
    go(alignment, "Plan")
    alignment.wait_for_selector("table.figures", timeout=60000)
    expect(field(alignment, "centre_x_mm")).to_have_value("0.5")
    go(alignment, "Alignment")
    expect(place(alignment, "centre_x_mm")).to_have_value("0.5", timeout=20000)


def test_arrow_keys_step_a_place_and_typing_fast_keeps_every_key(alignment):
    box = place(alignment, "pupil_x_mm")
    box.press("ArrowUp")
    expect(alignment.locator("[data-testid=stSidebar] [name=pupil_x_mm]")).to_have_value("0.1", timeout=20000)
    box.fill("")
    box.press_sequentially("-0.35", delay=15)
    expect(alignment.locator("[data-testid=stSidebar] [name=pupil_x_mm]")).to_have_value("-0.35", timeout=20000)
    expect(box).to_have_value("-0.35")


def test_the_left_eye_is_mirrored(alignment):
    """Source: nasal is the viewer's left in a left eye."""
    alignment.get_by_role("radio", name="OS (left)", exact=True).click()
    expect(alignment.locator(".eye h1")).to_have_text("OS (left eye)", timeout=20000)
    place(alignment, "pupil_x_mm").fill("0.3")
    expect(alignment.locator(".notes", has_text="pupil's centre 0.3 mm temporal").first).to_be_visible(timeout=20000)
    expect(alignment.locator(VIEW)).to_have_attribute(
        "aria-label", re.compile("Pupil's centre 0.3 mm temporal"), timeout=20000
    )


def test_a_rotation_turns_the_axis_and_is_no_part_of_the_plan(alignment):
    """Source: C: 2·1.25·sin 10° = 0.43 D of a cylinder of 1.25; the axis 170 lies at 180."""
    place(alignment, "turn_deg").fill("10")
    expect(alignment.locator(".notes", has_text="At 10°: +0.22 −0.43 × 130")).to_be_visible(timeout=20000)
    expect(alignment.locator(VIEW)).to_have_attribute("aria-label", re.compile("the axis lies at 180°"), timeout=20000)
    assert "copy" not in alignment.locator(".plan-name").inner_text()
    place(alignment, "turn_deg").fill("20")
    expect(alignment.locator("#place-fault-turn_deg")).to_have_text("read 20, accepted −15 to 15°", timeout=20000)
    expect(alignment.locator(".stale", has_text="Shown for 10°. The field holds 20")).to_be_visible()


def test_a_wrong_place_is_explained_beside_its_field_and_the_figures_stay(alignment):
    place(alignment, "centre_y_mm").fill("9")
    expect(alignment.locator("#place-fault-centre_y_mm")).to_contain_text("read 9, accepted −2 to 2 mm", timeout=20000)
    expect(alignment.locator(".stale").first).to_contain_text("the field holds 9")
    assert place(alignment, "centre_y_mm").get_attribute("aria-invalid") == "true"
    expect(alignment.get_by_text("Treatment centre at the vertex").first).to_be_visible()


def test_a_wrong_entry_is_told_by_what_it_would_leave(alignment):
    assert "leaves nothing, by arithmetic" in alignment.locator("[data-testid=stMain]").inner_text()
    more = alignment.locator("[data-testid=stSidebar] details", has=alignment.locator("[name=treated_sphere_D]"))
    more.locator("summary").click()
    for name, text in (("treated_sphere_D", "-6.00"), ("treated_cylinder_D", "-1.25"), ("treated_axis_deg", "17")):
        field(alignment, name).fill(text)
    expect(alignment.get_by_text("would leave +0.57 −1.13 × 138.5")).to_be_visible(timeout=20000)


def test_the_optics_stand_in_the_second_table_of_plan(page):
    """Source: the paraxial refraction achieved is the planned one at the cornea."""
    row = page.locator("table.figures tr", has=page.locator("summary", has_text="Refraction achieved, cornea"))
    assert row.locator(".value").all_inner_texts() == ["−5.60 −1.07 × 170"] * 3
