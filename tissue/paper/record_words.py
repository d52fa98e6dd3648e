"""The words of the record: what the marks mean, whose line it is, every value used, what to read back."""

import numpy as np

from tissue.budget.notices import line_source, notices
from tissue.entry.eye import not_given, used
from tissue.entry.fields import fields, figure
from tissue.report.measures import NOT_STUDIED
from tissue.strength.relationship import relationships

SHOWN_ABOVE = ("refraction", "sphere_D", "cylinder_D", "axis_deg", "central_thickness_um", "thinnest_um")
DEFAULT_MARK = "*"
PHRASES = (
    ("refraction {}", "refraction_kind"),
    ("vertex {} mm", "vertex_mm"),
    ("target {} D", "target_D"),
    ("treated {} {}", "treated_sphere_D", "treated_cylinder_D"),
    ("treated axis {}°", "treated_axis_deg"),
    ("thickness by {}", "thickness_method"),
    ("thinnest at ({}, {}) mm", "thinnest_x_mm", "thinnest_y_mm"),
    ("K {} D", "mean_K_D"),
    ("radius {} mm", "radius_mm"),
    ("asphericity {}", "asphericity"),
    ("epithelium {} µm", "epithelium_um"),
    ("white to white {} mm", "white_to_white_mm"),
    ("pupil {} mm at ({}, {}) mm", "pupil_mm", "pupil_x_mm", "pupil_y_mm"),
    ("zone {} mm at ({}, {}) mm", "zone_mm", "centre_x_mm", "centre_y_mm"),
    ("profile {}", "profile"),
    ("asphericity aimed at {}", "target_asphericity"),
    ("blend of ablation {} mm, of lenticule {} mm", "ablation_blend_mm", "lenticule_blend_mm"),
    ("reported ablation {} µm", "reported_ablation_um"),
    ("reported lenticule {} µm", "reported_lenticule_um"),
    ("flap {} µm, {} mm, hinge at {}°", "flap_um", "flap_diameter_mm", "hinge_deg"),
    ("flap measured {} µm", "flap_measured_um"),
    ("rescue flap {} µm", "rescue_flap_um"),
    ("flap for a second correction {} µm", "enhancement_flap_um"),
    ("cap {} µm, {} mm", "cap_um", "cap_diameter_mm"),
    ("cap measured {} µm", "cap_measured_um"),
    ("base {} µm", "base_um"),
    ("incision {} mm at {}°", "incision_mm", "incision_deg"),
    ("second cap {} µm", "recut_cap_um"),
    ("line {} µm", "bed_line_um"),
    ("credits: cap {}, flap {}", "cap_credit", "flap_credit"),
    ("strength by {}", "relationship"),
    ("margin {} µm", "margin_um"),
    ("clock {} s", "clock_s"),
    ("errors in µm, bias ± SD: thickness {} ± {}", "thickness_bias_um", "thickness_sd_um"),
    ("epithelium 0 ± {}", "epithelium_sd_um"),
    ("flap {} ± {}", "flap_bias_um", "flap_sd_um"),
    ("cap {} ± {}", "cap_bias_um", "cap_sd_um"),
    ("ablation {} ± {}", "ablation_bias_um", "ablation_sd_um"),
    ("lenticule {} ± {}", "lenticule_bias_um", "lenticule_sd_um"),
)


def notes():
    """What the marks mean, and what the strength figures are."""
    chosen = relationships()["reinstein2013"]
    return (
        f"{NOT_STUDIED} {DEFAULT_MARK} A default, not entered. 95 % of errors: measurement and cutting, biases "
        f"included. Strength: {chosen.label}, {chosen.note}. Cap and flap count as loaded as far as their credits say, "
        "an assumption. Not in these figures: corneal shape (tomography), age, stability, family history, eye rubbing."
    )


def line_words(eyes):
    """A sentence on the line of each eye, once where it is the same."""
    lines = {side: float(comparison.judgement.bed_line_um) for side, (_, comparison, _) in eyes.items()}
    by_value = {}
    for side, value in lines.items():
        by_value.setdefault(value, []).append(side)
    return [
        f"Line drawn by the user ({', '.join(sides)}): bed {value:.0f} µm; {line_source(value)}."
        for value, sides in by_value.items()
    ]


def values_used(eyes):
    """Every value behind the figures, defaults with their mark: once where both eyes agree, then eye by eye."""
    by_side = {side: _phrases(*eye) for side, eye in eyes.items()}
    first, *others = by_side.values()
    shared = {words for words in first if all(words in other for other in others)} if others else set()
    found = []
    if shared:
        found.append(f"Values used, both eyes: {', '.join(words for words in first if words in shared)}.")
    for side, phrases in by_side.items():
        own = [words for words in phrases if words not in shared]
        if own:
            found.append(f"{side}, values used: {', '.join(own)}.")
    return found


def _phrases(inputs, comparison, typed):
    """One phrase for each group of values that is not already written above."""
    values, default = used(inputs, comparison, typed), set(not_given(inputs.values))
    phrases = []
    for pattern, *names in PHRASES:
        if not any(_missing(values[name]) for name in names):
            phrases.append(pattern.format(*(_written(name, values[name], name in default) for name in names)))
    return phrases


def _written(name, value, is_default):
    """One value with its mark."""
    field = fields()[name]
    words = figure(round(float(value), 3), field.kind == "power") if field.is_number else str(value)
    return words + (DEFAULT_MARK if is_default else "")


def _missing(value):
    """Whether nothing stands in a field."""
    return value == "" if isinstance(value, str) else bool(np.isnan(value))


def notice_words(eyes):
    """The notices: once where both eyes have the same words, then eye by eye."""
    by_side = {side: list(dict.fromkeys(n.text for n in notices(eye[1]))) for side, eye in eyes.items()}
    first, *others = by_side.values()
    shared = [words for words in first if others and all(words in other for other in others)]
    found = [f"Notices, both eyes: {' '.join(shared)}"] if shared else []
    for side, texts in by_side.items():
        own = [words for words in texts if words not in shared]
        found += [f"{side}, notices: {' '.join(own)}"] if own else []
    return found


def checks():
    """What is read back before treatment."""
    return (
        "Eye and side",
        "Refraction, sign and axis",
        "Thickness and its device",
        "Zone and centre",
        "Flap or cap depth",
        "Reported removal, µm",
        "Tomography seen",
        "Age and stability seen",
    )
