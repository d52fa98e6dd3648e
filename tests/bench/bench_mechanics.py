"""Cost of the stress picture: all six states of one eye in one solution, against unknowns, and at the slider's mesh.

Run with `python tests/bench/bench_mechanics.py [repeats]`. The intact eye is solved twice, with the elements of the cap
and with those of the flap. The floor is SciPy's factorisation of a plain Laplace matrix with as many unknowns, twice.
"""

import sys
from dataclasses import replace

from measure import Row, median_s, run, show
from scipy.sparse import diags, kron
from scipy.sparse.linalg import splu

from tissue import Cornea, Refraction, Treatment, compare
from tissue.mechanics import PICTURE, SLIDER, mechanics, model, runs, section_plan
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.space.bricks import factored
from tissue.mechanics.space.columns import FINENESS
from tissue.mechanics.space.eye import CutDisc, State, eye_in_space

SPACE = """from tissue import *
from tissue.mechanics import Choice
from tissue.mechanics.space.plan import SpaceRequest, states_in_space
list(states_in_space(compare(Cornea(550.0), Treatment(Refraction(-6.0, -1.0, 20.0))), SpaceRequest(Choice())))"""
SIZES_MM = (0.2, 0.1, 0.05)


def laplace(unknowns):
    """The matrix of Laplace's equation on a square grid of about so many points."""
    side = round(unknowns**0.5)
    line = diags([-1.0, 2.0, -1.0], [-1, 0, 1], shape=(side, side))
    one = diags([1.0], [0], shape=(side, side))
    return (kron(line, one) + kron(one, line)).tocsc()


def rows(repeats=7):
    """Rows of the table."""
    eye = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    mechanics(eye, setting=SLIDER)
    known = {PICTURE.size_mm: ("picture", PICTURE, 1.0), SLIDER.size_mm: ("slider", SLIDER, 0.3)}
    for size in sorted({*SIZES_MM, *known}, reverse=True):
        name, setting, allowed = known.get(size, (f"{size} mm", replace(PICTURE, size_mm=size), None))
        solid = model(section_plan(eye), setting).bodies.solid
        unknowns = solid.displacement.N + solid.pressure.N
        took = median_s(lambda setting=setting: mechanics(eye, setting=setting), repeats if size >= 0.1 else 3)
        bare = 2.0 * median_s(lambda n=unknowns: splu(laplace(n)), 3)
        words = f"six states, mesh {name}, {unknowns:,} unknowns, {1e6 * took / unknowns:.1f} µs each"
        yield Row(words, took, "s", allowed, bare, "two bare factorisations, s")
    fibre = Choice(law="fibre")
    for setting, allowed in ((SLIDER, 1.0), (PICTURE, None)):
        took = median_s(lambda setting=setting: mechanics(eye, fibre, setting), 3)
        solid = model(section_plan(eye), setting).bodies.solid
        unknowns = sum(solid.size)
        bare = median_s(lambda n=unknowns: splu(laplace(n)), 3)
        words = f"fibre law, shape and six states, mesh {setting.size_mm} mm"
        yield Row(words, took, "s", allowed, bare, "one bare factorisation of the six, s")
    made = model(section_plan(eye), PICTURE)
    yield Row(
        "value and spread, all relationships, mesh picture",
        median_s(lambda: runs(made, Choice().laws(made.plan.shape, PICTURE)), 3),
        "s",
    )
    yield from space_rows(eye)


def space_rows(eye):
    """Rows of the plan in three dimensions: a state, beside the bare factorisation of its very matrix."""
    plan = section_plan(eye)
    law = Choice().law_of(plan.shape, PICTURE)
    cut = CutDisc(plan.lenticule.depth_mm, 0.0, 0.0, plan.lenticule.radius_mm)
    for mesh, allowed in (("coarse", 1.0), ("fine", 4.0)):
        divided = eye_in_space(eye.cornea, cut, PICTURE, FINENESS[mesh])
        state = State(eye.under_cap.option.removal.r_um)
        took = median_s(lambda divided=divided, state=state: divided.bricks(state).solve(law, 2.0).stress_kPa, 3)
        bricks = divided.bricks(state)
        matrix = bricks._reduced(bricks._matrix(*bricks._filled(law)))  # the one that `solve` factors
        bare = median_s(lambda matrix=matrix: factored(matrix), 3)
        words = f"three dimensions, a state, {mesh} mesh, {matrix.shape[0]:,} unknowns"
        yield Row(words, took, "s", allowed, bare, "its bare factorisation, s")
    seconds, most = run("-c", SPACE)
    yield Row("three dimensions, all states, fine, in a process of its own", seconds, "s")
    yield Row("the same, greatest memory", most, "MB", 1024.0)


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
