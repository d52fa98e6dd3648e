"""The choice of the law of the stroma, with its parameters."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from tissue.budget.strength.relationship import relationships
from tissue.ground.errors import EyeError
from tissue.ground.limits import one_number, one_word
from tissue.ground.vocabulary import Floats
from tissue.mechanics.laws.fibre import Fibre
from tissue.mechanics.laws.law import Isotropic, Law, Transverse
from tissue.mechanics.shape import NUMBERS, EyeShape, Setting

LAWS = ("isotropic", "transverse", "fibre")
SETS = tuple(NUMBERS["fibre"])
SAME = "same"  # the shear stiffness falls with depth as the modulus does
SHEAR_RELATIONSHIPS = ("petsche2012", SAME)
DEFAULT_SET = "middle"
DEFAULT_RELATIONSHIP = "nambiar2023"  # the one human tensile study in the plane that carries the pressure


@dataclass(frozen=True, eq=False)
class Choice:
    """A law with the parameters that only this law takes.

    Args:
        relationship: name of the one by which the modulus falls with depth.
        law: `isotropic`, `transverse` or `fibre`.
        shear_ratio: mean modulus over mean shear modulus [–]; transverse only, 47 where None. Source shear_in_vivo.
        shear_relationship: how the shear stiffness falls with depth, `petsche2012` or `same`; transverse only.
        set: of numbers, `soft`, `middle` or `donor`; fibre only, `middle` where None.

    Raises:
        EyeError: an unknown name, a ratio out of its range, or a value that the law does not take.

    >>> Choice(law="transverse").shear_ratio
    47.0
    """

    relationship: str = DEFAULT_RELATIONSHIP
    law: str = "isotropic"
    shear_ratio: float | None = None
    shear_relationship: str | None = None
    set: str | None = None

    def __post_init__(self) -> None:
        _one_of("relationship", self.relationship, relationships())
        _one_of("law", self.law, LAWS)
        self._take("transverse", shear_ratio=NUMBERS["shear_ratio"], shear_relationship=SHEAR_RELATIONSHIPS[0])
        if self.law == "transverse":
            _one_of("shear_relationship", self.shear_relationship, SHEAR_RELATIONSHIPS)
            _within("shear_ratio", self.shear_ratio)
        self._take("fibre", set=DEFAULT_SET)
        if self.law == "fibre":
            _one_of("set", self.set, SETS)

    def _take(self, law: str, **defaults: Any) -> None:
        """Set the parameters of one law: their defaults with that law, an error with any other."""
        for name, default in defaults.items():
            given = getattr(self, name)
            if self.law == law:
                object.__setattr__(self, name, default if given is None else given)
            elif given is not None:
                raise EyeError(name, given, f"only with law {law}")

    def law_of(self, shape: EyeShape, setting: Setting) -> Law:
        """The law itself, for one eye.

        Args:
            shape: EyeShape.
            setting: Setting.
        """
        share = share_of(self.relationship, shape)
        if self.law == "fibre":
            numbers = {name: value for name, value in NUMBERS["fibre"][self.set].items() if name != "source"}
            return Fibre(share, **numbers, sclera_ratio=setting.sclera_modulus_ratio)
        plain = share, setting.modulus_kPa, setting.poisson, setting.sclera_modulus_ratio
        if self.law == "isotropic" or self.shear_ratio is None:
            return Isotropic(*plain)
        own = self.shear_relationship
        shear = share if own is None or own == SAME else share_of(own, shape)
        return Transverse(*plain, shear, self.shear_ratio)

    @property
    def name(self) -> str:
        """Its name among the `others`."""
        return self.set or self.relationship

    def others(self) -> "dict[str, Choice]":
        """The choices that give a figure its range, {name: Choice}: every relationship, or every set of numbers."""
        if self.set:
            return {name: replace(self, set=name) for name in SETS}
        return {name: replace(self, relationship=name) for name in relationships()}

    def laws(self, shape: EyeShape, setting: Setting, ranged: bool = True) -> dict[str, Law]:
        """The laws of the `others`, or of this one alone, for one eye, {name: law}."""
        choices = self.others() if ranged else {self.name: self}
        return {name: choice.law_of(shape, setting) for name, choice in choices.items()}


def _one_of(field: str, value: str | None, known: Iterable[str]) -> None:
    """Raise EyeError where a name is not among the known ones."""
    one_word(value, field, known)


def _within(field: str, value: float | None) -> None:
    """Raise EyeError where a number lies outside its range in data/mechanics.toml, or is none."""
    one_number(value, field, NUMBERS[f"{field}_least"], NUMBERS[f"{field}_greatest"])


def share_of(relationship: str, shape: EyeShape) -> Callable[[Floats], Floats]:
    """Share of all stiffness in front of a stromal fraction by a named relationship, as a function of the fraction.

    Args:
        relationship: its name.
        shape: EyeShape.
    """
    thickness, epithelium = 1000.0 * shape.central_thickness_mm, 1000.0 * shape.epithelium_mm
    stroma, share = thickness - epithelium, relationships()[relationship].share
    return lambda fraction: share(epithelium + fraction * stroma, thickness, epithelium)


def under(setting: Setting, pressure_mmHg: float) -> Setting:
    """A Setting under another pressure.

    Args:
        setting: Setting, whose pressure stands for 15 mmHg.
        pressure_mmHg: in the eye [mmHg].

    Raises:
        EyeError: a pressure out of its range.
    """
    _within("pressure_mmHg", pressure_mmHg)
    return replace(setting, pressure_kPa=NUMBERS["pressure_kPa"] * pressure_mmHg / NUMBERS["pressure_mmHg"])


def mmHg(setting: Setting) -> float:
    """The pressure of a Setting [mmHg], rounded to what a pressure is typed to."""
    return round(setting.pressure_kPa * NUMBERS["pressure_mmHg"] / NUMBERS["pressure_kPa"], 6)
