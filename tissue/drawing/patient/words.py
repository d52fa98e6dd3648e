"""What a patient reads about one way in one eye: sentences of data/words/ with the figures of the plan in mm."""

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from tissue.budget.budget import Budget, deepest_off_centre, nothing_to_treat
from tissue.budget.comparison import Comparison, Result
from tissue.drawing.base.words import length
from tissue.drawing.patient.language import FIRST, mm, mm_or_less, with_sign, words
from tissue.drawing.patient.place import most
from tissue.ground.published import pool_rows, pools
from tissue.ground.sources import data
from tissue.ground.vocabulary import NO_FIGURE, Floats, rounded
from tissue.removal.options import Errors

STEPS = ("before", "cut", "out", "stays")
WAYS = tuple(words(FIRST)["ways"])
LEAST_SAID_UM = 5.0  # a smaller removal in the middle rounds to nothing


@dataclass(frozen=True, eq=False)
class Story:
    """One way in one eye as a patient reads it.

    comparison, way, side, language: what it is told of. name: of the way, in words. place: where most is taken, a
    key of [places] or `middle`; where: the same in words. why_not: why there is nothing to show. steps: (head,
    sentence) in order, only the first where there is nothing to show. layer: what lies on top of the cut, in a word.
    figures: by name, as written, in mm. known: where the figures come from, and what the range owes to a usual shift.
    held, unknown, missing: paragraphs. questions: sentences.
    """

    comparison: Any
    way: str
    side: str
    language: str
    name: str
    place: str
    where: str
    available: bool
    why_not: str
    steps: tuple[tuple[str, str], ...]
    layer: str
    figures: dict[str, str]
    known: tuple[str, ...]
    held: str
    unknown: str
    missing: str
    questions: tuple[str, ...]

    @property
    def words(self) -> dict[str, Any]:
        """The sentences of its language."""
        return words(self.language)

    @property
    def result(self) -> Result:
        """The Result of its way."""
        return self.comparison.results[self.way]

    @property
    def ring(self) -> bool:
        """Whether the piece is thickest away from the middle."""
        return self.place != "middle"


def paper_words(value_um: Floats, language: str) -> str:
    """How thick something is compared with a sheet of paper.

    Args:
        value_um: thickness [µm].
        language: one of LANGUAGES.

    >>> paper_words(124.0, "en")
    'a bit thicker than a sheet of paper'
    """
    table = data("explain")
    sheets = float(value_um) / table["familiar"]["paper"]["thickness_um"]
    return words(language)["paper"][next(row["words"] for row in table["paper"] if sheets <= row["up_to"])]


def story(comparison: Comparison, way: str, side: str, language: str = FIRST) -> Story:
    """The Story of one way in one eye.

    Args:
        comparison: Comparison of one eye.
        way: name of an option that has words.
        side: `OD` or `OS`.
        language: one of LANGUAGES.
    """
    text, result = words(language), comparison.results[way]
    said, own, available = text["said"], text["ways"][way], bool(result.available)
    place = most(comparison, way, side).kind if available else "middle"
    where = text["places"].get(place, "")
    figures = _figures(comparison, result, language) | {"place": where}
    figures["thinnest"] = said["least"].format(**figures) if _thinnest_is_said(comparison) else ""
    sentences = [said["before"]]
    if available:
        sentences += [own["cut"], f"{own['out']} {_thickness(result, place, said)}", own["stays"]]
    return Story(
        comparison=comparison,
        way=way,
        side=side,
        language=language,
        name=own["name"],
        place=place,
        where=where,
        available=available,
        why_not="" if available else said["nothing" if nothing_to_treat(result.option) else "gone"],
        steps=tuple((text["steps"][step], s.format(**figures)) for step, s in zip(STEPS, sentences, strict=False)),
        layer=own["layer"],
        figures=figures,
        known=_known(comparison, result, figures, language),
        held=own["held"].format(**figures),
        unknown=said["unknown"].format(own=own["unknown"]),
        missing=said["missing"],
        questions=tuple(said["questions"]),
    )


def _thinnest_is_said(comparison: Comparison) -> bool:
    """Whether the thinnest place is mentioned: in all ways, if it differs from the middle in any of them."""
    offered = [one.budget for one in comparison.results.values() if one.available]
    return any(mm(least_um(one), FIRST) != mm(one.bed_central_um, FIRST) for one in offered)


