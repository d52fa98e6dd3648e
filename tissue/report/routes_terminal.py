"""Rescue options and ways to an enhancement as readable tables for the terminal."""

from collections.abc import Iterable, Mapping
from textwrap import wrap
from typing import Any

from tissue.budget.comparison import Comparison
from tissue.budget.strength.relationship import relationships
from tissue.followup.today import healed_thickness
from tissue.ground.published import pools
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import (
    CAP,
    CAP_FIRST,
    CUT,
    INCISION,
    LENTICULE_FIRST,
    SIDE,
    least_written,
    most_written,
    rounded,
)
from tissue.report.measures import NO_FIGURE, NOT_STUDIED, STANDING_LINE
from tissue.report.terminal import SIDES
from tissue.routes.cutting import done_percent
from tissue.routes.enhancement import Enhancement
from tissue.routes.reserve import later_ways, reserves
from tissue.routes.ways import ANOTHER_DAY, OVER_FLAP, PROTOCOL, Way, enhancement_ways, rescue_ways, suction_counts

WIDTH, NAME, CELL = 110, 24, 13
ROOM_ENOUGH = "this one has the room"
HEADS = ("cut, µm", "removed, µm", "bed, µm", "least bed", "altered, %", "strength, %", "clearance, µm, and where, mm")
STUDIED = (OVER_FLAP,)  # the percent altered was published for flaps of untouched corneas
STAGE_WORDS = {
    CUT: "in the lenticule cut",
    SIDE: "in the side cut of the lenticule",
    CAP: "in the cap cut",
    INCISION: "in the incision",
}
ORDER_WORDS = {LENTICULE_FIRST: "the lenticule is cut first", CAP_FIRST: "the cap is cut first"}


def rescue_table(
    report: dict[str, Any], stage: str | None = None, done: float | None = None, relationship: str = "reinstein2013"
) -> str:
    """The text of a rescue report.

    Args:
        report: what `rescue_report` gave.
        stage, done: the moment asked for; None leaves them out of the heading.
        relationship: id of the relationship whose strength stands first.
    """
    where = f", {STAGE_WORDS[stage]}" if stage else ""
    where += f", {done_percent(done)} % of it done" if done is not None else ""
    lines = [f"{SIDES[report['eye']]}   suction lost{where}", _clock_words(report), ANOTHER_DAY, ""]
    lines += _routes(report, relationship, [*rescue_ways().values(), *rescue_ways(False).values()])
    if report["thickest_flap_um"] is not None:
        lines.append(f"The thickest flap that keeps the margin: {most_written(report['thickest_flap_um'])} µm.")
    lines += [*_notices(report), "", "Published counts, over counts; never this eye's risk"]
    lines += [line for count in suction_counts() for line in _wrapped(count)]
    return "\n".join([*lines, "", *wrap(STANDING_LINE, WIDTH)])


def enhance_table(
    report: dict[str, Any],
    comparison: Comparison | None = None,
    found: Enhancement | None = None,
    relationship: str = "reinstein2013",
    ablation_blend_mm: float | None = None,
) -> str:
    """The text of a report on an enhancement.

    Args:
        report: what `enhance_report` gave.
        comparison, found: the Comparison and its Enhancement, for the words beside the routes; None leaves them out.
        relationship: id of the relationship whose strength stands first.
        ablation_blend_mm: blend of a later ablation [mm], where the plan gives it.
    """
    lines = [f"{SIDES[report['eye']]}   an enhancement after lenticule extraction"]
    lines.append(f"Reserve of the bed over the line: {_number(report['reserve_um'])} µm.")
    lines += ["", *_routes(report, relationship, enhancement_ways().values())]
    lines += _notices(report)
    if comparison is not None and found is not None:
        lines += ["", *_beside(comparison, found, ablation_blend_mm)]
    return "\n".join([*lines, "", *wrap(STANDING_LINE, WIDTH)])


def _clock_words(report: Mapping[str, Any]) -> str:
    """The moment and the radius in words."""
    words = f"{report['seconds']:.1f} s on the clock of the cuts"
    if report["cut_radius_mm"] is not None:
        words += f"; the cut has reached a radius of {report['cut_radius_mm']:.2f} mm"
    return f"{words}; {ORDER_WORDS[report['cut_order']]}." if "cut_order" in report else f"{words}."


def _routes(report: Mapping[str, Any], relationship: str, known: Iterable[Way]) -> list[str]:
    """The routes as rows, and under them where each is described."""
    ways = {way.text: way for way in known}
    lines = [" " * NAME + "".join(head.ljust(CELL) for head in HEADS).rstrip()]
    lines += [_row(route, relationship, ways[route["text"]].name) for route in report["routes"]]
    names = relationships()
    lines += [
        "",
        *wrap(
            f"Strength by: {names[relationship].label}; in brackets least and greatest over {len(names)} curves.", WIDTH
        ),
    ]
    for route in report["routes"]:
        lines += ["", *_wrapped(route["text"]), *_wrapped(f"Needs: {ways[route['text']].needs}", "  ")]
        if route["why_not"]:
            lines += _wrapped(f"Not available: {route['why_not']}", "  ")
    return [*lines, "", PROTOCOL, *wrap(NOT_STUDIED, WIDTH)]


