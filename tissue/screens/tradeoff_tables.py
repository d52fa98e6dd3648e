"""Tables of Trade-offs: a thin lenticule with its cures, and a planned cut against the measured one."""

from tissue.costs import planned_and_measured, thin_lenticule_cures
from tissue.drawing.palette import HEADS
from tissue.measures import number
from tissue.screens.plain_table import part, plain_table


def thin(shown):
    """A thin lenticule: the plan and the two cures beside each other."""
    rows = thin_lenticule_cures(shown.inputs.values)
    if len(rows) < 2:
        return ""
    names = {"as-planned": "As planned", "wider-zone": "Wider zone", "thicker-base": "Thicker base"}
    lines = [
        (
            names[row.id],
            *(
                number(row.figures["lenticule"][figure], 0)
                for figure in ("removal_max_um", "bed_central_um", "bed_min_um")
            ),
        )
        for row in rows
    ]
    heads = ("Lenticule", "Thickest, µm", "Bed, centre, µm", "Bed, least, µm")
    return part("A thin lenticule, and what each cure costs") + plain_table(heads, lines, "Cures", numbers=(1, 2, 3))


def measured(shown):
    """Planned against measured cut, both beds."""
    lines = [
        (
            HEADS[option],
            *(number(row.figures[option]["bed_central_um"]) for row in rows),
            *(number(row.figures[option]["bed_min_um"]) for row in rows),
        )
        for option, rows in planned_and_measured(shown.inputs.values).items()
        if rows
    ]
    if not lines:
        return ""
    heads = ("Cut", "Bed as planned, µm", "as measured, µm", "Least bed as planned, µm", "as measured, µm")
    return part("Planned against measured") + plain_table(heads, lines, "Planned and measured", numbers=range(1, 5))