def least_um(budget: Budget) -> float:
    """The least that stays below [µm]: at the thinnest place or in the middle.

    Args:
        budget: Budget of one eye.
    """
    return min(float(budget.bed_min_um), float(budget.bed_central_um))


def most_um(result: Result) -> float:
    """The thickness of the piece where it is thickest, or in the middle where that is as thick [µm].

    Args:
        result: Result of one eye.
    """
    budget = result.budget
    return float(budget.removal_max_um if deepest_off_centre(result.option) else budget.removal_central_um)


def _figures(comparison: Comparison, result: Result, language: str) -> dict[str, str]:
    """Every figure a sentence may hold, as it is written; those of the Comparison, never worked out again."""
    budget, spread, thickest = result.budget, result.spread, most_um(result)
    return {
        "today": mm(comparison.cornea.central_thickness_um, language),
        "cut": mm(budget.cut_um, language),
        "removed": mm_or_less(budget.removal_central_um, language),
        "most": mm_or_less(thickest, language),
        "bed": mm_or_less(budget.bed_central_um, language),
        "least": mm_or_less(least_um(budget), language),
        "share": rounded(budget.bed_percent, 0),
        "low": mm(spread.bed_low_um, language),
        "high": mm(spread.bed_high_um, language),
        "opening": with_sign(length(comparison.cap.incision_mm).removesuffix(".0"), language),
        "paper": paper_words(thickest, language) if thickest > 0 else "",
        "lost": _lost(language),
    }


def _thickness(result: Result, place: str, said: dict[str, Any]) -> str:
    """The sentence on how thick the piece is: in the middle, or where it is thickest."""
    if place == "middle":
        return said["middle"]
    return said["ring" if float(result.budget.removal_central_um) >= LEAST_SAID_UM else "ring_only"]


def _known(comparison: Comparison, result: Result, figures: dict[str, str], language: str) -> tuple[str, ...]:
    """Where the figures come from, and how a usual shift contributes to a range."""
    said = words(language)["said"]
    if figures["low"] == NO_FIGURE or figures["low"].startswith("−"):
        return (said["known_less"],)
    return said["known"].format(**figures), shift_words(comparison, result, language)


def shift_words(comparison: Comparison, result: Result, language: str) -> str:
    """What a way leaves more or less than planned on average, which its range includes.

    Args:
        comparison: Comparison of one eye.
        result: Result of the way.
        language: one of LANGUAGES.
    """
    said, shift = words(language)["said"], shift_um(comparison, result)
    standing = Errors()
    usual = all(getattr(comparison.errors, one.name) == getattr(standing, one.name) for one in fields(Errors))
    by = "studies" if usual else "given"
    if float(np.round(shift, 1)) == 0.0:
        return said[f"shift_none_{by}"]
    towards = "more" if shift > 0 else "less"
    size = "_small" if abs(shift) < LEAST_SAID_UM else ""
    much = said[f"shift_{towards}{size}"].format(shift=mm(abs(shift), language))
    return said[f"shift_{by}"].format(shift=much, looks=said[f"looks_{towards}"])


def shift_um(comparison: Comparison, result: Result) -> float:
    """By how much more stays than planned on average, by the biases of measuring, cutting and removing [µm].

    Where next to nothing is taken in the middle, the bias of the removal does not act there.

    Args:
        comparison: Comparison of one eye.
        result: Result of the way.
    """
    option = result.option
    removal = option.removal_error.bias_um if float(result.budget.removal_central_um) >= LEAST_SAID_UM else 0.0
    return float(comparison.errors.thickness_bias_um - option.cut_error.bias_um - removal)


def _lost(language: str) -> str:
    """How often suction was lost in the published studies, as counts over 1,000 eyes."""
    pool, studies = pools()["suction"], pool_rows("suction")
    shares = [1000.0 * one.count / one.of for one in studies]
    counts = {"mean": f"{10.0 * pool.mean:.0f}", "least": f"{min(shares):.0f}", "most": f"{max(shares):.0f}"}
    return words(language)["said"]["lost"].format(studies=len(studies), **counts)


def standing(language: str) -> str:
    """The caution of the patient's page, in a language.

    >>> standing("en")[:14]
    'This page help'
    """
    return words(language)["page"]["standing"]
