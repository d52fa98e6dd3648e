"""The section as rows of numbers, in µm and mm, for a CSV file."""

import numpy as np

from tissue.drawing.base.meridian import meridian
from tissue.drawing.base.outline import reach_mm

STEP_MM = 0.1


def section_table(comparison, angle_deg=0.0, step_mm=STEP_MM):
    """Rows of a section along a meridian, from limbus to limbus.

    Depths are below the front surface along the optical axis, heights are from the vertex, upwards. A depth that is
    not there (no cut at that place, an option that is not available) is None.

    Args:
        comparison: Comparison of one eye.
        angle_deg: meridian [degrees].
        step_mm: distance of the rows [mm].
    """
    line = meridian(comparison, angle_deg)
    low, high = line.crossings(reach_mm(comparison.cornea))
    first, last = np.ceil(low / step_mm - 1e-9), np.floor(high / step_mm + 1e-9)
    position = np.arange(first, last + 1) * step_mm
    columns = _columns(comparison, line, position)
    listed = {name: np.round(values, 4).tolist() for name, values in columns.items()}
    return [
        {name: None if np.isnan(values[i]) else values[i] + 0.0 for name, values in listed.items()}
        for i in range(position.size)
    ]


def _columns(comparison, line, position):
    """Every column as an array, NaN where a curve is not there."""
    cornea = comparison.cornea
    x, y = line.place(position)
    front, thickness = -cornea.front_mm(x, y), cornea.thickness_um(x, y)
    columns = {"position_mm": position, "x_mm": x, "y_mm": y, "front_mm": front}
    columns |= _both("epithelium", np.full(position.shape, cornea.epithelium_um), front)
    columns |= _both("back", thickness, front)
    columns |= _both("line", thickness - comparison.judgement.bed_line_um, front)
    for name, result in comparison.results.items():
        columns |= _option_columns(name, result, position, (x, y), front, thickness)
    return columns


def _both(name, depth_um, front_mm):
    """A curve as depth [µm] and as height [mm]."""
    return {f"{name}_depth_um": depth_um, f"{name}_mm": front_mm - depth_um / 1000.0}


def _option_columns(name, result, position, place, front, thickness):
    """Cut, removal, its floor, and the bed of one option."""
    option = result.option
    treated = float(option.removal.radius_mm)
    radius = float(np.where(np.isnan(option.cut_diameter_mm), treated, option.cut_diameter_mm / 2.0))
    shown = 0.0 if result.available else np.nan
    cut = np.where(np.abs(position) <= radius + 1e-9, option.cut_um, np.nan) + shown
    removed = np.where(np.abs(position) <= treated + 1e-9, option.removal.r_um(*place), np.nan) + shown
    floor = option.cut_um + removed
    columns = _both(f"{name}_cut", cut, front)
    columns[f"{name}_removed_um"] = removed
    columns |= _both(f"{name}_floor", floor, front)
    columns[f"{name}_bed_um"] = thickness - floor
    return columns
