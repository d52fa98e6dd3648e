"""Relationship: how strength or stiffness falls with depth, as a piecewise polynomial."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from tissue.ground.sources import data
from tissue.ground.vocabulary import Floats


@dataclass(frozen=True, eq=False)
class Relationship:
    """A published depth relationship f, of which only the shape counts.

    Args:
        id, label, short: its name in files, in full, and in little room.
        property, tissue: what was measured, and on what.
        plane: `in-plane`, `out-of-plane` or `none`.
        over: `fraction` of the stroma or `um` below the epithelium.
        breaks: where each piece begins [unit of over], the first at 0; the last runs to the back.
        coefficients: of each piece, lowest power first.
        source, status: key of the source; P printed, C computed from printed numbers.
        assumed, note: what had to be assumed; what must stand beside it wherever it is shown.
        printed: the numbers as printed, each with where, value and, where given, sd and unit.
        data_source: key of the measurements behind the source, where they are another paper.
        printed_coefficients: the source's own, in place of `coefficients` once they are known.
    """

    id: str
    label: str
    short: str
    property: str
    tissue: str
    plane: str
    over: str
    breaks: tuple[float, ...]
    coefficients: tuple[tuple[float, ...], ...]
    source: str
    status: str
    assumed: str
    note: str = ""
    printed: tuple[dict, ...] = ()
    data_source: str = ""
    printed_coefficients: tuple[float, ...] = ()

    def density(self, depth_um: Floats, central_thickness_um: Floats, epithelium_um: Floats) -> Floats:
        """Density at a depth, scaled to a mean of 1 over the stroma; 0 outside it.

        f(x) / ∫f, x the stromal depth

        Args:
            depth_um: depth from the front of the cornea [µm], any shape.
            central_thickness_um: thickness with epithelium [µm].
            epithelium_um: epithelium [µm].

        >>> float(relationships()["uniform"].density(300.0, 550.0, 53.0))
        1.0
        """
        x, back = self._place(depth_um, central_thickness_um, epithelium_um)
        value = np.zeros(np.shape(x))
        for start, _, piece in self._pieces:
            value = np.where(x >= start, _polynomial(piece, x), value)
        value = np.where(x > back, 0.0, value)
        mean = self._area(back) / back
        return np.where(np.isnan(x), np.nan, value / mean)[()]

    def share(self, depth_um: Floats, central_thickness_um: Floats, epithelium_um: Floats) -> Floats:
        """Share of the whole that lies in front of a depth: 0 at the epithelium's back face, 1 at the back.

        F(x) = ∫₀ˣ f / ∫f, exact; a depth outside the stroma counts as its nearer face

        Args:
            depth_um: depth from the front of the cornea [µm], any shape.
            central_thickness_um: thickness with epithelium [µm].
            epithelium_um: epithelium [µm].

        >>> round(float(relationships()["uniform"].share(153.0, 553.0, 53.0)), 12)
        0.2
        """
        x, back = self._place(depth_um, central_thickness_um, epithelium_um)
        whole = self._unit_area if self.over == "fraction" else self._area(back)
        return np.asarray(self._area(np.minimum(x, back)) / whole)[()]

    def _place(self, depth_um: Floats, central_thickness_um: Floats, epithelium_um: Floats) -> tuple[Floats, Floats]:
        """Stromal depth, and the back of the stroma, in the unit of `over`."""
        depth, thickness, epithelium = (np.asarray(v, float) for v in (depth_um, central_thickness_um, epithelium_um))
        stroma = thickness - epithelium
        if self.over == "fraction":
            return (depth - epithelium) / stroma, np.float64(1.0)
        return depth - epithelium, stroma

    @cached_property
    def _pieces(self) -> tuple[tuple[float, float, Sequence[float]], ...]:
        """(start, end, coefficients) of each piece, front to back; nothing bounds the last one."""
        pieces = (self.printed_coefficients,) if self.printed_coefficients else self.coefficients
        breaks = (0.0,) if self.printed_coefficients else self.breaks
        return tuple(zip(breaks, (*breaks[1:], np.inf), pieces, strict=True))

    @cached_property
    def _integrals(self) -> tuple[tuple[float, float, tuple[float, ...], Floats], ...]:
        """Of each piece (start, end, antiderivative's coefficients, its value at the start)."""
        made = []
        for start, end, piece in self._pieces:
            whole = (0.0, *(c / (k + 1) for k, c in enumerate(piece)))
            made.append((start, end, whole, _polynomial(whole, start)))
        return tuple(made)

    @cached_property
    def _unit_area(self) -> Floats:
        """∫ f from 0 to 1, the whole where the depth is a fraction."""
        return self._area(np.float64(1.0))

    def _area(self, x: Floats) -> Floats:
        """∫ f from 0 to x in the unit of `over`; nothing lies before 0."""
        area: Floats = 0.0
        for start, end, whole, before in self._integrals:
            area = area + _polynomial(whole, np.minimum(np.maximum(x, start), end)) - before
        return area


def _polynomial(coefficients: Sequence[float], x: Floats) -> Floats:
    """Horner's rule, lowest power first."""
    value: Floats = coefficients[-1]
    for c in coefficients[-2::-1]:
        value = value * x + c
    return value


@cache
def relationships() -> dict[str, Relationship]:
    """Every relationship by its id, the 2013 model first; the order of the data file.

    Source: reinstein2013, kohlhaas2006, nambiar2023, petsche2012, dias2013, labate2015, mikula2016, destefano2020

    >>> list(relationships())[:2]
    ['reinstein2013', 'uniform']
    """
    made = {}
    for name, entry in data("relationships").items():
        pieces = tuple(tuple(piece) for piece in entry["coefficients"])
        lists = {"breaks": tuple(entry["breaks"]), "printed": tuple(entry.get("printed", ()))}
        lists["printed_coefficients"] = tuple(entry.get("printed_coefficients", ()))
        made[name] = Relationship(id=name, **{**entry, **lists, "coefficients": pieces})
    return made
