"""Ways out and ways to a second correction, as others describe them: words, status and source of each."""

from dataclasses import dataclass
from functools import cache

from tissue.sources import data, source

ANOTHER_DAY = data("ways_out")["rescue"]["another_day"]
PROTOCOL = "The surgeon's own protocol decides."
IN_WORDS = {"T": "common practice, no published source", "M": "from memory, not checked"}


@dataclass(frozen=True, eq=False)
class Way:
    """A way as it is described: id, short name, what it is, what it needs, where it is described.

    statuses: a letter for each place in `source`, P printed, T common practice, M from memory.
    """

    id: str
    name: str
    what: str
    needs: str
    source: str
    statuses: tuple

    @property
    def text(self) -> str:
        """The way in one sentence that names where it is described.

        >>> rescue_ways()["repeat-incision"].text[:54]
        'Docking again and repeating the incision. Described in'
        """
        return f"{self.what}. Described in: {self.source}."


def _place(entry: dict[str, str]) -> str:
    """One place where a way is described, in words."""
    words = source(entry["source"]).citation if entry["status"] == "P" else IN_WORDS[entry["status"]]
    return f"{words} ({entry['of']})" if "of" in entry else words


def _ways(group: str) -> dict[str, Way]:
    """The ways of one group of the data file, by id."""
    made = {}
    for name, row in data("ways_out")[group]["ways"].items():
        places = row["described"]
        made[name] = Way(
            id=name,
            name=row["name"],
            what=row["what"],
            needs=row["needs"],
            source="; ".join(_place(entry) for entry in places),
            statuses=tuple(entry["status"] for entry in places),
        )
    return made


@cache
def rescue_ways() -> dict[str, Way]:
    """Ways out when suction is lost, by id.

    >>> list(rescue_ways())[:2]
    ['restart', 'flap']
    """
    return _ways("rescue")


@cache
def enhancement_ways() -> dict[str, Way]:
    """Ways to a second correction after a lenticule extraction, by id.

    >>> list(enhancement_ways())
    ['surface', 'thin-flap', 'cap-to-flap', 'deeper-lenticule']
    """
    return _ways("enhancement")


@cache
def suction_counts() -> tuple[str, ...]:
    """Published counts of lost suction, a sentence a source, counts over counts; never this eye's risk.

    >>> suction_counts()[1][:68]
    'J Refract Surg 2020;36(5):308-316: Suction lost in 27 of 12,057 eyes'
    """
    by_source: dict[str, list[str]] = {}
    for row in data("counts")["suction"]:
        by_source.setdefault(row["source"], []).append(f"{row['what']} in {row['count']} of {row['of']:,} eyes")
    return tuple(f"{source(key).citation}: {'; '.join(words)}." for key, words in by_source.items())
