"""Two people at one server: neither sees the other's eye."""

from acts import beds, drawn_after, field, values

THICKNESSES_UM = ("521", "587")


def test_sessions_do_not_see_each_others_eyes(open_page):
    """Source: the figures of each page are those of the arithmetic for what was typed there."""
    pages = [open_page(), open_page()]
    for page, thickness in zip(pages, THICKNESSES_UM, strict=True):
        drawn_after(page, lambda page=page: field(page, "thinnest_um").fill("510"))
        drawn_after(page, lambda page=page, thickness=thickness: field(page, "central_thickness_um").fill(thickness))
    for page, thickness in zip(pages, THICKNESSES_UM, strict=True):
        typed = {"central_thickness_um": thickness, "thinnest_um": "510", "sphere_D": "-6.00", "cylinder_D": "-1.25"}
        typed |= {name: field(page, name).input_value() for name in ("axis_deg", "mean_K_D", "zone_mm")}
        typed |= {name: field(page, name).input_value() for name in ("thinnest_x_mm", "thinnest_y_mm")}
        assert values(page, "Residual bed (RSB), centre") == beds({name: text for name, text in typed.items() if text})
