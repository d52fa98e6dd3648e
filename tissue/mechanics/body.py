"""Turns sections into solids: what is left out of them, and how stiff each point is; all states in one assembly."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.ground.vocabulary import Array
from tissue.mechanics.laws.law import Law, Tissue
from tissue.mechanics.mesh import Section
from tissue.mechanics.shape import NUMBERS, Setting
from tissue.mechanics.solid import Solid, solid
from tissue.mechanics.solve import Field, Material, solve

SLIDING = "lenticule_sliding"
CLOSED = "lenticule_closed"  # the cap with its own length, tied to the bed
INTACT_CLOSED = "intact_closed"  # the intact eye with nodes of its own on both faces of that cut


@dataclass(frozen=True, eq=False)
class Piece:
    """One Section within the common Solid.

    present: which of its elements are there. carried: share of its stiffness that each of those keeps.
    elements, nodes: the place of its elements and nodes in the Solid. kept: the nodes of the Section that are there.
    apex: node at the back of the apex.
    """

    section: Section
    present: np.ndarray
    carried: np.ndarray
    elements: slice
    nodes: slice
    kept: np.ndarray
    apex: int


@dataclass(frozen=True, eq=False)
class Bodies:
    """Several states of one eye as one Solid of parts that do not touch: assembled and solved together."""

    pieces: dict[str, Piece]
    solid: Solid
    setting: Setting

    @cached_property
    def tissue(self) -> tuple[Tissue, Array]:
        """Tissue at the quadrature points, and the unit vector across its lamellae: ∇x, x the original fraction."""
        x, y = self.solid.displacement.X
        first, last = _slices(y, self.solid.displacement.W)
        pieces = self.pieces.values()
        place = np.concatenate([piece.section.place[:, piece.present] for piece in pieces], axis=1)
        sclera = np.concatenate([piece.section.sclera[piece.present] for piece in pieces])[:, np.newaxis]
        return Tissue(_at(place, x, first), _at(place, x, last), sclera), self._across(place)

    def _across(self, place: Array) -> Array:
        """∇x by bilinear functions, made a unit vector (r, z, 0); along the axis where x is even."""
        each = np.stack([function.grad for (function,) in self.solid.pressure.basis])
        r, z = np.einsum("ne,ncep->cep", place, each)
        size = np.hypot(r, z)
        even = size == 0.0
        size = np.where(even, 1.0, size)
        return np.stack([r / size, np.where(even, 1.0, z / size), np.zeros_like(r)], axis=-1)

    def load(self, law: Law) -> "Loaded":
        """The bodies under the pressure of their setting: a Loaded.

        Args:
            law: see mechanics/laws/law.py.

        Raises:
            NoEquilibrium: one of them comes to no rest.
        """
        tissue, normal = self.tissue
        carried = np.concatenate([piece.carried for piece in self.pieces.values()])[:, np.newaxis]
        filled = Material(law, tissue, normal, carried)
        start = None if law.linear else self._start
        return Loaded(self, solve(self.solid, filled, self.setting.pressure_kPa, start), law.linear)

    @property
    def _start(self) -> Array:
        """Displacement from the mesh's own nodes to the drawn ones [mm], at every degree of freedom."""
        basis = self.solid.displacement
        drawn = np.zeros_like(basis.mesh.p)
        for piece in self.pieces.values():
            drawn[:, piece.nodes] = piece.section.points_mm[:, piece.kept]
        apart, start = drawn - basis.mesh.p, np.zeros(basis.N)
        start[basis.nodal_dofs] = apart
        start[basis.facet_dofs] = apart[:, basis.mesh.facets].mean(axis=1)
        start[basis.interior_dofs] = apart[:, basis.mesh.t].mean(axis=1)
        return start