def _row(route: Mapping[str, Any], relationship: str, name: str) -> str:
    """One route with its figures."""
    cells = [_number(route[key]) for key in ("cut_um", "removal_central_um", "bed_central_um", "bed_min_um")]
    studied = "" if route["id"] in STUDIED or route["altered_percent"] is None else "†"
    cells += [
        _number(route["altered_percent"], 1) + studied,
        _strength(route["strength_percent"], relationship),
        _clearance(route),
    ]
    return (name.ljust(NAME) + "".join(cell.ljust(CELL) for cell in cells)).rstrip()


def _strength(by_relationship: Mapping[str, Any], relationship: str) -> str:
    """The chosen strength and the span over all, in words."""
    values = list(by_relationship.values())
    if None in values:
        return NO_FIGURE
    return f"{by_relationship[relationship]:.0f} ({min(values):.0f}–{max(values):.0f})"


def _clearance(route: Mapping[str, Any]) -> str:
    """Clearance and its place in words."""
    if route["clearance_min_um"] is None:
        return NO_FIGURE
    x, y = _number(route["clearance_x_mm"], 1), _number(route["clearance_y_mm"], 1)
    return f"{_number(route['clearance_min_um'])} at {x}, {y}"


def _number(value: Any, decimals: int = 0) -> str:
    """A figure in words; an en dash where there is none."""
    if value is None or value != value:
        return NO_FIGURE
    return rounded(value, decimals)


def _notices(report: Mapping[str, Any]) -> list[str]:
    """The notices as a list."""
    found = [line for notice in report["notices"] for line in _wrapped(notice["text"])]
    return ["", "Notices", *found] if found else []


def _wrapped(text: str, indent: str = "") -> list[str]:
    """A text as an item of a list, wrapped."""
    return wrap(text, WIDTH, initial_indent=f"{indent}- ", subsequent_indent=f"{indent}  ")


def _beside(comparison: Comparison, found: Enhancement, blend_mm: Any) -> list[str]:
    """The reserve of all options, later ways after the others, the trade of the cap, and healed thickness."""
    lines = ["Reserve over the line, and the myopia that it could treat at this zone"]
    for name, left in reserves(comparison, blend_mm).items():
        title = comparison.results[name].option.title
        lines.append(f"  {title.ljust(NAME)}{_number(left.reserve_um)} µm   {_number(left.myopia_D, 2)} D")
    lines += ["", "The same enhancement after another primary treatment"]
    for later in later_ways(comparison, found.ablation):
        room = (
            f", {_number(later.clearance_um)} µm left in the flap" if later.clearance_um == later.clearance_um else ""
        )
        lines.append(f"  {later.words}: bed {_number(later.bed_um)} µm{room}")
    return [*lines, "", *wrap(cap_trade(comparison, found), WIDTH), *wrap(healed_words(comparison), WIDTH)]


def cap_trade(comparison: Comparison, found: Enhancement) -> str:
    """The trade between cap and thin flap in words.

    Args:
        comparison: Comparison of one eye.
        found: Enhancement.
    """
    caps = data("ways_out")["enhancement"]["thick_caps"]
    option, needed = comparison.under_cap.option, found.cap_needed_um
    thin = comparison.flap.enhancement_flap_um
    if needed != needed or found.why_not:
        return ""
    costs = needed - option.cut_um
    more = f"{least_written(costs)} µm more than this one, and as much less bed" if costs > 0 else ROOM_ENOUGH
    words = f"A thin flap of {thin:.0f} µm for this residual needs a cap of {least_written(needed)} µm: {more}."
    return (
        f"{words} One centre's caps of {caps['low_um']} to {caps['high_um']} µm are described as keeping that way open "
        f"({source(caps['source']).citation})."
    )


def healed_words(comparison: Comparison) -> str:
    """What may be measured after healing, in words.

    Args:
        comparison: Comparison of one eye.
    """
    healed = healed_thickness(comparison)
    if healed.mean_um != healed.mean_um:
        return ""
    thinner = pools()["thinning-lenticule"]
    return (
        f"Thickness that may be measured after healing: {_number(healed.mean_um)} ± {_number(healed.sd_um)} µm by the "
        f"errors of the plan and the published gain of the epithelium, not bed and cap together. {len(thinner.rows)} "
        f"published series were {_number(thinner.mean, 1)} µm thicker than planned; a new centre may find "
        f"{_number(thinner.low)} to {_number(thinner.high)}."
    )
