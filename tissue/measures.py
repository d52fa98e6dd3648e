"""What every figure is called and how it is written, once for terminal, screen and print."""

from dataclasses import dataclass
from functools import cache

from tissue.sources import data

STANDING_LINE = (
    "For planning discussion, teaching and research by professionals. It measures tissue; it does not say that an eye is "
    "fit for surgery. Follow local guidance and your own judgement."
)
NOT_STUDIED = (
    "† Arithmetic only: this share was published and tested for flaps; it is not validated for this procedure."
)
NO_FIGURE = "–"


@dataclass(frozen=True, eq=False)
class Measure:
    """One figure of an option: its name in the interface, words, unit, rounding and meaning."""

    name: str
    label: str
    unit: str
    group: str
    decimals: int
    formula: str
    source: str = ""
    limits: str = ""
    study: str = ""
    key: bool = False

    def write(self, value):
        """The figure in words, rounded; an en dash where there is none.

        >>> measures()["bed_percent"].write(57.26), measures()["bed_central_um"].write(float("nan"))
        ('57.3', '–')
        """
        if value is None or value != value:
            return NO_FIGURE
        text = f"{value:.{self.decimals}f}"
        zero = f"{0:.{self.decimals}f}"
        return zero if text == f"-{zero}" else text.replace("-", "−")

    def studied_for(self, option):
        """Whether this figure may stand without a dagger for an Option."""
        return not self.study or option.share_validated


@cache
def measures():
    """All measures by name, in the order of the tables.

    >>> measures()["cut_um"].label
    'Above the removal'
    """
    return {name: Measure(name, **row) for name, row in data("measures").items()}


def value_of(result, measure, relationship):
    """The value of a measure in a Result; strength by the chosen relationship.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> result = compare(Cornea(550.0), Treatment(Refraction(-6.0))).results["flap"]
    >>> float(value_of(result, measures()["cut_um"], "reinstein2013"))
    110.0
    """
    if measure.name == "strength_percent":
        return result.strength.strength_percent[relationship]
    for part in (result.budget, result.spread):
        if hasattr(part, measure.name):
            return getattr(part, measure.name)
    raise KeyError(measure.name)
