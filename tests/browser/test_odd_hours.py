"""A page that stays open for a night, clocks that jump, a theme that changes under a print, no drawing by hardware."""

from acts import beds, field, go, values
from hurry import button, same_as_command, saved_by, settled
from playwright.sync_api import expect
from serving import CHROMIUM_ARGS, chromium

CLOUD = ".st-key-chart-series_scatter .plot"
NIGHT_MS = 12 * 3600 * 1000
SET_BACK = "() => { const before = Date.now; Date.now = () => before() - 400 * 864e5; }"  # a year and more
NO_HARDWARE = ["--disable-3d-apis", "--disable-webgl", "--disable-webgl2", "--disable-accelerated-2d-canvas"]


def right(page):
    """Whether the settled figures are those of the arithmetic for what stands in the fields."""
    settled(page)
    names = ("sphere_D", "cylinder_D", "axis_deg", "central_thickness_um", "thinnest_um", "thinnest_x_mm")
    typed = {name: field(page, name).input_value() for name in (*names, "thinnest_y_mm", "mean_K_D", "zone_mm")}
    return values(page, "Residual bed (RSB), centre") == beds({name: text for name, text in typed.items() if text})


def test_after_a_night_and_with_a_clock_that_was_set_back_the_page_works_on(chrome, address):
    """Source: the page's own timers and clock are moved by the browser's driver; figures beside the arithmetic's."""
    context = chrome.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    page = context.new_page()
    page.clock.install()
    page.goto(address)
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    field(page, "zone_mm").fill("6.3")
    assert right(page)
    page.clock.fast_forward(NIGHT_MS)
    expect(field(page, "zone_mm")).to_have_value("6.3")
    field(page, "sphere_D").fill("-4.25")
    assert right(page)
    page.evaluate(SET_BACK)
    field(page, "central_thickness_um").fill("560")
    assert right(page)
    assert b"central_thickness_um = 560" in saved_by(page, button(page, "save").click)
    context.close()


def test_a_print_during_a_change_of_theme_is_the_commands(page, tmp_path):
    """Source: a page of print has no theme: byte for byte what the command makes."""
    field(page, "zone_mm").fill("6.4")

    def change_and_print():
        button(page, "Record for print").click()
        page.emulate_media(color_scheme="dark")
        page.emulate_media(color_scheme="light")
        page.emulate_media(color_scheme="dark")

    made = saved_by(page, change_and_print)
    (tmp_path / "made.pdf").write_bytes(made)  # for whoever looks for a difference
    assert same_as_command(made, tmp_path)
    assert right(page)
    field(page, "zone_mm").fill("6.1")
    assert right(page)


def test_a_browser_without_hardware_drawing_shows_the_same(chrome, address):
    """Source: the browser's own switches against WebGL."""
    bare = chrome.browser_type.launch(executable_path=chromium(), args=[*CHROMIUM_ARGS, *NO_HARDWARE])
    try:
        page = bare.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        assert page.evaluate("document.createElement('canvas').getContext('webgl')") is None
        assert right(page)
        go(page, "Series")
        page.get_by_role("button", name="Work out the series").click()
        page.wait_for_selector(f"{CLOUD}[data-drawn]", timeout=60000)
        assert page.locator(f"{CLOUD} .scatterlayer path.point").count() > 1000
        assert page.get_by_text("WebGL").count() == 0
    finally:
        bare.close()
