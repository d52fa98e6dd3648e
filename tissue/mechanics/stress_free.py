"""The shape an eye would have without pressure, found so that the pressure gives the measured one.

X ← X − (x(X) − measured) for the free nodes, x(X) where the pressure takes X; source ariza_gracia2016.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import Array
from tissue.mechanics.body import CLOSED, INTACT_CLOSED, SLIDING, Loaded, bodies
from tissue.mechanics.laws.law import Law
from tissue.mechanics.mesh import Section
from tissue.mechanics.shape import Setting
from tissue.mechanics.solve import NoEquilibrium

NEAR_MM = 1e-4
MOST_STEPS = 30
NO_SLIDING = "the fibre law has no sliding faces"
NO_EQUILIBRIUM = "no equilibrium found"


@dataclass(frozen=True, eq=False)
class StressFree:
    """Where the intact eye's points lie without pressure.

    place: original stromal fraction, shape (rows, columns). shift_mm: X − x at those points, shape (2, rows, columns).
    cap_mm: the points in front of the cut, shape (2, rows, columns). error_um: greatest distance of a node from the
    measured one under the pressure. steps: of the shape; newton_steps: of all solutions together.
    """

    place: np.ndarray
    shift_mm: np.ndarray
    cap_mm: np.ndarray
    error_um: float
    steps: int
    newton_steps: int

    def points_mm(self, part: Section, own_length: bool = False) -> Array:
        """Points of a Section without pressure [mm], shape (2, nodes).

        A point keeps X − x of its column and original depth; a draped cap takes it along.

        Args:
            part: Section.
            own_length: whether the cap lies where it lay in the intact eye, as long as it was.
        """
        made = part.points_mm.copy()
        for grid, place in zip(part.grids, _places(part), strict=True):
            made[:, grid] = part.points_mm[:, grid] + self._shift(place)
        if own_length and part.seam is not None:
            made[:, part.grids[0][:-1]] = self.cap_mm[:, :-1]
            made[:, part.seam[0, :-1]] = self.cap_mm[:, -1, : part.seam.shape[1] - 1]
        return made

    def _shift(self, place: Array) -> Array:
        """X − x [mm] at original stromal fractions, shape (rows, columns); linear between the rows."""
        columns = range(place.shape[1])
        return np.stack(
            [
                np.stack([np.interp(place[:, j], self.place[:, j], shift[:, j]) for j in columns], axis=1)
                for shift in self.shift_mm
            ]
        )


def stress_free(part: Section, law: Law, setting: Setting) -> StressFree:
    """StressFree of an intact Section.

    Args:
        part: Section with nothing taken.
        law: see mechanics/laws/law.py.
        setting: Setting.

    Raises:
        EyeError: no such shape was found.
    """
    points, newton_steps = part.points_mm.copy(), 0
    try:
        for step in range(1, MOST_STEPS + 1):
            loaded = bodies({"intact": part}, setting, points={"intact": points}).load(law)
            newton_steps += loaded.field.steps
            apart = points + loaded.moved_mm("intact") - part.points_mm
            error = float(np.hypot(*apart).max())
            if error < NEAR_MM:
                return _found(part, points, 1000.0 * error, step, newton_steps)
            points = points - apart
    except NoEquilibrium:
        pass
    raise EyeError("law", "fibre", "a law and a pressure for which the eye has a stress-free shape")


def intact_shape(sections: dict[str, Section], law: Law, setting: Setting) -> StressFree:
    """StressFree of an eye from its intact Section among others.

    Args:
        sections: {name: Section}.
        law: see mechanics/laws/law.py.
        setting: Setting.

    Raises:
        EyeError: no such shape was found.
    """
    return stress_free(next(part for name, part in sections.items() if name.startswith("intact")), law, setting)


def load_from(
    shape: StressFree, sections: dict[str, Section], law: Law, setting: Setting, kept: dict[str, float]
) -> tuple[Loaded, dict[str, str]]:
    """Sections under pressure, each from its own stress-free shape: a Loaded, and why some cannot be, {name: words}.

    Args:
        shape: StressFree of the intact eye.
        sections: {name: Section}; the sliding one is closed instead: its cap keeps its own length.
        law: see mechanics/laws/law.py.
        setting: Setting.
        kept: as in mechanics/body.py.
    """
    parts = {CLOSED if name == SLIDING else name: part for name, part in sections.items()}
    points = {name: shape.points_mm(part, name == CLOSED) for name, part in parts.items()}

    def load(names: Iterable[str]) -> Loaded:
        tied = tuple(name for name in names if name in (CLOSED, INTACT_CLOSED))
        return bodies({name: parts[name] for name in names}, setting, kept, points, tied).load(law)

    why_not = {SLIDING: NO_SLIDING}
    try:
        return load(parts), why_not
    except NoEquilibrium:
        alone = [name for name in parts if _rests(load, name)]
        return load(alone), why_not | {name: NO_EQUILIBRIUM for name in parts if name not in alone}


def _rests(load: Callable[..., Any], name: str) -> bool:
    """Whether one section alone comes to rest."""
    try:
        load([name])
    except NoEquilibrium:
        return False
    return True


def _found(part: Section, points: Array, error_um: float, steps: int, newton_steps: int) -> StressFree:
    """StressFree of an intact Section and its points."""
    grid = np.concatenate([part.grids[0], part.grids[1][1:]])
    above, below = _places(part)
    return StressFree(
        place=np.concatenate([above, below[1:]]),
        shift_mm=(points - part.points_mm)[:, grid],
        cap_mm=points[:, part.grids[0]],
        error_um=error_um,
        steps=steps,
        newton_steps=newton_steps,
    )


def _places(part: Section) -> list[Array]:
    """Original stromal fraction at the nodes of both layers, shape (rows, columns) each."""
    made = []
    for number, grid in enumerate(part.grids):
        place = np.zeros(part.points_mm.shape[1])
        mine = part.layer == number
        place[part.quads[:, mine]] = part.place[:, mine]
        made.append(place[grid])
    return made
