"""Rescue options and ways to an enhancement under stable names, for machines: strict JSON."""

from typing import Any

from tissue.budget.comparison import Comparison
from tissue.entry.eye import written_down
from tissue.eye.refraction import Refraction
from tissue.report.contract import SCHEMA, plain_json
from tissue.routes.enhancement import enhancement
from tissue.routes.notices import enhancement_notices, rescue_notices
from tissue.routes.rescue import rescue
from tissue.routes.route import Route


def route_as_dict(route: Route) -> dict[str, Any]:
    """One Route by the names of the interface; NaN where null."""
    return {
        "id": route.way.id,
        "text": route.way.text,
        "cut_um": route.cut_um,
        "removal_central_um": route.removal_central_um,
        "bed_central_um": route.bed_central_um,
        "bed_min_um": route.bed_min_um,
        "altered_percent": route.altered_percent,
        "strength_percent": route.strength_percent,
        "clearance_min_um": route.clearance.value,
        "clearance_x_mm": route.clearance.x_mm,
        "clearance_y_mm": route.clearance.y_mm,
        "available": route.available,
        "why_not": route.why_not,
        "source": route.way.source,
    }


def rescue_report(comparison: Comparison, side: str, stage: str, done: float) -> dict[str, Any]:
    """The rescue options of one eye when suction is lost.

    Args:
        comparison: Comparison of one eye.
        side: OD or OS.
        stage: `lenticule`, `lenticule-side`, `cap` or `incision`.
        done: share of that cut's area that is done [0–1].

    Raises:
        EyeError: an unknown stage, a share outside 0 to 1.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> report = rescue_report(plan, "OD", "lenticule", 0.0)
    >>> report["routes"][0]["id"], report["seconds"], report["cut_radius_mm"], report["thickest_flap_um"]
    ('restart', 0.0, 3.25, None)
    """
    found = rescue(comparison, stage, done)
    return plain_json(
        {
            "schema": SCHEMA,
            "eye": side,
            "cut_radius_mm": found.cut_radius_mm,
            "seconds": found.seconds,
            **written_down({"cut_order": comparison.judgement.cut_order}),
            "thickest_flap_um": found.thickest_flap_um,
            "routes": [route_as_dict(route) for route in found.routes],
            "notices": [notice._asdict() for notice in rescue_notices(comparison, found)],
        }
    )


def enhance_report(comparison: Comparison, side: str, residual: Refraction, **given_by_plan: Any) -> dict[str, Any]:
    """The ways to an enhancement of one eye after a lenticule extraction.

    Args:
        comparison: Comparison of one eye.
        side: OD or OS.
        residual: Refraction left after the primary treatment.
        given_by_plan: ablation_blend_mm, lenticule_blend_mm [mm] and base_um [µm] where the plan gives them.

    Raises:
        EyeError: a zone that the surfaces of the residual do not fill.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> [route["available"] for route in enhance_report(plan, "OD", Refraction(-0.75))["routes"]]
    [True, False, True, True]
    """
    found = enhancement(comparison, residual, **given_by_plan)
    return plain_json(
        {
            "schema": SCHEMA,
            "eye": side,
            "reserve_um": found.reserve_um,
            "routes": [route_as_dict(route) for route in found.routes],
            "notices": [notice._asdict() for notice in enhancement_notices(comparison, found)],
        }
    )
