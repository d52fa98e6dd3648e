"""A question on the published eyes: which of them breaks a rule of thumb."""

from dataclasses import replace

from numpy.random import Generator

from tissue.entry.fields import figure
from tissue.ground.sources import data, eye_name, rows, source_of_eye
from tissue.ground.vocabulary import TRUE_MINUS
from tissue.rounds.cases import REPORTED, Case, asked, picked, published_cases
from tissue.rounds.line import BESIDE, Given, Line
from tissue.rounds.question import Question

COLUMNS = (
    ("cct_um", "thickness", "µm"),
    ("flap_or_cap_um", "flap or cap", "µm"),
    ("depth_um", "removed", "µm"),
    ("rsb_reported_um", "bed as reported", "µm"),
    ("pta_reported_pct", "altered as reported", "%"),
)


def rule(case: Case, rng: Generator) -> Question | None:
    """Published eyes side by side, some of which break a rule of thumb; asked only about a published eye."""
    name = picked(rng, tuple(data("rounds")["beside"]))
    if not case.reported:
        return None
    wanted, table = data("rules_of_thumb")[name], {row["case_id"]: row for row in rows("published_eyes")}
    shown = [*wanted["eyes"], *data("rounds")["beside"][name]]
    shown = [eye for _, eye in sorted(zip(rng.random(len(shown)), shown, strict=True))]
    broke = tuple(eye for eye in shown if eye in wanted["eyes"])
    choices, answer = (tuple(_called(eye) for eye in eyes) for eyes in (shown, broke))
    given = [Given(_called(eye), _reported(table[eye])) for eye in shown]
    lines = [Line(_called(eye), text=f"{_outcome(table[eye])}. {source_of_eye(eye).citation}") for eye in broke]
    lines.append(Line("Said of it", text=wanted["said"]))
    lines += [line for eye in shown for line in _sums(eye)]
    prompt = f"Which of these published eyes break the rule of thumb: “{wanted['rule']}”?"
    found = asked("rule", case, prompt, given, "some", answer, lines=lines, choices=choices)
    return replace(found, id=f"rule/{name}", eye="published eyes", reported="")


def _called(eye: str) -> str:
    return eye_name(eye).capitalize()


def _reported(row: dict[str, str]) -> str:
    """The reported figures of an eye, in one line."""
    powers = [f"{float(row[name]):+.2f}".translate(TRUE_MINUS) for name in ("sphere_D", "cyl_D") if row[name]]
    axis = f" × {row['axis_deg']}" if row["axis_deg"] else ""
    numbers = [f"{words} {figure(float(row[key]))} {unit}" for key, words, unit in COLUMNS if row[key]]
    return ", ".join(filter(None, [row["procedure"], " ".join(powers) + axis, *numbers])) + f": {_outcome(row)}"


def _outcome(row: dict[str, str]) -> str:
    """The outcome of an eye: the first one noted."""
    return row["outcome"].split(";")[0]


def _sums(eye: str) -> list[Line]:
    """Bed and altered share of an eye whose thickness, cut and removal were all reported; empty for others."""
    found = next((case for case in published_cases() if case.code == eye), None)
    if found is None or not set(REPORTED.values()) & set(found.inputs.values):
        return []
    way = next(way for way, name in REPORTED.items() if name in found.inputs.values)
    figures = found.comparison.results[way].budget
    quantities = {
        "thickness": (float(found.comparison.cornea.central_thickness_um), 0),
        "cut": (float(figures.cut_um), 0),
        "removed": (float(figures.removal_central_um), 0),
    }
    bed = Line(f"{_called(eye)}, by its reported figures: bed", float(figures.bed_central_um), "µm", 0, BESIDE)
    share = Line(f"{_called(eye)}: altered", float(figures.altered_percent), "%", 1, BESIDE)
    taken = Line(f"{_called(eye)}: removed", float(figures.removed_percent), "%", 1, BESIDE)
    return [
        bed.by("{thickness} − {cut} − {removed}", quantities),
        share.by("100 · ({cut} + {removed}) / {thickness}", quantities),
        taken.by("100 · {removed} / {thickness}", quantities),
    ]
