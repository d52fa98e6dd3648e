"""Makes one question of a kind, or a round of questions that its seed repeats.

A new kind is a table in data/rounds.toml, a function (case, rng) → Question or None, and its line in MAKERS.
"""

from collections.abc import Callable, Collection, Sequence
from copy import deepcopy
from dataclasses import replace

import numpy as np

from tissue.ground.errors import EyeError
from tissue.rounds.about import (
    agreement,
    depth,
    figures,
    followup,
    least,
    mechanics,
    own_map,
    published,
    refraction,
    removal,
    rescue,
    routes,
    sight,
    strength,
)
from tissue.rounds.cases import Case
from tissue.rounds.line import Slip
from tissue.rounds.question import Question, kinds

LARGEST_SEED = 2**32 - 1
Maker = Callable[[Case, np.random.Generator], Question | None]
MAKERS: dict[str, Maker] = {
    "equivalent": refraction.equivalent,
    "transpose": refraction.transpose,
    "meridian": refraction.steepest_meridian,
    "vertex": refraction.vertex,
    "target": refraction.target,
    "slip": refraction.slip,
    "turn-share": refraction.turn_share,
    "turn-left": refraction.turn_left,
    "deepest": removal.deepest,
    "thumb": removal.thumb,
    "thumb-apart": removal.thumb_apart,
    "zone": removal.zone,
    "bed": depth.bed,
    "thick-flap": depth.thick_flap,
    "altered": depth.altered,
    "altered-flap": depth.altered_flap,
    "least-bed": least.least_bed,
    "map-law": own_map.map_law,
    "ranking": strength.ranking,
    "credits": strength.credits,
    "suction": routes.suction,
    "cut-radius": rescue.cut_radius,
    "cut-share": rescue.cut_share,
    "clock": rescue.clock_time,
    "new-cap": rescue.new_cap,
    "rescue-flap": rescue.rescue_flap,
    "recut": routes.recut,
    "reserve": routes.reserve,
    "second": routes.second,
    "gain": followup.gain,
    "achieved": followup.taken_by_readings,
    "account": followup.account,
    "bed-sd": figures.bed_sd,
    "chance": figures.chance,
    "K-after": figures.K_after,
    "asphericity": figures.asphericity,
    "zone-share": sight.outside,
    "blur": sight.blur_disc,
    "agreement-bias": agreement.bias,
    "agreement-limit": agreement.limit,
    "range-order": mechanics.range_order,
    "range-width": mechanics.range_width,
    "rule": published.rule,
}


def ask(kind: str, case: Case, rng: np.random.Generator) -> Question | None:
    """A Question of a kind about an eye; None where the eye does not allow it.

    Args:
        kind: id of a kind.
        case: Case.
        rng: NumPy generator; what a question may vary is drawn from it.

    Raises:
        EyeError: an unknown kind.

    >>> from tissue.rounds.cases import published_cases
    >>> question = ask("thumb", published_cases()[0], np.random.default_rng(1))
    >>> question.answer_words, question.tolerance
    ('88 µm', 2.0)
    """
    again = deepcopy(rng)  # the other eye gets the same draws
    found = MAKERS[_known(kind)](case, rng)
    if found is None or case.other is None:
        return found
    other = MAKERS[kind](case.other, again)
    if other is None or other.prompt != found.prompt or (found.form == "one" and other.answer not in found.choices):
        return found
    return replace(found, slips=(*found.slips, Slip("other-eye", other.answer)))


def _known(kind: str) -> str:
    """The kind, or an EyeError that names the known ones."""
    if kind not in MAKERS:
        raise EyeError("kind", kind, ", ".join(MAKERS))
    return kind


def round_of(
    cases: Sequence[Case], seed: int, count: int, wanted: Collection[str] | None = None
) -> tuple[Question, ...]:
    """Different questions about some eyes; the same seed, eyes and kinds give the same round.

    Every kind comes once before any comes again. What a question varies follows from the seed and its number in the
    round, not from the eye.

    Args:
        cases: Cases.
        seed: whole number, 0 to 4,294,967,295.
        count: how many are wanted; fewer are made where the eyes allow no more.
        wanted: ids of kinds; all where None or empty.

    Raises:
        EyeError: an unknown kind, a seed out of its range.

    >>> from tissue.rounds.cases import published_cases
    >>> [len(round_of(published_cases(), 7, 5, ["bed", "thumb"])), len(round_of((), 7, 5))]
    [5, 0]
    """
    if not 0 <= seed <= LARGEST_SEED:
        raise EyeError("seed", seed, f"0 to {LARGEST_SEED:,}")
    names = [name for name in kinds() if name in {_known(one) for one in wanted or kinds()}]
    order, turn, idle = np.random.default_rng(seed), 0, False
    found: dict[str, Question] = {}
    while len(found) < count and not idle:
        idle = True
        for at in order.permutation(len(names)):
            turn += 1
            question = _first_new(names[at], cases, (seed, turn), found) if len(found) < count else None
            if question is not None:
                found[question.id], idle = question, False
    return tuple(found.values())


def _first_new(kind: str, cases: Sequence[Case], key: tuple[int, int], known: Collection[str]) -> Question | None:
    """The first new question of a kind, with the eyes in a drawn order; None where there is none."""
    order = np.random.default_rng((*key, 1)).permutation(len(cases))
    for at in order:
        question = ask(kind, cases[at], np.random.default_rng(key))
        if question is not None and question.id not in known:
            return question
    return None
