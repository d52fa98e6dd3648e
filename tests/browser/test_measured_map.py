"""The dialog *Measured map* in a real browser: nothing before the picture is confirmed, and back again by a press.

Source: rule of maps: orientation is said, never guessed; a reading apart is asked about; figures of the same eye from
the arithmetic.
"""

from acts import choose, field, idle, values
from hurry import button, settled
from map_tables import grid_table
from own_maps import nine
from playwright.sync_api import expect

from tissue.entry.own_map.tables import Asked, maps_of_table
from tissue.report.measures import rounded
from tissue.screens.desk.reading import shown_eye

LEAST = "Residual bed, least"


def thinner_below(x, y):
    """Like the demo eye, and 25 µm thinner at a place below."""
    return nine(x, y) + 15.0 - 25.0 * 2.718281828 ** -(((x + 0.5) ** 2 + (y + 1.4) ** 2) / 1.62)


def read(page, text):
    """Paste a table, with no wait before the press."""
    page.locator("[role=dialog] textarea").fill(text)
    page.locator(".st-key-map_go button").click()


def say(page, x):
    """Answer the questions of a grid."""
    for key, words in (("map_of", "thickness"), ("map_x", x), ("map_y", "upwards")):
        page.locator(f".st-key-{key} label", has_text=words).first.click()


def least_beds(texts):
    """Least beds of the eye with the map, from the arithmetic."""
    table = grid_table(thinner_below).encode()
    own = maps_of_table(table, Asked("OD", "right", "up", "thickness"))
    comparison = shown_eye(texts | own, "OD")[0].comparison
    return [rounded(result.budget.bed_min_um) for result in comparison.results.values()]


def test_a_map_is_refused_asked_about_confirmed_and_removed(page):
    from stale_cases import first_texts

    settled(page)
    before = values(page, LEAST)
    button(page, "read a measured map").click()
    dialog = page.locator("[role=dialog]")
    read(page, "right,down,thick\n0,0,540")
    expect(dialog.locator(".stale")).to_contain_text("accepted x_mm, y_mm · r_mm, angle_deg", timeout=20000)
    read(page, grid_table(thinner_below, (1.0, 1.0, "0.55")))
    expect(page.locator("[class*=st-key-change-map_take-] button")).to_be_disabled(timeout=20000)  # asked first
    expect(dialog).to_contain_text("said what it is a map of and where its x runs and where its y runs")
    say(page, "to the right")
    expect(dialog.locator(".stale")).to_contain_text("read 0.55, accepted 300 to 950 µm", timeout=20000)
    page.locator(".st-key-press-map_again button").click()
    table = grid_table(thinner_below, (1.0, 1.0, "640")).encode()
    page.locator("[role=dialog] input[type=file]").set_input_files(
        {"name": "map.csv", "mimeType": "text/csv", "buffer": table}
    )
    expect(dialog).to_contain_text("map.csv")
    page.locator(".st-key-map_go button").click()
    say(page, "to the right")
    expect(dialog.locator(".stale")).to_contain_text("640 at 1.00, 1.00 mm", timeout=20000)
    expect(page.locator("[class*=st-key-change-map_take-] button")).to_be_disabled()
    for can in (True, False, True):  # a tick, and back again
        page.locator(".st-key-map_leave_out label").click()
        expect(page.locator("[class*=st-key-change-map_take-] button")).to_be_enabled(enabled=can, timeout=20000)
    said = dialog.locator("[role=img]").get_attribute("aria-label")
    assert "Map of the thickness of the right eye" in said and "inferotemporal" in said
    assert values(page, LEAST) == before  # nothing before the press
    page.locator("[class*=st-key-change-map_take-] button").click()
    expect(dialog).to_have_count(0, timeout=20000)
    expect(page.locator(".own-map span")).to_have_text("map, 260 readings", timeout=20000)
    settled(page)
    now = values(page, LEAST)
    assert now != before and all(
        abs(int(one) - int(other)) <= 1 for one, other in zip(now, least_beds(first_texts("OD")), strict=True)
    )
    button(page, "see or remove").click()
    page.locator("[class*=st-key-change-map_remove_thickness_map-] button").click()
    expect(page.locator(".own-map span")).to_have_text("", timeout=20000)
    settled(page)
    assert values(page, LEAST) == before
    page.locator("[class*=st-key-change-undo_map-] button").click()
    expect(page.locator(".own-map span")).to_have_text("map, 260 readings", timeout=20000)
    choose(page, "OS (left)")
    expect(page.locator(".own-map span")).to_have_text("", timeout=20000)
    button(page, "new patient").click()
    button(page, "drop the changes, then a new patient").click()
    expect(field(page, "code")).to_have_value("", timeout=20000)
    idle(page)
    assert (
        page.locator(".own-map span").inner_text() == ""
        and page.locator("[class*=st-key-change-undo_map-]").count() == 0
    )
