"""The eye as its readings have it: the plan of an extraction with what is known today put in its place."""

from dataclasses import replace

import numpy as np

from tissue.budget.comparison import Comparison, compare
from tissue.followup.follow import Follow
from tissue.ground.limits import with_computed


def as_today(found: Follow) -> Comparison:
    """The Comparison of the extraction that was done, by all readings.

    Thickness E[T], the thinnest point with it; the cap E[c], as measured; the removal moved by E[r] − r0.

    Args:
        found: Follow of a lenticule extraction.

    >>> from tissue import Cornea, Refraction, Treatment
    >>> from tissue.followup.follow import follow
    >>> from tissue.followup.reading import Reading
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> seen = follow(plan, "lenticule", [Reading(90, "oct", bed_um=340.0)], "oct")
    >>> round(float(as_today(seen).results["lenticule"].budget.bed_central_um), 1)
    340.0
    """
    plan, known = found.comparison, found.known
    thickness, cap, taken = (known.of(part).mean_um for part in ("thickness", "cut", "removal"))
    thicker = thickness - plan.cornea.central_thickness_um
    more = taken - found.done.option.removal.central_um
    own = plan.cornea.own_map
    cornea = with_computed(
        plan.cornea,
        central_thickness_um=thickness,
        thinnest_um=np.asarray(plan.cornea.thinnest_um) + thicker,
        own_map=own and own.thicker(float(thicker)),
    )
    treatment = with_computed(
        plan.treatment,
        base_um=plan.treatment.base_um + more,
        reported_lenticule_um=plan.treatment.reported_lenticule_um + more,
    )
    cut = replace(plan.cap, cap_measured_um=cap)
    return compare(cornea, treatment, plan.measured, plan.flap, cut, plan.judgement, plan.errors, plan.pupil)
