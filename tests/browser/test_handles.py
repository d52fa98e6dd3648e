"""Handles in a real browser: pointer, touch and keys; the line in every frame, no move lost, one undo for one drag."""

import json
import random
import subprocess
import sys

import pytest
from acts import choose, field, figures_row, go, idle, values
from axe import serious
from grasped import ORDER, WATCH, middle, slider
from hurry import beds_of_command, button, saved_by, settled, slowed
from playwright.sync_api import expect

MOVES = 60
FLAP, CAP, ZONE, CENTRE = "Plane of the flap", "Plane of the cap", "Edge of the zone", "Treatment centre"


def drag(page, label, right, down, steps=8, wait_ms=0):
    """Grasp a handle, move it and let go."""
    x, y = middle(page, label)
    page.mouse.move(x, y)
    page.mouse.down()
    for i in range(1, steps + 1):
        page.mouse.move(x + right * i / steps, y + down * i / steps)
        if wait_ms:
            page.wait_for_timeout(wait_ms)
    page.mouse.up()


def middle_px(page, label):
    """How far down the window a handle stands, without scrolling to it [px]."""
    box = slider(page, label).bounding_box()
    return box["y"] + box["height"] / 2.0


def value(page, label):
    """The value of a handle, as a screen reader is told."""
    return float(slider(page, label).get_attribute("aria-valuenow"))


def figures_of(page, tmp_path):
    """The central and the least beds of the right eye that the command gives for the plan that is saved now."""
    path = tmp_path / "plan.toml"
    path.write_bytes(saved_by(page, button(page, "save").click))
    made = subprocess.run(
        [sys.executable, "-m", "tissue", "plan", str(path), "--json"], capture_output=True, check=True
    )
    options = json.loads(made.stdout)["eyes"]["OD"]["options"]
    return [[f"{round(one[name])}" for one in options.values()] for name in ("bed_central_um", "bed_min_um")]


def shown_beds(page):
    """The same two rows of the table."""
    return [values(page, "Residual bed (RSB), centre"), values(page, "Residual bed, least")]


def test_sixty_moves_by_pointer_and_keys_and_none_is_lost(page, tmp_path):
    """Source: the plan saved at the end and read by the command has the figures of the table; every move counts."""
    rng, wanted = random.Random(7), {}
    for number in range(MOVES):
        label = (FLAP, CAP, ZONE)[number % 3]
        if number % 2:
            key = rng.choice(("ArrowDown", "ArrowUp", "PageDown", "PageUp"))
            before = value(page, label)
            slider(page, label).press(key)
            by = {"ArrowDown": 1, "ArrowUp": -1, "PageDown": 10, "PageUp": -10}[key]
            by = by if label != ZONE else -0.1 * by
            low, high = (float(slider(page, label).get_attribute(f"aria-value{end}")) for end in ("min", "max"))
            wanted[label] = min(high, max(low, before + by))
        else:
            drag(page, label, rng.uniform(-9, 9), rng.uniform(-9, 9))
            wanted[label] = value(page, label)
        assert value(page, label) == pytest.approx(wanted[label])
    settled(page)
    for label, name in ((FLAP, "flap_um"), (CAP, "cap_um"), (ZONE, "zone_mm")):
        assert float(field(page, name).input_value()) == pytest.approx(wanted[label]) == value(page, label)
    assert shown_beds(page) == figures_of(page, tmp_path)


@pytest.mark.parametrize(("label", "right", "down"), [(CAP, 0, 30), (FLAP, 0, 14), (ZONE, 18, 0)])
def test_the_line_stands_under_the_hand_in_every_frame(page, label, right, down):
    """Source: rule of the picture: the line follows in every frame; half a step of the value is what it may be off."""
    idle(page)
    page.evaluate(WATCH, label)
    drag(page, label, right, down, steps=80, wait_ms=12)
    frames = page.evaluate("window.frames_seen")
    assert len(frames) > 20 and all(seen for seen, *_ in frames)
    assert max(one[1 if right else 2] for one in frames) < 1.3
    settled(page)
    expect(page.locator(".moved")).to_contain_text("→")


def test_escape_takes_it_back_and_one_undo_takes_back_one_drag(page):
    """Source: what stood in the fields before, what was not given included, and the name of the plan."""
    drag(page, CAP, 0, 20, steps=20, wait_ms=10)
    settled(page)
    moved_to = field(page, "cap_um").input_value()
    assert moved_to not in ("", "120")
    x, y = middle(page, CAP)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 9)
    page.wait_for_timeout(250)
    page.keyboard.press("Escape")
    page.mouse.move(x, y + 12)
    page.mouse.up()
    settled(page)
    expect(field(page, "cap_um")).to_have_value(moved_to)
    assert f"{value(page, CAP):.0f}" == moved_to
    page.keyboard.press("Control+z")
    settled(page)
    expect(field(page, "cap_um")).to_have_value("")
    assert page.locator(".plan-name h2").inner_text() == "harbour-03"
    slider(page, ZONE).focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    settled(page)
    expect(field(page, "zone_mm")).to_have_value("6.9")
    page.keyboard.press("Escape")
    settled(page)
    expect(field(page, "zone_mm")).to_have_value("6.5")


def test_an_act_while_the_hand_moves_works_on_what_the_hand_has(page, tmp_path):
    """Source: rule of the desk: whatever is made is made from what stands there when it is asked for."""
    with slowed(page):
        slider(page, FLAP).focus()
        for _ in range(5):
            page.keyboard.press("ArrowDown")
        text = saved_by(page, button(page, "save").click).decode()
    assert "flap_um = 115" in text
    slider(page, FLAP).focus()
    page.keyboard.press("ArrowDown")
    choose(page, "OS (left)")
    expect(page.locator(".eye h1")).to_have_text("OS (left eye)", timeout=20000)
    settled(page)
    assert value(page, FLAP) == 110
    choose(page, "OD (right)")
    expect(field(page, "flap_um")).to_have_value("116", timeout=20000)


