"""What is fixed about a procedure, whatever the eye; later code asks these traits and never the name."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False, kw_only=True)
class Traits:
    """How a procedure is called, drawn and set.

    name: its key in every result. title: its name in words; short: one word of it where there is little room; act: the
    word of a fellow's question. above: what lies above the removal.
    hue, dash, symbol: of its lines and marks; which colour a hue is, a look says.
    lifts_flap: whether a flap is laid back over the removal; keeps_cap: whether a cap stays on it. Without either
    nothing is cut above it.
    share_validated: whether the percent of tissue altered was studied for this procedure. ablates: whether tissue is
    ablated rather than cut out.
    cut_field, measured_field, blend_field, diameter_field, reported_field, towards_field: the inputs that set the cut,
    say what was measured of it, set the blend and the diameter, say the depth reported and which way the cut opens;
    None where there is none. searched_fields: the inputs that a wanted figure is sought over.
    least_cut_um: thinnest cut that may be asked for [µm].
    """

    name: str
    title: str
    short: str
    act: str
    above: str
    hue: str
    dash: str
    symbol: str
    lifts_flap: bool = False
    keeps_cap: bool = False
    share_validated: bool = False
    ablates: bool = True
    blend_field: str = "ablation_blend_mm"
    reported_field: str = "reported_ablation_um"
    cut_field: str | None = None
    measured_field: str | None = None
    diameter_field: str | None = None
    towards_field: str | None = None
    searched_fields: tuple[str, ...] = ("zone_mm",)
    least_cut_um: float = np.nan

    @property
    def head(self) -> str:
        """The title at the head of a column."""
        return self.title[0].upper() + self.title[1:]

    @property
    def bare(self) -> bool:
        """Whether nothing is cut above the removal."""
        return not self.cuts

    @property
    def cuts(self) -> bool:
        """Whether something is cut above the removal."""
        return self.lifts_flap or self.keeps_cap


SURFACE = Traits(
    name="surface",
    title="surface ablation",
    short="surface",
    act="surface",
    above="epithelium",
    hue="green",
    dash="dotted",
    symbol="circle",
)
FLAP = Traits(
    name="flap",
    title="flap ablation",
    short="flap",
    act="flap",
    above="flap",
    hue="blue",
    dash="dashed",
    symbol="square",
    lifts_flap=True,
    share_validated=True,
    cut_field="flap_um",
    measured_field="flap_measured_um",
    diameter_field="flap_diameter_mm",
    towards_field="hinge_deg",
    searched_fields=("zone_mm", "flap_um"),
    least_cut_um=60.0,
)
LENTICULE = Traits(
    name="lenticule",
    title="lenticule extraction",
    short="lenticule",
    act="extraction",
    above="cap",
    hue="pink",
    dash="solid",
    symbol="diamond",
    keeps_cap=True,
    ablates=False,
    blend_field="lenticule_blend_mm",
    reported_field="reported_lenticule_um",
    cut_field="cap_um",
    measured_field="cap_measured_um",
    diameter_field="cap_diameter_mm",
    towards_field="incision_deg",
    searched_fields=("zone_mm", "cap_um", "base_um"),
    least_cut_um=80.0,
)
