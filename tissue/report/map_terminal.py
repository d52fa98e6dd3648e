"""The lines on a table of thickness or epithelium, and what such a table may be."""

from tissue.entry.own_map.written import WrittenMap
from tissue.eye.measured.surface import Surface
from tissue.ground.vocabulary import rounded
from tissue.report.map_json import part_as_dict

COLUMNS_SAID = (
    "Columns, in any order: x_mm, y_mm (points); r_mm, angle_deg (rings, the angle from the table's x towards its y); "
    "diameter_in_mm, diameter_out_mm, sector (all S ST T IT I IN N SN); and thickness_um, thickness_mm, epithelium_um "
    "or epithelium_mm. A grid has x_mm in its first row and y_mm in its first column."
)
FORMS_SAID = {"points": "points", "grid": "a grid", "polar": "rings", "sectors": "named sectors"}


def map_text(written: WrittenMap, surface: Surface) -> str:
    """The lines of one map.

    Args:
        written: the map as read. surface: its Surface.
    """
    found = part_as_dict(written, surface)
    layer = written.name.removesuffix("_map")
    lines = [
        f"{written.side}, {layer}: {found['readings']} readings from {FORMS_SAID[written.form]}, "
        f"{found['missing']} missing",
        f"centre {rounded(found['central_um'])} µm, least {rounded(found['thinnest_um'])} µm at "
        f"{rounded(found['thinnest_x_mm'], 2)}, {rounded(found['thinnest_y_mm'], 2)} mm (right, up, from the front)",
        "2.5 mm off: "
        + ", ".join(f"{side} {rounded(found[f'{side}_um'])}" for side in ("nasal", "temporal", "superior", "inferior"))
        + " µm",
        f"known over a disc of {found['covered_mm']:.1f} mm about the vertex; the readings lie "
        f"{found['residual_sd_um']:.1f} µm (SD) from the surface through them",
    ]
    return "\n".join([*lines, *(_left_out(one) for one in found["left_out"])])


def _left_out(one: dict[str, float]) -> str:
    """One reading that was left out."""
    return f"left out: {one['read_um']:.0f} µm at {rounded(one['x_mm'], 2)}, {rounded(one['y_mm'], 2)} mm"