def test_figures_under_way_are_never_shown_as_those_of_the_hand(page):
    """Source: rule of the desk: what was made for another value pales at once; the strip names its value."""
    idle(page)
    page.evaluate(ORDER, CAP)
    x, y = middle(page, CAP)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 8)
    page.wait_for_selector("body.tissue-old", state="attached", timeout=5000)
    page.mouse.up()
    settled(page)
    now = field(page, "cap_um").input_value()
    order = page.evaluate("window.order_seen")  # the picture, which takes longer to draw, came before the figures
    assert order.index(["figures", now]) < order.index(["picture", now])
    expect(page.locator(".moved")).to_contain_text(f"Cap thickness, with epithelium 120 → {now} µm")
    row = page.locator(".moved tr", has_text="Residual bed (RSB)")
    assert row.locator(".value").all_inner_texts() == values_of_table(page)
    page.get_by_role("button", name="keep the plan as it was").click()
    page.get_by_role("button", name="Drop the kept plan").wait_for()
    settled(page)
    kept = figures_row(page, "Residual bed (RSB), centre").locator(".beside").last
    expect(kept).to_have_text("kept 304")
    page.get_by_role("button", name="take the move back").click()
    settled(page)
    expect(page.locator(".moved")).to_have_count(0)
    expect(field(page, "cap_um")).to_have_value("")


def values_of_table(page):
    """The central beds in the table under the strip."""
    rows = page.locator(".st-key-piece-figures table.figures tr", has_text="Residual bed (RSB)")
    return [text.replace("†", "") for text in rows.first.locator(".value").all_inner_texts()]


def test_both_eyes_have_their_handles_each_by_its_name(page, tmp_path):
    """Source: the plan saved at the end and read by the command; the other eye's fields stay as they were."""
    page.get_by_text("Both eyes").click()
    left = f"{CAP}, left eye"
    slider(page, left).wait_for(timeout=20000)
    right_cap = value(page, f"{CAP}, right eye")
    slider(page, left).focus()
    assert middle_px(page, left) < page.locator(".st-key-standing").bounding_box()["y"] - 12  # not under the foot
    drag(page, left, 0, 12, steps=6, wait_ms=10)
    slider(page, left).press("ArrowDown")
    slider(page, left).press("Enter")
    settled(page)
    moved_to = value(page, left)
    assert moved_to > 121 and value(page, f"{CAP}, right eye") == right_cap
    expect(page.locator(".moved")).to_contain_text("Left eye")
    plan = saved_by(page, button(page, "save").click).decode()
    assert f"cap_um = {moved_to:.0f}" in plan.partition("[OS]")[2].partition("[OD]")[0]
    shown = page.locator(".moved tr", has_text="Residual bed (RSB)").first.locator(".value").all_inner_texts()
    path = tmp_path / "both.toml"
    path.write_text(plan, "utf-8")
    assert shown == beds_of_command(path.read_bytes(), tmp_path, "OS")


def test_a_finger_moves_it_too(page):
    """Source: touch as the browser itself reports it."""
    x, y = middle(page, ZONE)
    session = page.context.new_cdp_session(page)
    for kind, right in (("touchStart", 0), *(("touchMove", px) for px in range(2, 20, 2)), ("touchEnd", 18)):
        points = [] if kind == "touchEnd" else [{"x": x + right, "y": y}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    session.detach()
    settled(page)
    assert float(field(page, "zone_mm").input_value()) == value(page, ZONE) > 7.0


def test_the_treatment_centre_is_moved_on_alignment(page):
    """Source: steps of 0.05 mm; nasal is the viewer's right in a right eye."""
    go(page, "Alignment")
    page.wait_for_selector(".st-key-align_view .plot[data-drawn]", timeout=60000)
    handle = slider(page, CENTRE)
    assert handle.get_attribute("aria-valuetext") == "at the vertex"
    handle.focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowRight", "ArrowDown"):
        page.keyboard.press(key)
    assert handle.get_attribute("aria-valuetext") == "0.15 millimetres nasal, 0.05 millimetres inferior"
    settled(page)
    names = ("centre_x_mm", "centre_y_mm")
    assert [page.locator(f"form.places [name={name}]").input_value() for name in names] == ["0.15", "-0.05"]
    page.keyboard.press("Escape")
    settled(page)
    assert [page.locator(f"form.places [name={name}]").input_value() for name in names] == ["", ""]
    page.evaluate(WATCH, CENTRE)
    drag(page, CENTRE, 14, -9, steps=30, wait_ms=12)
    frames = page.evaluate("window.frames_seen")
    assert all(seen for seen, *_ in frames) and max(max(off) for _, *off in frames) < 1.3
    settled(page)
    expect(page.locator(".moved")).to_contain_text("Treatment centre, right of the vertex 0 → 0.4 mm")


def test_a_screen_reader_is_told_and_nothing_stands_in_its_way(page):
    assert slider(page, CAP).get_attribute("aria-valuetext") == "120 micrometres"
    slider(page, CAP).focus()
    page.keyboard.press("ArrowDown")
    assert slider(page, CAP).get_attribute("aria-valuetext") == "121 micrometres"
    settled(page)
    assert serious(page, "light") == []


def test_a_hand_that_comes_back_leaves_no_pale_page(page):
    """Source: rule of the screens: figures pale only while they stand for something else. They stayed pale for good."""
    cap = slider(page, CAP)
    cap.focus()
    for key in ("ArrowUp", "ArrowDown") * 3:
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    settled(page)
    assert page.evaluate("window.tissueDesk.typing.size") == 0
