"""The thickness of a cornea from its thinnest point alone: it grows with the squared distance from there."""

from dataclasses import dataclass

import numpy as np

from tissue.ground.vocabulary import Floats

THICKNESS_GROWTH = 0.0088  # per mm²; source thickness_growth


@dataclass(frozen=True, eq=False)
class Paraboloid:
    """T(x, y) = T_thin·(1 + k·((x − xt)² + (y − yt)²)), k from published corneas. Source thickness_growth."""

    thinnest_um: Floats
    thinnest_x_mm: Floats
    thinnest_y_mm: Floats
    sd_um: float = 0.0
    from_one_point: bool = True

    @property
    def per_mm2(self) -> Floats:
        """Rise with the squared distance from the thinnest point [µm/mm²]."""
        return self.thinnest_um * THICKNESS_GROWTH

    def thickness_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Thickness [µm] at places from the vertex [mm]."""
        distance2 = np.square(x_mm - self.thinnest_x_mm) + np.square(y_mm - self.thinnest_y_mm)
        return self.thinnest_um + self.per_mm2 * distance2

    def covered_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Infinite: the paraboloid covers every place [mm]."""
        return np.full(np.broadcast(x_mm, y_mm).shape, np.inf)[()]
