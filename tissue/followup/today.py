"""The eye after an extraction: as its plan expects it to heal, and as its readings show it today."""

from dataclasses import replace

import numpy as np

from tissue.budget.comparison import Comparison, compare
from tissue.followup.expected import gain_um
from tissue.followup.follow import SEEN_WITH, Estimate, Follow, one_of, planned_state, treated_SE_D
from tissue.ground.limits import with_computed


def as_today(found: Follow) -> Comparison:
    """The Comparison of the extraction that was done, by all readings.

    Thickness E[T], the thinnest point with it; the cap E[c], as measured; the removal moved by E[r] − r0.

    Args:
        found: Follow of a lenticule extraction.

    >>> from tissue import Cornea, Refraction, Treatment
    >>> from tissue.followup.follow import follow
    >>> from tissue.eye.reading import Reading
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


def healed_thickness(comparison: Comparison) -> Estimate:
    """Central thickness that OCT may measure once the extraction has healed, an Estimate; NaN without figures.

    T − r + g + u: true thickness minus what is truly taken, plus the epithelium's gain by dioptres

    Args:
        comparison: Comparison.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> [round(float(part), 1) for part in healed_thickness(compare(Cornea(550.0), Treatment(Refraction(-6.0))))]
    [463.7, 11.5]
    """
    first = comparison.under_cap
    known = planned_state(comparison, first.option, SEEN_WITH)
    change = one_of("thickness") - one_of("removal") + one_of("growth")
    found = known.along(change, gain_um(treated_SE_D(comparison), SEEN_WITH))
    return Estimate(*(np.where(first.available, part, np.nan)[()] for part in found))