@dataclass(frozen=True, eq=False)
class Loaded:
    """Bodies under pressure."""

    bodies: Bodies
    field: Field
    linear: bool

    def mean(self, name: str, values: Array, layer: int | None = None) -> float:
        """Mean of a field over the central part of one layer, or of both, by volume; 0 where that layer is gone."""
        weight, elements = self._central(name, layer)
        return float(np.sum(weight * values[elements]) / np.sum(weight)) if np.any(weight) else 0.0

    def force(self, name: str, layer: int) -> float:
        """In-plane stress times volume over the central part of one layer of a state."""
        weight, elements = self._central(name, layer)
        return float(np.sum(weight * self.field.stress_kPa[elements]))

    def _central(self, name: str, layer: int | None = None) -> tuple[Array, slice]:
        """Volume of the points that count, 0 for the others, and where the elements of the state are."""
        piece = self.bodies.pieces[name]
        part, present = piece.section, piece.present
        counted = (part.layer[present] == layer) | (layer is None)
        return self.field.weight[piece.elements] * counted[:, np.newaxis] * self._within[piece.elements], piece.elements

    @cached_property
    def _within(self) -> Array:
        """Share of what each quadrature point stands for that lies within the central radius."""
        basis = self.field.solid.displacement
        x, y = basis.X
        first, last = _slices(x, basis.W)
        pieces = self.bodies.pieces.values()
        r = np.concatenate([p.section.points_mm[0, p.section.quads[:, p.present]] for p in pieces], axis=1)
        inner, outer = _at(r, first, y), _at(r, last, y)
        return np.clip((NUMBERS["central_radius_mm"] - inner) / (outer - inner), 0.0, 1.0)

    def moved_mm(self, name: str) -> Array:
        """Displacement of the nodes of a whole state [mm], shape (2, nodes)."""
        return self.field.displacement[self.field.solid.displacement.nodal_dofs[:, self.bodies.pieces[name].nodes]]

    def apex_mm(self, name: str) -> float:
        """How far the back of the apex moves forward [mm]."""
        degree = self.field.solid.displacement.nodal_dofs[1, self.bodies.pieces[name].apex]
        return float(-self.field.displacement[degree])


def bodies(
    sections: dict[str, Section],
    setting: Setting,
    kept: dict[str, float] | None = None,
    points: dict[str, Array] | None = None,
    tied: Sequence[str] = (),
) -> Bodies:
    """Bodies of several sections.

    Args:
        sections: {name: Section}.
        setting: Setting.
        kept: {name: share of its stiffness that the tissue in front of the cut keeps within it}, 1 where not named;
            0 leaves it out.
        points: {name: where its nodes lie without pressure [mm]}; as drawn where not named.
        tied: names of those whose cap and bed have nodes of their own but do not slide.
    """
    kept, points = kept or {}, points or {}
    pieces, meshes = {}, []
    first_element = first_node = 0
    for name, part in sections.items():
        piece, mesh = _piece(part, kept.get(name, 1.0), points.get(name, part.points_mm), first_element, first_node)
        pieces[name] = piece
        meshes.append(mesh)
        first_element, first_node = piece.elements.stop, piece.nodes.stop
    joined = {key: np.concatenate([mesh[key] for mesh in meshes], axis=-1) for key in meshes[0]}
    fixed = setting.boundary == "fixed limbus"
    made = solid(
        joined["points"],
        joined["quads"],
        pressed=joined["pressed"],
        axis=joined["axis"],
        held_z=() if fixed else joined["rim"],
        held=joined["rim"] if fixed else (),
        seams={name: mesh["seam"] for name, mesh in zip(pieces, meshes, strict=True) if mesh["seam"].size},
        tied=tied,
    )
    return Bodies(pieces, made, setting)


def _piece(
    part: Section, kept: float, points: Array, first_element: int, first_node: int
) -> tuple[Piece, dict[str, NDArray[Any]]]:
    """Piece of a Section and its share of the mesh, numbered from where the last piece ended."""
    cut_off = part.inside & (part.layer == 0)
    present = ~cut_off | (kept > 0.0)
    nodes, quads = np.unique(part.quads[:, present], return_inverse=True)
    new = np.full(part.points_mm.shape[1], -1)
    new[nodes] = np.arange(first_node, first_node + len(nodes))

    def still(old: NDArray[np.intp]) -> NDArray[np.intp]:
        return new[old][new[old] >= 0]

    mesh = {
        "points": points[:, nodes],
        "quads": quads.reshape(4, -1) + first_node,
        "pressed": new[part.grids[1][-1]],
        "axis": still(part.line_of_nodes(0)),
        "rim": still(part.line_of_nodes(-1)),
        "seam": np.zeros((2, 0), int) if part.seam is None else new[part.seam],
    }
    elements = slice(first_element, first_element + int(present.sum()))
    carried = np.where(cut_off[present], kept, 1.0)
    place = slice(first_node, first_node + len(nodes))
    return Piece(part, present, carried, elements, place, nodes, int(new[part.grids[1][-1, 0]])), mesh


def _slices(y: Array, weights: Array) -> tuple[Array, Array]:
    """Front and back ends, across an element, of what each quadrature point stands for."""
    levels, level = np.unique(y.round(9), return_inverse=True)
    ends = np.concatenate([[0.0], np.cumsum(np.bincount(level, weights, len(levels)))])
    return ends[level], ends[level + 1]


def _at(corners: Array, x: Array, y: Array) -> Array:
    """Bilinear value at (x, y) of an element from its corners, shape (elements, points)."""
    c = corners[..., np.newaxis]
    return (c[0] * (1.0 - x) + c[1] * x) * (1.0 - y) + (c[3] * (1.0 - x) + c[2] * x) * y
