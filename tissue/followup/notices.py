"""Notices on a follow-up: how a reading lies and how few rows stand behind it; never the reason why."""

from collections.abc import Iterator

from tissue.budget.notices import Notice
from tissue.eye.reading import METHODS, WORDS, Reading
from tissue.followup.follow import Follow
from tissue.followup.strips import Strip
from tissue.ground.sources import data
from tissue.ground.vocabulary import rounded, signed

THICKER_UM = 30.0  # a reading after surgery this far above the thickness before surgery is reported


def follow_notices(
    found: Follow, laid: tuple[dict[str, Strip | None], ...], own_source: str = ""
) -> tuple[Notice, ...]:
    """The Notices of one eye.

    Args:
        found: Follow of one eye.
        laid: Strips of each reading.
        own_source: which eyes the errors of the plan come from, empty where they are not own ones.
    """
    option, many = found.done.option.name, []
    for reading, one in zip(found.readings, laid, strict=True):
        many += [Notice(id, option, name, text) for id, name, text in _of_reading(found, reading, one)]
    return (*many, *(Notice(id, option, name, text) for id, name, text in _of_eye(found, laid, own_source)))


def reading_words(name: str, value: float) -> str:
    """A reading in words.

    >>> reading_words("thickness_um", 462.0), reading_words("SE_D", -0.25)
    ('thickness 462 µm', 'spherical equivalent −0.25 D')
    """
    words, unit, decimals = WORDS[name]
    return f"{words} {(signed if name == 'SE_D' else rounded)(value, decimals)} {unit}"


def on_day(reading: Reading) -> str:
    """When a reading was taken, in words.

    >>> on_day(Reading(90, "oct")), on_day(Reading(-3, "oct"))
    ('day 90', '3 days before surgery')
    """
    days = int(reading.days)
    return f"day {days}" if days >= 0 else f"{-days} day{'s' if days < -1 else ''} before surgery"


def _of_reading(
    found: Follow, reading: Reading, laid: dict[str, Strip | None]
) -> Iterator[tuple[str, str | None, str]]:
    """Notices of one reading: id, name of what was measured, text."""
    CCT, thick = float(found.comparison.cornea.central_thickness_um), reading.thickness_um
    for name, one in laid.items():
        if one is not None and one.outside:
            decimals = WORDS[name][2]
            ends = f"{rounded(one.low, decimals)} to {rounded(one.high, decimals)}"
            text = f"{reading_words(name, one.value)} lies outside 95 of 100 published readings of this kind ({ends})."
            yield "outside-strip", name, f"{on_day(reading)[0].upper()}{on_day(reading)[1:]}: {text}"
    if reading.after and thick is not None and thick > CCT + THICKER_UM:
        over = f"more than {THICKER_UM:.0f} µm over the {CCT:.0f} µm before surgery"
        text = f"Thickness {thick:.0f} µm on {on_day(reading)} is {over}: look at eye, day and method again."
        yield "reading-thicker", "thickness_um", text


def _of_eye(
    found: Follow, laid: tuple[dict[str, Strip | None], ...], own_source: str
) -> Iterator[tuple[str, str | None, str]]:
    """Notices of all readings together."""
    by_device = any({"thickness_um", "bed_um"} & set(one.thicknesses) for one in found.readings)
    if found.before_by is None and by_device:
        sd = data("followup")["method_before_unknown"]["sd_um"]
        yield (
            "method-before",
            "thickness_method",
            (
                f"The plan does not tell how the thickness before surgery was measured (one of {', '.join(METHODS)}): "
                f"devices are taken to differ by an SD of {sd:g} µm, our choice."
            ),
        )
    strips = [(name, one) for each in laid for name, one in each.items()]
    single = dict.fromkeys(_name(name) for name, one in strips if one is not None and one.rows and one.series == 1)
    if single:
        yield "one-series", None, f"One published series stands behind the strip of {', '.join(single)}."
    without = dict.fromkeys(_name(name) for name, one in strips if one is None)
    if without:
        yield "no-rows", None, f"No published rows are laid beside this {', '.join(without)}."
    if own_source:
        yield "own-errors", None, f"The errors of the plan are own ones: {own_source}."


def _name(name: str) -> str:
    return WORDS[name][0]
