"""Rescue options and ways to an enhancement, as others describe them: words, status and source of each."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from tissue.ground.published import Row, pool_rows, pools, share_interval
from tissue.ground.sources import data, source

ANOTHER_DAY = data("ways_out")["rescue"]["another_day"]
PROTOCOL = "The surgeon's own protocol decides."
OVER_FLAP, ON_SURFACE, AT_CAP = "flap", "surface", "flap-at-cap"  # ids that are used in more than one place
IN_WORDS = {
    "T": "common practice, no published source",
    "M": "from memory, not checked",
    "G": "worked out from the geometry; no published source for this order of cuts",
}


@dataclass(frozen=True, eq=False)
class Way:
    """A way as it is described: id, short name, what it is, what it needs, where it is described.

    worked_out: whether nobody describes it and it comes from the geometry alone; source then says so.
    """

    id: str
    name: str
    what: str
    needs: str
    source: str
    worked_out: bool = False

    @property
    def text(self) -> str:
        """The way, and where it is described or that it is worked out.

        >>> rescue_ways()["repeat-incision"].text[:54]
        'Docking again and repeating the incision. Described in'
        """
        return f"{self.what}. {self.source_said if self.worked_out else f'Described in: {self.source}.'}"

    @property
    def source_said(self) -> str:
        """Where it is described, as a sentence of its own.

        >>> rescue_ways(False)["flap"].source_said
        'Worked out from the geometry; no published source for this order of cuts.'
        """
        return f"{self.source[0].upper()}{self.source[1:]}."


def _place(entry: dict[str, str]) -> str:
    """One place where a way is described, in words."""
    words = source(entry["source"]).citation if "source" in entry else IN_WORDS[entry["status"]]
    return f"{words} ({entry['of']})" if "of" in entry else words


def _ways(tables: dict[str, dict[str, Any]]) -> dict[str, Way]:
    """The ways of tables of the data file, by id."""
    made = {}
    for name, row in tables.items():
        places = row["described"]
        worked_out = any(entry["status"] == "G" for entry in places)
        made[name] = Way(
            id=name,
            name=row["name"],
            what=row["what"],
            needs=row["needs"],
            source=(". " if worked_out else "; ").join(_place(entry) for entry in places),
            worked_out=worked_out,
        )
    return made


@cache
def rescue_ways(described: bool = True) -> dict[str, Way]:
    """Rescue options when suction is lost, by id.

    Args:
        described: True for those that others describe, False for those of an order of cuts that nobody describes.

    >>> list(rescue_ways())[:2], list(rescue_ways(False))[:2]
    (['restart', 'flap'], ['restart', 'repeat-cap'])
    """
    tables = data("ways_out")["rescue"]["ways"]
    if described:
        return _ways(tables)
    return _ways({name: tables.get(name, {}) | row for name, row in data("ways_out")["cap_first"]["ways"].items()})


@cache
def enhancement_ways() -> dict[str, Way]:
    """Ways to an enhancement after a lenticule extraction, by id.

    >>> list(enhancement_ways())
    ['surface', 'thin-flap', 'cap-to-flap', 'deeper-lenticule']
    """
    return _ways(data("ways_out")["enhancement"]["ways"])


@cache
def suction_counts() -> tuple[str, ...]:
    """Published counts of lost suction in sentences, counts over counts; never this eye's risk.

    First all series together with what a new centre may find, then each series, then the stages of those that keep
    them.

    >>> suction_counts()[2]
    'J Refract Surg 2020;36(5):308-316: suction lost in 27 of 12,057 eyes (0.15 to 0.33 %); thinner lenticule P .006.'
    """
    series, together = pool_rows("suction"), pools()["suction"]
    first = (
        f"{len(series)} published series together: suction lost in {together.mean:.2f} % of eyes; a new centre may "
        f"find {together.low:.2f} to {together.high:.1f} %. Series that give their years began higher and fell."
    )
    return (first, *map(_suction_words, series), *_stages())


def _suction_words(series: Row) -> str:
    """One series in a sentence, with the exact interval of its share."""
    low, high = share_interval(series.count, series.of)
    note = f"; {series.note}" if series.note else ""
    counted = f"{series.count:.0f} of {series.of:,.0f} eyes ({low:.2f} to {high:.2f} %)"
    return f"{series.source}: suction lost in {counted}{note}."


def _stages() -> tuple[str, ...]:
    """In which cut suction was lost, and what was done then: one sentence for each source."""
    by_source: dict[str, list[str]] = {}
    for row in data("counts")["suction"]:
        by_source.setdefault(row["source"], []).append(f"{row['what']} in {row['count']} of {row['of']:,} eyes")
    return tuple(f"{source(key).citation}: {'; '.join(words)}." for key, words in by_source.items())
