"""A browser that draws nothing by hardware."""

from acts import beds, field, go, values
from hurry import settled
from serving import CHROMIUM_ARGS, chromium

CLOUD = ".st-key-chart-series_scatter .plot"
NO_HARDWARE = ["--disable-3d-apis", "--disable-webgl", "--disable-webgl2", "--disable-accelerated-2d-canvas"]


def right(page):
    """Whether the settled figures are those of the arithmetic for what stands in the fields."""
    settled(page)
    names = ("sphere_D", "cylinder_D", "axis_deg", "central_thickness_um", "thinnest_um", "thinnest_x_mm")
    typed = {name: field(page, name).input_value() for name in (*names, "thinnest_y_mm", "mean_K_D", "zone_mm")}
    return values(page, "Residual bed (RSB), centre") == beds({name: text for name, text in typed.items() if text})


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
