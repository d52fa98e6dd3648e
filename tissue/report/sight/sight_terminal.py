"""The optics of the planned surface as a readable table for the terminal."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from tissue.ground.vocabulary import NO_FIGURE, TRUE_MINUS, rounded
from tissue.removal.options import procedures
from tissue.report.measures import STANDING_LINE

NOT_VISION = (
    "Optics of the planned surface. Not acuity, satisfaction or symptoms; scatter, tear film, adaptation and healing "
    "are left out."
)
TO_KNOW = (
    "From memory, not read in print: the eye's own spherical aberration (0.128 µm over 6 mm), the contrast sensitivity "
    "in the visual Strehl ratio, the colour error in white light. 10′: ten minutes of arc; c/deg: cycles for each "
    "degree; MTF: how much of their contrast is left."
)


class Written(NamedTuple):
    """A figure as it is written: its name in words with the unit, and its decimals."""

    label: str
    decimals: int

    def text(self, value: float | None) -> str:
        """The figure; an en dash where there is none."""
        return rounded(float("nan") if value is None else value, self.decimals)


WRITTEN = {
    "light_10_arcmin_percent": Written("Light within 10′, %", 1),
    "light_3_arcmin_percent": Written("Light within 3′, %", 1),
    "mtf_10": Written("MTF at 10 c/deg, mean of six", 3),
    "mtf_10_least": Written("MTF at 10 c/deg, least direction", 3),
    "mtf_20": Written("MTF at 20 c/deg, mean of six", 3),
    "mtf_20_least": Written("MTF at 20 c/deg, least direction", 3),
    "visual_strehl": Written("Visual Strehl ratio (MTF)", 3),
    "strehl": Written("Strehl ratio", 3),
    "wave_rms_um": Written("Wavefront error, RMS, µm", 2),
    "radius_95_arcmin": Written("95 % of the rays within, ′", 1),
    "c40_change_um": Written("Change of C40, by light paths, µm", 3),
    "focus_D": Written("Sphere taken off (best focus), D", 2),
    "outside_zone_percent": Written("Pupil outside the zone, %", 1),
    "untreated_percent": Written("Pupil untreated, %", 1),
}

HEADS = {
    "light_10_arcmin_percent": Written("10′ %", 1),
    "mtf_10": Written("MTF 10", 3),
    "visual_strehl": Written("VS", 3),
    "removal_max_um": Written("taken", 1),
    "bed_min_um": Written("bed", 1),
}
WIDE, COLUMN, CELL = 36, 22, 9
RUNS = {
    "ladder": ("zone_mm", "Along the optical zone, mm (taken: deepest removal; bed: least bed, µm)", 2),
    "offsets": ("offset_mm", "Treatment centre beside the pupil's, mm", 1),
    "through_focus": ("defocus_D", "Out of focus, D (+ hyperopic, − myopic)", 3),
}


def sight_table(report: dict[str, Any]) -> str:
    """The text of a sight_report.

    Args:
        report: what sight_report gave.
    """
    blocks = ["\n".join(_head(report)), "\n".join(_figures(report))]
    blocks += ["\n".join(_run(report[name], *words)) for name, words in RUNS.items() if name in report]
    if report["notices"]:
        blocks.append("\n".join(["Notices", *(f"- {notice['text']}" for notice in report["notices"])]))
    return "\n\n".join([*blocks, NOT_VISION, TO_KNOW, STANDING_LINE])


def _head(report: Mapping[str, Any]) -> list[str]:
    """Eye, pupil and how it is looked at."""
    light = "555 nm" if report["light"] == "555" else "white light"
    healed = f", epithelium over {report['smoothing_mm']:g} mm" if report["smoothing_mm"] else ""
    rho = report["stiles_crawford_per_mm2"]
    rim = f", Stiles–Crawford {rho:g} /mm²" if rho else ""
    own = f"{report['eye_c40_um']:g}".translate(TRUE_MINUS)
    return [f"{report['eye']}   pupil {report['pupil_mm']:g} mm   {light}{healed}{rim}   the eye's own C40 {own} µm"]


def _figures(report: Mapping[str, Any]) -> list[str]:
    """One row for each figure: before, and each option."""
    columns = {"before": report["before"], **report["options"]}
    heads = ["before", *(procedures()[name].title for name in report["options"])]
    lines = [" " * WIDE + "".join(f"{head:<{COLUMN}}" for head in heads).rstrip()]
    for name, written in WRITTEN.items():
        cells = (written.text(one[name]) if one else NO_FIGURE for one in columns.values())
        lines.append(f"{written.label:<{WIDE}}" + "".join(f"{cell:<{COLUMN}}" for cell in cells).rstrip())
    return lines


def _run(rungs: Sequence[Mapping[str, Any]], value: str, title: str, decimals: int) -> list[str]:
    """One row for each rung: every option's figures side by side."""
    names = [name for name in HEADS if any(one and name in one for rung in rungs for one in rung["options"].values())]
    options = list(rungs[0]["options"])
    wide = CELL * len(names)
    lines = [title, " " * CELL + "".join(f"{procedures()[name].title:<{wide}}" for name in options).rstrip()]
    heads = "".join(f"{HEADS[name].label:<{CELL}}" for name in names)
    lines.append((" " * CELL + heads * len(options)).rstrip())
    at = Written("", decimals)
    for rung in rungs:
        cells = [HEADS[name].text(one[name] if one else None) for one in rung["options"].values() for name in names]
        lines.append((f"{at.text(rung[value]):<{CELL}}" + "".join(f"{cell:<{CELL}}" for cell in cells)).rstrip())
    return lines
