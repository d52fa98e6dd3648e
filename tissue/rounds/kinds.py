"""Asking: one question of a kind, and a round of questions that a seed makes again.

A new kind is a table in data/rounds.toml, a function (case, rng) → Question or None, and its line in MAKERS.
"""

from collections.abc import Callable

import numpy as np

from tissue.errors import EyeError
from tissue.rounds import on_depth, on_figures, on_published, on_refraction, on_removal, on_routes, on_strength
from tissue.rounds.question import kinds

LARGEST_SEED = 2**32 - 1
MAKERS: dict[str, Callable] = {
    "equivalent": on_refraction.equivalent,
    "transpose": on_refraction.transpose,
    "meridian": on_refraction.steepest_meridian,
    "vertex": on_refraction.vertex,
    "slip": on_refraction.slip,
    "turn-share": on_refraction.turn_share,
    "turn-left": on_refraction.turn_left,
    "deepest": on_removal.deepest,
    "thumb": on_removal.thumb,
    "thumb-apart": on_removal.thumb_apart,
    "zone": on_removal.zone,
    "bed": on_depth.bed,
    "thick-flap": on_depth.thick_flap,
    "altered": on_depth.altered,
    "ranking": on_strength.ranking,
    "credits": on_strength.credits,
    "suction": on_routes.suction,
    "recut": on_routes.recut,
    "reserve": on_routes.reserve,
    "second": on_routes.second,
    "chance": on_figures.chance,
    "K-after": on_figures.K_after,
    "asphericity": on_figures.asphericity,
    "rule": on_published.rule,
}


def ask(kind, case, rng):
    """A Question of a kind about an eye; None where the eye does not carry it.

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
    return MAKERS[_known(kind)](case, rng)


def _known(kind):
    """The kind, or an EyeError that names those there are."""
    if kind not in MAKERS:
        raise EyeError("kind", kind, ", ".join(MAKERS))
    return kind


def round_of(cases, seed, count, wanted=None):
    """Questions about some eyes, all unlike; the same again for the same seed, eyes and kinds.

    Every kind comes once before any comes again. What a question varies follows from the seed and its number in the
    round, not from the eye.

    Args:
        cases: Cases.
        seed: whole number, 0 to 4,294,967,295.
        count: how many are wanted; fewer come where the eyes carry no more.
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
    found: dict = {}
    while len(found) < count and not idle:
        idle = True
        for at in order.permutation(len(names)):
            turn += 1
            question = _first_new(names[at], cases, (seed, turn), found) if len(found) < count else None
            if question is not None:
                found[question.id], idle = question, False
    return tuple(found.values())


def _first_new(kind, cases, key, known):
    """The first question of a kind that is not known yet, the eyes in an order of their own; None where none is."""
    order = np.random.default_rng((*key, 1)).permutation(len(cases))
    for at in order:
        question = ask(kind, cases[at], np.random.default_rng(key))
        if question is not None and question.id not in known:
            return question
    return None
