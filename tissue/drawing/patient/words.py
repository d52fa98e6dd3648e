"""What a patient reads about one way in one eye: words of data/explain.toml with the figures of the plan in mm."""

from dataclasses import dataclass

import numpy as np

from tissue.budget.budget import deepest_off_centre, nothing_to_treat
from tissue.drawing.base.words import length
from tissue.followup.published import pool_rows, pools
from tissue.sources import data
from tissue.vocabulary import NO_FIGURE, rounded

STEPS = tuple(data("explain")["steps"])
WAYS = {name: way["name"] for name, way in data("explain")["ways"].items()}
PAGE, PAPER_LABELS, FAMILIAR = (data("explain")[part] for part in ("page", "paper_labels", "familiar"))
TODAY = data("explain")["bars"]["today"]
STANDING = PAGE["standing"]
LEAST_SAID_UM = 5.0  # a removal in the middle under this rounds to nothing


@dataclass(frozen=True, eq=False)
class Story:
    """One way in one eye as a patient reads it.

    way, name: for the program and in words. ring: whether the piece is thickest away from the middle. why_not: why
    there is nothing to show. steps: (head, sentence) in order, only the first where there is nothing to show. layer:
    what lies on top of the cut, in a word. figures: by name, as written, in mm. known: where the figures come from,
    and what was counted. unknown, missing: paragraphs. questions: sentences.
    """

    way: str
    name: str
    ring: bool
    available: bool
    why_not: str
    steps: tuple
    layer: str
    figures: dict
    known: tuple
    unknown: str
    missing: str
    questions: tuple


def mm(value_um):
    """A thickness in mm with two decimals, as a patient reads it.

    Args:
        value_um: thickness [µm]; NaN gives an en dash.

    >>> mm(303.5), mm(548.0), mm(float("nan"))
    ('0.30', '0.55', '–')
    """
    return rounded(np.asarray(value_um, dtype=float)[()] / 1000.0, 2)


def paper_words(value_um):
    """How thick something is beside a sheet of paper.

    Args:
        value_um: thickness [µm].

    >>> paper_words(124.0)
    'a bit thicker than a sheet of paper'
    """
    table = data("explain")
    sheets = float(value_um) / table["familiar"]["paper"]["thickness_um"]
    return next(row["words"] for row in table["paper"] if sheets <= row["up_to"])


def story(comparison, way):
    """The Story of one way in one eye.

    Args:
        comparison: Comparison of one eye.
        way: `surface`, `flap` or `lenticule`.
    """
    words, result = data("explain"), comparison.results[way]
    said, own = words["said"], words["ways"][way]
    figures = _figures(comparison, result)
    figures["thinnest"] = "" if figures["least"] == figures["bed"] else said["least"].format(**figures)
    available = bool(result.available)
    sentences = [said["before"]]
    if available:
        sentences += [own["cut"], f"{own['out']} {_thickness(result, said)}", own["stays"]]
    return Story(
        way=way,
        name=own["name"],
        ring=available and bool(deepest_off_centre(result.option)),
        available=available,
        why_not="" if available else said["nothing" if nothing_to_treat(result.option) else "gone"],
        steps=tuple((words["steps"][step], s.format(**figures)) for step, s in zip(STEPS, sentences, strict=False)),
        layer=own["layer"],
        figures=figures,
        known=_known(figures, said, own["held"]),
        unknown=said["unknown"],
        missing=said["missing"],
        questions=tuple(said["questions"]),
    )


def _figures(comparison, result):
    """Every figure a sentence may hold, as it is written; those of the Comparison, never worked out again."""
    budget, spread = result.budget, result.spread
    least = min(float(budget.bed_min_um), float(budget.bed_central_um))
    most = float(budget.removal_max_um if deepest_off_centre(result.option) else budget.removal_central_um)
    return {
        "today": mm(comparison.cornea.central_thickness_um),
        "cut": mm(budget.cut_um),
        "removed": mm(budget.removal_central_um),
        "most": mm(most),
        "bed": mm(budget.bed_central_um),
        "least": mm(least),
        "low": mm(spread.bed_low_um),
        "high": mm(spread.bed_high_um),
        "opening": length(comparison.cap.incision_mm).removesuffix(".0"),
        "paper": paper_words(most) if most > 0 else "",
        "lost": _lost(),
    }


def _thickness(result, said):
    """The sentence on how thick the piece is: in the middle, or where it is thickest."""
    if not deepest_off_centre(result.option):
        return said["middle"]
    return said["ring" if float(result.budget.removal_central_um) >= LEAST_SAID_UM else "ring_only"]


def _known(figures, said, held):
    """What is known: where the figures come from, and what was counted."""
    interval = figures["low"] != NO_FIGURE and not figures["low"].startswith("−")
    first = "known" if interval else "known_less"
    return said[first].format(**figures), held.format(**figures)


def _lost():
    """How often suction was lost in the published studies, as counts over 1,000 eyes."""
    pool, studies = pools()["suction"], pool_rows("suction")
    shares = [1000.0 * one.count / one.of for one in studies]
    least, most = f"{min(shares):.0f}", f"{max(shares):.0f}"
    return (
        f"about {10.0 * pool.mean:.0f} of 1,000 eyes in {len(studies)} studies. One study had {least} of 1,000. "
        f"One had {most} of 1,000"
    )
