"""Invented cohorts of measured eyes: `python tests/support/own_cohorts.py` prints how often intervals hold the truth.

A centre's bias is drawn from the published spread between centres, its SD between eyes about the published one; the
eyes of a patient are alike to a degree that differs from cohort to cohort, and some values are gross errors.
"""

import sys

import numpy as np

from tissue.followup.own import error_kinds, own_error

SMALL, LARGE = (6, 13), (13, 61)  # patients, last one excluded


def cohort(rng, prior, patients, gross):
    """Truth of the centre, differences, and who each eye belongs to; at least ten eyes."""
    m = int(rng.integers(*patients))
    count = np.where(rng.random(m) < 0.7, 2, 1)
    if count.sum() < 12:
        count[:] = 2
    who = np.repeat(np.arange(m), count)
    truth, sd, alike = (
        rng.normal(prior.bias, prior.between_sd),
        prior.eye_sd * rng.uniform(0.7, 1.4),
        rng.uniform(0, 0.8),
    )
    shared, own = rng.normal(size=m)[who], rng.normal(size=who.size)
    d = truth + sd * (np.sqrt(alike) * shared + np.sqrt(1 - alike) * own)
    wrong = rng.random(who.size) < gross
    return truth, d + wrong * rng.choice([-1, 1], who.size) * sd * rng.uniform(6, 20, who.size), who


def coverage(id, patients, gross, cohorts, seed):
    """Share [%] of cohorts whose interval of the bias holds the truth, and of eyes inside; cohorts with figures."""
    rng, prior = np.random.default_rng(seed), error_kinds()[id].prior
    held = inside = of = 0
    found = []
    for _ in range(cohorts):
        truth, d, who = cohort(rng, prior, patients, gross)
        own = own_error(d, who, error_kinds()[id])
        if not own.why_not:
            found.append(own)
            held += own.bias_low <= truth <= own.bias_high
            inside, of = inside + own.inside, of + own.of
    return 100.0 * held / len(found), 100.0 * inside / of, len(found)


def main(cohorts):
    print("| error | patients | gross errors | cohorts | bias held, % | eyes inside, % |")
    print("|---|---|---|---|---|---|")
    for id, kind in error_kinds().items():
        for patients in (SMALL, LARGE) if kind.has_bias else ():
            for gross in (0.0, 0.03):
                held, inside, n = coverage(id, patients, gross, cohorts, 7)
                between = f"{patients[0]}–{patients[1] - 1}"
                print(f"| {id} | {between} | {100 * gross:.0f} % | {n} | {held:.1f} | {inside:.1f} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
