"""A plan as a readable table for the terminal."""

from collections.abc import Iterable

from tissue.budget.comparison import Comparison
from tissue.budget.notices import Notice, notices
from tissue.budget.strength.strength import relationships
from tissue.entry.eye import Inputs
from tissue.entry.notation import write
from tissue.report.contract import fellow_of, refraction_figures
from tissue.report.measures import (
    NO_FIGURE,
    NOT_STUDIED,
    STANDING_LINE,
    Measure,
    marked,
    measures,
    parts_of,
    rounded,
    spread_of,
    value_of,
)

SIDES = {"OD": "OD (right eye)", "OS": "OS (left eye)"}
WIDE, COLUMN = 40, 28


def plan_table(code: str, eyes: dict[str, tuple[Inputs | None, Comparison, str]]) -> str:
    """The text of a whole plan.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, (Inputs, Comparison, refraction as typed).
    """
    blocks = [f"Plan {code}" if code else "Plan"]
    blocks += [_eye(side, comparison, fellow_of(side, eyes)) for side, (_, comparison, _) in eyes.items()]
    return "\n\n".join([*blocks, NOT_STUDIED, STANDING_LINE])


def _eye(side: str, comparison: Comparison, fellow: Comparison | None) -> str:
    """One eye: heading, rows, notices."""
    lines = [*_heading(side, comparison), ""]
    lines.append(
        " " * WIDE + "".join(f"{result.option.title:<{COLUMN}}" for result in comparison.results.values()).rstrip()
    )
    for measure in measures().values():
        lines.append(_row(measure, comparison))
    lines += ["", *_strengths(comparison)]
    found = [f"- {notice.text}" for notice in _once(notices(comparison, fellow))]
    return "\n".join(lines + (["", "Notices", *found] if found else []))


def _heading(side: str, comparison: Comparison) -> list[str]:
    """Side, refraction in both forms, at the cornea, thickness."""
    both = refraction_figures(comparison.measured, comparison.treatment.refraction)
    minus, plus = write(both["sphere_D"], both["cylinder_D"], both["axis_deg"])
    cornea = write(
        both["corneal_sphere_D"], both["corneal_cylinder_D"], comparison.treatment.refraction.minus().axis_deg
    )[0]
    thickness = comparison.cornea
    forms = minus if minus == plus else f"{minus}   = {plus}"
    return [
        f"{SIDES[side]}   {forms}",
        f"treated, at the cornea {cornea}   thickness at centre {thickness.central_thickness_um:.0f} µm, "
        f"thinnest {thickness.thinnest_um:.0f} µm   zone {comparison.treatment.zone_mm:.2f} mm",
    ]


def _row(measure: Measure, comparison: Comparison) -> str:
    """One measure across the options, the spread beside it where there is one."""
    cells = []
    for result in comparison.results.values():
        text = value_of(measure, result, comparison.judgement)
        if text != NO_FIGURE:
            spread = parts_of(result) if measure.id == "removed" else spread_of(measure, result)
            text += ("†" if marked(measure, result) else "") + (f"  ({spread})" if spread else "")
        cells.append(f"{text:<{COLUMN}}")
    return (f"{measure.heading(comparison.judgement)}, {measure.unit}".ljust(WIDE) + "".join(cells)).rstrip()


def _strengths(comparison: Comparison) -> list[str]:
    """Strength by every relationship."""
    lines = ["Relative strength, %, by every published strength curve"]
    for name, relationship in relationships().items():
        values = [result.strength.strength_percent[name] for result in comparison.results.values()]
        cells = "".join(f"{rounded(value, 1):<{COLUMN}}" for value in values)
        lines.append((f"  {relationship.label}"[: WIDE - 1].ljust(WIDE) + cells).rstrip())
    return lines


def _once(found: Iterable[Notice]) -> list[Notice]:
    """The notices without repetitions."""
    return list({notice.text: notice for notice in found}.values())
