"""What an eye has of maps of its own: thickness, epithelium or both, and what was typed beside them."""

from dataclasses import dataclass, replace

from tissue.eye.measured.surface import Surface
from tissue.ground.errors import number
from tissue.ground.limits import of_kind
from tissue.ground.vocabulary import NOT_GIVEN, Floats


@dataclass(frozen=True, eq=False)
class OwnMap:
    """The maps of one eye, None where there is none of a kind.

    thickness, epithelium: Surfaces. typed_thinnest_um, typed_x_mm, typed_y_mm: the thinnest point as it was typed
    beside the map [µm, mm], not given where it was not; it is compared and else not used.
    """

    thickness: Surface | None = None
    epithelium: Surface | None = None
    typed_thinnest_um: Floats = NOT_GIVEN
    typed_x_mm: Floats = NOT_GIVEN
    typed_y_mm: Floats = NOT_GIVEN

    def __post_init__(self) -> None:
        of_kind(thickness=(self.thickness, Surface | None), epithelium=(self.epithelium, Surface | None))
        for name in ("typed_thinnest_um", "typed_x_mm", "typed_y_mm"):
            object.__setattr__(self, name, number(getattr(self, name), name)[()])

    def thicker(self, by_um: Floats) -> "OwnMap":
        """The same with a thickness that is everywhere greater by so much [µm]."""
        return self if self.thickness is None else replace(self, thickness=self.thickness.moved(by_um))
