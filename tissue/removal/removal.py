"""What a correction takes: the treatment, and the removed tissue t(x, y)."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from tissue.eye.cornea import INDEX, Cornea
from tissue.eye.refraction import Refraction
from tissue.ground.errors import given, number
from tissue.ground.limits import all_reasons, keep_reasons, known_words, of_kind, refused_rows, taken_over
from tissue.ground.vocabulary import NOT_GIVEN, Floats, Words
from tissue.removal.profile import Profile

PROFILES = ("munnerlyn", "conic", "parabolic")
PLANNED = (
    "zone_mm", "target_asphericity", "ablation_blend_mm", "lenticule_blend_mm", "base_um", "centre_x_mm",
    "centre_y_mm", "reported_ablation_um", "reported_lenticule_um", "target_D",
)  # fmt: skip
POWER_PER_CURVATURE = 1000.0 * (INDEX - 1.0)  # power of the front surface over its curvature [D·mm]
ZONE_STEP_MM = 0.1


@dataclass(frozen=True, eq=False)
class Treatment:
    """What is to be treated, where and how; numbers or arrays, NaN or None where not given.

    Args:
        refraction: treated refraction at its own vertex distance.
        zone_mm: diameter of the optical zone [mm].
        profile: `munnerlyn`, `conic` or `parabolic`, one word or an array of words.
        target_asphericity: asphericity after a `conic` [–]; as before where not given.
        ablation_blend_mm, lenticule_blend_mm: width of the blend [mm]; a ramp where not given.
        base_um: thickness added under the whole lenticule [µm]; a ramp where not given.
        centre_x_mm, centre_y_mm: treatment centre from the vertex [mm].
        reported_ablation_um, reported_lenticule_um: deepest removal as the laser states it [µm].
        target_D: refraction wanted in the end, already taken off `refraction` [D].

    `reasons`: why rows of columns are refused and have no figures.

    Raises:
        EyeError: an unknown profile; a value outside its physical range.
    """

    refraction: Refraction
    zone_mm: Floats = 6.5
    profile: Words = "munnerlyn"
    target_asphericity: Floats = NOT_GIVEN
    ablation_blend_mm: Floats = NOT_GIVEN
    lenticule_blend_mm: Floats = NOT_GIVEN
    base_um: Floats = NOT_GIVEN
    centre_x_mm: Floats = 0.0
    centre_y_mm: Floats = 0.0
    reported_ablation_um: Floats = NOT_GIVEN
    reported_lenticule_um: Floats = NOT_GIVEN
    target_D: Floats = 0.0
    reasons = ""  # why rows of columns have no figures: no input, and set when the values are taken over

    def __post_init__(self) -> None:
        of_kind(refraction=(self.refraction, Refraction))
        words = known_words(self, "profile", PROFILES, PROFILES[0])
        keep_reasons(self, self.refraction.reasons, taken_over(self, PLANNED), words)
        ablation, lenticule, base = default_blends(self.refraction)
        values = {
            "ablation_blend_mm": given(self.ablation_blend_mm, ablation),
            "lenticule_blend_mm": given(self.lenticule_blend_mm, lenticule),
            "base_um": given(self.base_um, base),
        }
        for name in ("zone_mm", "centre_x_mm", "centre_y_mm", "target_asphericity", "target_D"):
            values[name] = number(getattr(self, name))[()]
        for name in ("reported_ablation_um", "reported_lenticule_um"):
            values[name] = number(getattr(self, name))[()]
        for name, value in values.items():
            object.__setattr__(self, name, value)


def default_blends(treated: Refraction) -> tuple[Floats, Floats, Floats]:
    """Default blend of an ablation [mm], blend of a lenticule [mm] and base [µm] of a treated refraction.

    h = min(1, max(0, most hyperopic corneal-plane meridian)); ablation 0.5 + 0.5·h;
    lenticule 1.0·h and at least 0.1·min(1, |C|/0.25); base 15 + 15·h

    >>> [float(v) for v in default_blends(Refraction(-6.0, -1.25, 170.0))]
    [0.5, 0.1, 15.0]
    """
    h = np.clip(np.maximum(*treated.at_cornea().powers()), 0.0, 1.0)
    least = 0.1 * np.minimum(1.0, np.abs(treated.cylinder_D) / 0.25)
    return 0.5 + 0.5 * h, np.maximum(h, least), 15.0 + 15.0 * h


@dataclass(frozen=True, eq=False)
class Removal:
    """Tissue removed: t(x, y) over zone and blend, and a base of even thickness under it.

    central_um and the others hold numbers or arrays in the units of their names. `scale` is what a reported
    depth makes of the computed one. `reasons`: why rows of columns are refused and have no figures.
    """

    profile: Profile
    axis_deg: Floats
    centre_x_mm: Floats
    centre_y_mm: Floats
    base_um: Floats
    scale: Floats
    central_unscaled_um: Floats
    refraction_part_um: Floats
    blend_part_um: Floats
    computed_um: Floats
    max_um: Floats
    max_x_mm: Floats
    max_y_mm: Floats
    reasons: Words = ""

    @property
    def central_um(self) -> Floats:
        """Removal at the treatment centre, base included [µm]."""
        return self.refraction_part_um + self.blend_part_um + self.base_um

    @property
    def t_max_um(self) -> Floats:
        """Deepest removal without the base [µm]."""
        return self.max_um - self.base_um

    @property
    def zone_mm(self) -> Floats:
        """Diameter of the optical zone [mm]."""
        return 2.0 * self.profile.zone_radius_mm

    @property
    def blend_mm(self) -> Floats:
        """Width of the blend [mm]."""
        return self.profile.blend_mm

    @property
    def radius_mm(self) -> Floats:
        """Radius of the treated disc, zone and blend [mm]."""
        return self.profile.zone_radius_mm + self.profile.blend_mm

    @cached_property
    def rim_step_um(self) -> Floats:
        """Greatest t at the zone edge [µm]."""
        return self.scale * self.profile.rim_um(self.central_unscaled_um)

    @cached_property
    def optical_volume_mm3(self) -> Floats:
        """Volume of t over zone and blend [mm³]."""
        return self.scale * self.profile.volume_mm3(self.central_unscaled_um)

    @property
    def volume_mm3(self) -> Floats:
        """Volume removed, base included [mm³]."""
        return self.optical_volume_mm3 + np.pi * np.square(self.radius_mm) * self.base_um / 1000.0

    @cached_property
    def zone_cost_um(self) -> Floats:
        """Rise of the deepest removal for 0.1 mm more zone, blend and scale held [µm]."""
        return deepest_if_wider_um(self, ZONE_STEP_MM) - self.max_um

    def axes(self, x_mm: Floats, y_mm: Floats) -> tuple[Floats, Floats]:
        """Places from the vertex [mm] in the treated axes about the treatment centre [mm]."""
        angle = np.radians(self.axis_deg)
        dx, dy = x_mm - self.centre_x_mm, y_mm - self.centre_y_mm
        return dx * np.cos(angle) + dy * np.sin(angle), dy * np.cos(angle) - dx * np.sin(angle)

    def t_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Removal without the base [µm] at places from the vertex [mm]; 0 beyond the blend."""
        u, v = self.axes(x_mm, y_mm)
        return self.scale * self.profile.thickness_um(u, v, self.central_unscaled_um)

    def r_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Removal, base included [µm] at places from the vertex [mm]; 0 beyond the treated disc."""
        u, v = self.axes(x_mm, y_mm)
        inside = np.hypot(u, v) <= self.radius_mm * (1.0 + 1e-12)
        return np.where(inside, self.t_um(x_mm, y_mm) + self.base_um, 0.0)[()]


def profile_of(cornea: Cornea, treatment: Treatment, blend_mm: Floats) -> Profile:
    """The Profile of a treatment on a cornea with a given blend [mm]."""
    kind = np.asarray(treatment.profile)
    after = given(treatment.target_asphericity, cornea.asphericity)
    named = [kind == "munnerlyn", kind == "parabolic"]
    along, across = treatment.refraction.at_cornea().powers()
    return Profile(
        before_per_mm=1.0 / cornea.radius_mm,
        along_per_mm=1.0 / cornea.radius_mm + along / POWER_PER_CURVATURE,
        across_per_mm=1.0 / cornea.radius_mm + across / POWER_PER_CURVATURE,
        K_before=np.select(named, [1.0, 0.0], 1.0 + cornea.asphericity)[()],
        K_after=np.select(named, [1.0, 0.0], 1.0 + after)[()],
        zone_radius_mm=treatment.zone_mm / 2.0,
        blend_mm=blend_mm,
    )


def largest_zone_mm(cornea: Cornea, treatment: Treatment) -> Floats:
    """Largest zone over which the surfaces of this treatment exist [mm], rounded down to 0.05 mm.

    >>> from tissue.eye.cornea import Cornea
    >>> float(largest_zone_mm(Cornea(550.0), Treatment(Refraction(-6.0))))
    15.55
    """
    return floor_zone_mm(profile_of(cornea, treatment, 0.0))


def removal(
    cornea: Cornea,
    treatment: Treatment,
    blend_mm: Floats,
    base_um: Floats = 0.0,
    reported_um: Floats | None = None,
    reported_field: str = "reported_um",
) -> Removal:
    """The Removal of a treatment on a cornea.

    Args:
        cornea, treatment: as measured and as planned.
        blend_mm: width of the blend [mm].
        base_um: thickness added under the treated disc [µm].
        reported_um: deepest removal as the laser states it, base included [µm]; None or NaN where not given.
        reported_field: the name an error calls it by.

    In a column such a row has no figures, and `reasons` of the Removal says why; the others stand.

    Raises:
        EyeError: of one eye, a zone over which a surface does not exist; a reported depth that leaves nothing above
            the base, or with nothing to treat.

    >>> from tissue.eye.cornea import Cornea
    >>> eye, plan = Cornea(550.0), Treatment(Refraction(-6.0, vertex_mm=0.0))
    >>> round(float(removal(eye, plan, 0.0).central_um), 1)
    95.4
    """
    shape, missing = with_surfaces(profile_of(cornea, treatment, blend_mm), treatment.zone_mm)
    deepest = shape.deepest(sum(shape.central_um()))[0]
    scale, impossible = _reported_scale(number(reported_um), base_um, deepest, reported_field)
    return replace(scaled_removal(shape, treatment, base_um, scale), reasons=all_reasons(missing, impossible))


def scaled_removal(shape: Profile, treatment: Treatment, base_um: Floats, scale: Floats) -> Removal:
    """The Removal of a Profile: t times `scale`, over a base [µm]."""
    refraction, blend = shape.central_um()
    central = refraction + blend
    deepest, radius, meridian = shape.deepest(central)
    axis = np.where(treatment.refraction.cylinder_D == 0, 0.0, treatment.refraction.axis_deg)[()]
    angle = np.radians((axis + 90.0 * meridian) % 180.0)
    return Removal(
        profile=shape,
        axis_deg=axis,
        centre_x_mm=treatment.centre_x_mm,
        centre_y_mm=treatment.centre_y_mm,
        base_um=base_um,
        scale=scale,
        central_unscaled_um=central,
        refraction_part_um=scale * refraction,
        blend_part_um=scale * blend,
        computed_um=deepest + base_um,
        max_um=scale * deepest + base_um,
        max_x_mm=treatment.centre_x_mm + radius * np.cos(angle),
        max_y_mm=treatment.centre_y_mm + radius * np.sin(angle),
    )


def with_surfaces(shape: Profile, zone_mm: Floats) -> tuple[Profile, Words]:
    """The Profile without a zone in the rows where a surface ends inside it, and why; one such eye is refused."""
    there = np.logical_not(shape.zone_radius_mm >= shape.largest_radius_mm)
    if np.all(there):
        return shape, ""
    limit = np.char.mod("up to %.2f mm with this refraction and cornea", floor_zone_mm(shape))
    words = refused_rows(there, "zone_mm", zone_mm, limit)
    return replace(shape, zone_radius_mm=np.where(there, shape.zone_radius_mm, np.nan)), words


def floor_zone_mm(shape: Profile) -> Floats:
    """Largest zone a Profile has surfaces for [mm], rounded down to 0.05 mm."""
    return np.floor(2.0 * shape.largest_radius_mm * (1.0 - 1e-9) / 0.05) * 0.05


def _reported_scale(reported_um: Floats, base_um: Floats, deepest_um: Floats, field: str) -> tuple[Floats, Words]:
    """The factor that a reported depth puts on the computed one: (reported − B)/max t, 1 where not given; and why rows
    are refused, whose factor is NaN."""
    over = np.logical_not(reported_um <= base_um)
    treats = np.isnan(reported_um) | np.logical_not(deepest_um <= 0)
    words = all_reasons(
        refused_rows(over, field, reported_um, "more than the base thickness"),
        refused_rows(treats, field, reported_um, "no reported depth where nothing is treated"),
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = given((reported_um - base_um) / deepest_um, 1.0)
    return np.where(over & treats, scale, np.nan)[()], words


def deepest_if_wider_um(taken: Removal, by_mm: Floats) -> Floats:
    """Deepest removal, base included [µm], with the zone wider by `by_mm` [mm], blend and scale held; NaN
    where the wider surfaces do not exist."""
    shape = replace(taken.profile, zone_radius_mm=taken.profile.zone_radius_mm + by_mm / 2.0)
    with np.errstate(invalid="ignore"):
        central = sum(shape.central_um())
        deepest = shape.deepest(central)[0]
    return taken.scale * deepest + taken.base_um
