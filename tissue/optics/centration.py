"""What a treatment that lands beside its planned centre costs: coma, the least bed, the pupil within the zone."""

from dataclasses import dataclass, replace

import numpy as np

from tissue.budget.budget import bed_wanted
from tissue.budget.least_bed import worst_places
from tissue.eye.cornea import Cornea, Pupil
from tissue.ground.errors import number
from tissue.ground.limits import of_kind, shape_together
from tissue.ground.vocabulary import Floats
from tissue.optics.pupil import c40_change_um
from tissue.removal.options import Option
from tissue.removal.over_pupil import distance_mm, outside_percent
from tissue.removal.removal import Removal

COMA_PER_C40 = 2.0 * np.sqrt(10.0)


@dataclass(frozen=True, eq=False)
class Decentration:
    """Cost of a centration error δ. The coma is good to about a tenth of a full trace.

    largest_pupil_mm: largest pupil about the planned centre that is wholly inside the zone, 0 where none is.
    """

    offset_mm: Floats
    coma_um: Floats
    bed_min_planned_um: Floats
    bed_min_um: Floats
    bed_min_x_mm: Floats
    bed_min_y_mm: Floats
    largest_pupil_mm: Floats


def coma_of_offset_um(c40_um: Floats, offset_mm: Floats, pupil_mm: Floats) -> Floats:
    """Coma [µm] that spherical aberration turns into beside its centre: 2√10·C40·δ/a; source arba_mosquera2020.

    >>> round(float(coma_of_offset_um(0.40, 0.25, 6.0)), 4)
    0.2108
    """
    return COMA_PER_C40 * number(c40_um) * offset_mm / (number(pupil_mm) / 2.0)


def moved(taken: Removal, shift_x_mm: Floats, shift_y_mm: Floats) -> Removal:
    """The same Removal with its centre moved [mm]."""
    x, y = number(shift_x_mm), number(shift_y_mm)
    return replace(
        taken,
        centre_x_mm=taken.centre_x_mm + x,
        centre_y_mm=taken.centre_y_mm + y,
        max_x_mm=taken.max_x_mm + x,
        max_y_mm=taken.max_y_mm + y,
    )


def decentration(cornea: Cornea, option: Option, pupil: Pupil, shift_x_mm: Floats, shift_y_mm: Floats) -> Decentration:
    """What it costs that an option's removal lands beside its planned centre.

    Args:
        cornea: Cornea.
        option: Option.
        pupil: Pupil; the coma is of its diameter about the planned centre.
        shift_x_mm, shift_y_mm: where it lands, from the planned centre [mm].
    """
    _same_eyes(cornea, option, pupil, shift_x_mm=shift_x_mm, shift_y_mm=shift_y_mm)
    planned = option.removal
    landed = moved(planned, shift_x_mm, shift_y_mm)
    offset = np.hypot(number(shift_x_mm), number(shift_y_mm))
    about = replace(pupil, pupil_x_mm=planned.centre_x_mm, pupil_y_mm=planned.centre_y_mm)
    wanted = bed_wanted(cornea, option)
    before, after = worst_places(cornea, [wanted, wanted._replace(taken=landed)])
    above = option.cut_um + planned.base_um
    return Decentration(
        offset_mm=offset,
        coma_um=np.abs(coma_of_offset_um(c40_change_um(planned, about), offset, pupil.pupil_mm)),
        bed_min_planned_um=before.value - above,
        bed_min_um=after.value - above,
        bed_min_x_mm=after.x_mm,
        bed_min_y_mm=after.y_mm,
        largest_pupil_mm=np.maximum(planned.zone_mm - 2.0 * offset, 0.0),
    )


@dataclass(frozen=True, eq=False)
class Centred:
    """Figures of an option treated about a place: offset from the pupil's centre, coma by it, bed and pupil.

    The coma is good to about a tenth of a full trace. bed_central_um takes the thickness measured at the centre,
    wherever the treatment lies. largest_pupil_mm: wholly inside the zone, 0 where none is.
    """

    offset_mm: Floats
    coma_um: Floats
    bed_central_um: Floats
    bed_min_um: Floats
    largest_pupil_mm: Floats
    outside_percent: Floats


def centred_at(cornea: Cornea, option: Option, pupil: Pupil, x_mm: Floats, y_mm: Floats) -> Centred:
    """What an option would give if it were treated about another place, with the pupil where it is.

    Args:
        cornea: Cornea.
        option: Option.
        pupil: Pupil.
        x_mm, y_mm: that place, from the vertex [mm].

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> from tissue.eye.cornea import Pupil
    >>> plan = compare(Cornea(548.0), Treatment(Refraction(-6.0)))
    >>> there = centred_at(plan.cornea, plan.under_flap.option, Pupil(6.0, 0.3, 0.0), 0.0, 0.4)
    >>> float(there.offset_mm), float(there.largest_pupil_mm)
    (0.5, 5.5)
    """
    _same_eyes(cornea, option, pupil, x_mm=x_mm, y_mm=y_mm)
    x_mm, y_mm = number(x_mm)[()], number(y_mm)[()]
    planned = option.removal
    there = moved(planned, number(x_mm) - planned.centre_x_mm, number(y_mm) - planned.centre_y_mm)
    (least,) = worst_places(cornea, [bed_wanted(cornea, option)._replace(taken=there)])
    about = replace(pupil, pupil_x_mm=x_mm, pupil_y_mm=y_mm)
    offset = distance_mm(pupil, there)
    above = option.cut_um + planned.base_um
    return Centred(
        offset_mm=offset,
        coma_um=np.abs(coma_of_offset_um(c40_change_um(there, about), offset, pupil.pupil_mm)),
        bed_central_um=cornea.central_thickness_um - option.cut_um - planned.central_um,
        bed_min_um=least.value - above,
        largest_pupil_mm=np.maximum(planned.zone_mm - 2.0 * offset, 0.0),
        outside_percent=outside_percent(pupil, there),
    )


def _same_eyes(cornea: Cornea, option: Option, pupil: Pupil, **places: Floats) -> None:
    """Refuse objects of the wrong kind, and columns of different lengths."""
    of_kind(cornea=(cornea, Cornea), option=(option, Option), pupil=(pupil, Pupil))
    shape_together(cornea, option.removal, pupil, *(number(value, name) for name, value in places.items()))
