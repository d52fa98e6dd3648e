"""The texts of the record: every value used with its mark, the user's line, notices, what is read back."""

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.notices import line_source, notices
from tissue.budget.strength.relationship import relationships
from tissue.entry.eye import Inputs, not_given, used, written_down
from tissue.entry.fields import fields, figure
from tissue.paper.page import LEFT_MM, RIGHT_MM, wrap
from tissue.report.contract import fellow_of
from tissue.report.map_json import map_phrases
from tissue.report.measures import NOT_STUDIED

EyeTold = tuple[Inputs, Comparison, str]  # Inputs, Comparison, refraction as typed
Eyes = dict[str, EyeTold]  # by side
NOTE_PT = 6.3  # width of the text below the table
DEFAULT_MARK, OWN_MARK = "*", "°"
PHRASES = (
    ("procedure {}", "procedure"),
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
    ("flap for an enhancement {} µm", "enhancement_flap_um"),
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
    ("order of the cuts {}", "cut_order"),
    ("errors in µm, bias ± SD: thickness {} ± {}", "thickness_bias_um", "thickness_sd_um"),
    ("epithelium 0 ± {}", "epithelium_sd_um"),
    ("flap {} ± {}", "flap_bias_um", "flap_sd_um"),
    ("cap {} ± {}", "cap_bias_um", "cap_sd_um"),
    ("ablation {} ± {}", "ablation_bias_um", "ablation_sd_um"),
    ("lenticule {} ± {}", "lenticule_bias_um", "lenticule_sd_um"),
    ("gain of the epithelium {} ± {}", "epithelium_gain_bias_um", "epithelium_gain_sd_um"),
    ("residual {}", "residual"),
    ("suction lost in the cut {}, share done {}", "suction_stage", "suction_done"),
    ("done {}", "done"),
)


def foot_notes(own_sources: tuple[str, ...] = ()) -> str:
    """The meaning of the marks and of the strength figures.

    Args:
        own_sources: which eyes own errors come from, in words.
    """
    chosen = relationships()["reinstein2013"]
    own = f" {OWN_MARK} Own errors: {'; '.join(own_sources)}." if own_sources else ""
    return (
        f"{NOT_STUDIED} {DEFAULT_MARK} A default, not entered.{own} 95 % of errors: measurement and cutting, biases "
        f"included. Strength: {chosen.label}, {chosen.note}. Cap and flap count as loaded as far as their credits say, "
        "an assumption. Not in these figures: corneal shape (tomography), age, stability, family history, eye rubbing."
    )


def line_words(eyes: Eyes) -> list[str]:
    """A sentence on the user's line of each eye, once where it is the same."""
    lines = {side: float(comparison.judgement.bed_line_um) for side, (_, comparison, _) in eyes.items()}
    by_value: dict[float, list[str]] = {}
    for side, value in lines.items():
        by_value.setdefault(value, []).append(side)
    return [
        f"Line drawn by the user ({', '.join(sides)}): bed {value:.0f} µm; {line_source(value)}."
        for value, sides in by_value.items()
    ]


def values_used(eyes: Eyes) -> list[str]:
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


def _phrases(inputs: Inputs, comparison: Comparison, typed: str) -> list[str]:
    """One phrase for each group of values that was not printed above."""
    values, default = written_down(used(inputs, comparison, typed)), not_given(inputs.values)
    marks = {name: OWN_MARK if name in inputs.own.values else DEFAULT_MARK for name in default}
    phrases = []
    for pattern, *names in PHRASES:
        if not any(name not in values or _missing(values[name]) for name in names):
            phrases.append(pattern.format(*(_written(name, values[name]) + marks.get(name, "") for name in names)))
    return phrases + map_phrases(inputs)


def _written(name: str, value: str | float) -> str:
    """One value in words."""
    field = fields()[name]
    return figure(round(float(value), 3), field.kind == "power") if field.is_number else str(value)


def _missing(value: str | float) -> bool:
    """Whether a value is missing."""
    return value == "" if isinstance(value, str) else bool(np.isnan(value))


def notice_words(eyes: Eyes) -> list[str]:
    """The notices: once where both eyes have the same words, then eye by eye."""
    by_side = {side: _texts(eye[1], fellow_of(side, eyes)) for side, eye in eyes.items()}
    first, *others = by_side.values()
    shared = [words for words in first if others and all(words in other for other in others)]
    found = [f"Notices, both eyes: {' '.join(shared)}"] if shared else []
    for side, texts in by_side.items():
        own = [words for words in texts if words not in shared]
        found += [f"{side}, notices: {' '.join(own)}"] if own else []
    return found


def _texts(comparison: Comparison, fellow: Comparison | None) -> list[str]:
    """The words of the notices of one eye, each once."""
    return list(dict.fromkeys(notice.text for notice in notices(comparison, fellow)))


def checks() -> tuple[str, ...]:
    """The values to be read back before treatment."""
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


def note_lines(eyes: Eyes, said: str) -> list[str]:
    """Read-back, meaning of the marks, the line's source, every value used, notices, as lines that fit the page."""
    sources = tuple(dict.fromkeys(inputs.own.source for inputs, _, _ in eyes.values() if inputs.own.source))
    parts = [*filter(None, [said]), foot_notes(sources), *line_words(eyes), *values_used(eyes), *notice_words(eyes)]
    return [line for words in parts for line in wrap(words, RIGHT_MM - LEFT_MM, NOTE_PT)]
