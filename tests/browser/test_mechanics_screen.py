"""The Mechanics screen in a real browser: the whole cornea of a toric, decentred plan is worked out beside the page."""

import json
import re
import subprocess
import sys

import pytest
from acts import go, idle
from playwright.sync_api import expect
from serving import ROOT

PLAN = """schema = 1
code = "invented-toric"

[OD]
refraction = "-3.00 -3.50 x 20"
central_thickness_um = 548
thinnest_um = 541
thinnest_x_mm = -0.7
thinnest_y_mm = -0.5
mean_K_D = 43.5
centre_x_mm = 0.3
centre_y_mm = 0.2
"""
STATES = ("surface", "flap", "lenticule_taut", "lenticule_sliding", "lenticule_slack")
PLACES = "table.plain:has-text('Greatest in the treated disc')"


@pytest.fixture
def plan(tmp_path):
    """The plan as a file."""
    path = tmp_path / "toric.toml"
    path.write_text(PLAN, "utf-8")
    return path


@pytest.fixture
def mechanics(page, plan):
    """The screen of that plan."""
    page.get_by_role("button", name="open", exact=True).click()
    page.locator("input[type=file]").set_input_files(plan)
    expect(page.locator(".plan-name")).to_have_text(re.compile("invented-toric"), timeout=20000)
    go(page, "Mechanics")
    return page


def commanded(plan):
    """The five states as the command gives them."""
    command = [sys.executable, "-m", "tissue", "mechanics", str(plan), "--three-d", "--no-spread", "--json"]
    found = subprocess.run(command, cwd=ROOT, capture_output=True, check=True, timeout=300)
    return json.loads(found.stdout)["three_d"]["states"]


def test_the_whole_cornea_is_that_of_the_command_and_is_named_once_the_plan_has_moved(mechanics, plan):
    """Source: rules of the screens: one arithmetic for screen and command, no stale figure shown as current."""
    start = mechanics.get_by_role("button", name="Work out the whole cornea")
    start.click()
    mechanics.get_by_role("button", name="Cancel").wait_for(timeout=20000)
    table = mechanics.locator(PLACES)
    expect(table.locator("tbody tr")).to_have_count(len(STATES), timeout=120000)
    rows = [row.split("\t")[1:4] for row in table.locator("tbody tr").all_inner_texts()]
    states = commanded(plan)
    for shown, name in zip(rows, STATES, strict=True):
        places = [states[name][place]["bed_stress_ratio"] for place in ("centre", "thinnest", "worst")]
        assert shown == [f"{value:.2f}" for value in places], name
    mechanics.locator("[data-testid=stSidebar] [name=zone_mm]").fill("6.2")
    expect(mechanics.get_by_text("Shown for another plan or law")).to_be_visible(timeout=20000)


def test_cancel_ends_within_one_state_and_keeps_what_is_finished(mechanics):
    """Source: promise of the screen: it can be stopped, and another screen is not held up by it."""
    mechanics.get_by_role("button", name="Work out the whole cornea").click()
    mechanics.get_by_role("button", name="Cancel").click(timeout=20000)
    expect(mechanics.get_by_role("button", name="Work out the whole cornea")).to_be_visible(timeout=20000)
    go(mechanics, "Plan")
    mechanics.wait_for_selector("table.figures", timeout=20000)
    idle(mechanics)
