"""The ladder run anew and laid beside what is kept of it."""

from tissue.mechanics.ladder.cases import cases, kept_runs
from tissue.mechanics.ladder.experiments import EXPERIMENTS
from tissue.mechanics.laws.choice import Choice

SAME = 1e-3


def choice_of(run):
    """Choice of the law of a Run; None where only geometry counts."""
    if run.law is None:
        return None
    return Choice(run.relationship, run.law, run.shear_ratio, run.shear_relationship, run.set)


def differences(name, wanted=None):
    """Runs of a case that give something else than what is kept, in words.

    wanted: of a Run, whether it is looked at; every run where None.
    """
    case, found, words = cases()[name], {}, []
    for run in kept_runs()[name]:
        if wanted is not None and not wanted(run):
            continue
        key = (run.law, run.relationship, run.shear_ratio, run.shear_relationship, run.set)
        if key not in found:
            found[key] = EXPERIMENTS[case.experiment](case, choice_of(run))
        if not alike(found[key][run.state], run.value):
            words.append(f"{name}, {key}, {run.state}: kept {run.value}, now {found[key][run.state]}")
    return words


def alike(one, two):
    """Whether two values are the same, numbers to a part in a thousand or a thousandth of a percent point."""
    if isinstance(one, list) or isinstance(two, list):
        return list(one) == list(two)
    return abs(one - two) <= SAME * max(1.0, abs(two))
