"""Eyes that the tests of the rounds ask about: the demo profiles, published eyes, and random ones."""

from functools import cache

import numpy as np
from helpers import ROOT

from tissue.entry.plan_file import Plan, read_plan
from tissue.rounds.cases import cases_of, published_cases
from tissue.rounds.kinds import MAKERS, ask

SEEDS = (0, 3)


@cache
def demo_cases():
    """Every eye of the demo profiles without a map of its own: the brute force of the tests has the paraboloid."""
    files = sorted((ROOT / "demo_profiles").glob("*.toml"))
    found = (case for file in files for case in cases_of(read_plan(file), file.stem, "invented"))
    return tuple(case for case in found if case.comparison.cornea.own_map is None)


def case_of(**values):
    """A right eye by the names of the interface."""
    return cases_of(Plan("", {"OD": values}, {}), "an eye", "made up")[0]


@cache
def random_cases():
    """Twelve random eyes, myopic, mixed and hyperopic."""
    rng, found = np.random.default_rng(11), []
    for i in range(12):
        centre = float(rng.integers(470, 621))
        found.append(
            case_of(
                sphere_D=float(rng.integers(-36, 13)) / 4.0,
                cylinder_D=-float(rng.integers(0, 13)) / 4.0,
                axis_deg=float(rng.integers(1, 181)),
                central_thickness_um=centre,
                thinnest_um=centre - float(rng.integers(0, 13)),
                thinnest_x_mm=float(rng.integers(-8, 9)) / 10.0,
                thinnest_y_mm=float(rng.integers(-8, 9)) / 10.0,
                mean_K_D=float(rng.integers(410, 465)) / 10.0,
                zone_mm=float(rng.integers(60, 71)) / 10.0,
                flap_um=float(rng.integers(90, 131)),
                cap_um=float(rng.integers(100, 151)),
                profile=("munnerlyn", "conic", "parabolic")[i % 3],
            )
        )
    return tuple(found)


def all_cases():
    return (*demo_cases(), *published_cases(), *random_cases())


@cache
def map_cases():
    """The eyes of the demo profiles that have a map of their own."""
    files = sorted((ROOT / "demo_profiles").glob("*.toml"))
    found = (case for file in files for case in cases_of(read_plan(file), file.stem, "invented"))
    return tuple(case for case in found if case.comparison.cornea.own_map is not None)


OF_MAPS, MAP_SEEDS = ("map-law",), tuple(range(12))  # kinds that no other eye carries


@cache
def asked(kind):
    """(Case, Question) of a kind for every eye that carries it, by two seeds; alike questions once."""
    found = {}
    of_maps = kind in OF_MAPS
    for case in map_cases() if of_maps else all_cases():
        for seed in MAP_SEEDS if of_maps else SEEDS:
            question = ask(kind, case, np.random.default_rng(seed))
            if question is not None:
                found[id(case), question.id] = (case, question)
    return tuple(found.values())


KINDS = tuple(MAKERS)
