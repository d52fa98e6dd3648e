"""Gives a citation by its key, and the evidence tables in data/."""

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent.parent  # the package
DATA = HERE / "data"
# Where a checkout has these folders; an installation has them inside the package.
IN_A_CHECKOUT = {"demo_profiles": "demo_profiles", "settings": ".streamlit", "published": "tests/published"}
READ_IN_PRINT, UNCONFIRMED = "P", "M"  # letters of a figure; see `letter`
LOOKED_UP = r"\d{4};\d+[^:]*:\S+.*\b(doi|PMID) \S+"  # how a complete citation in words ends
TABLE = re.compile(r"^\[(\w+)\]\n((?:(?!\[).*\n)*)", re.MULTILINE)  # of sources.toml: its key, and what stands in it
SERIES_COLUMNS = (
    "patient", "side", "refraction", "central_thickness_um", "zone_mm", "flap_um", "flap_measured_um", "cap_um",
    "outcome",
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class Source:
    """One published source as far as it was read; an empty text is a part that was not."""

    key: str
    authors: str = ""
    title: str = ""
    journal: str = ""
    year: int = 0
    volume: str = ""
    pages: str = ""
    doi: str = ""
    pmid: str = ""
    pmcid: str = ""
    read: str = "printed"
    note: str = ""
    eyes: tuple[str, ...] = ()

    @property
    def can_be_looked_up(self) -> bool:
        """Whether volume, pages or article number, and a DOI or PMID are known."""
        return bool(self.volume and self.pages and (self.doi or self.pmid))

    @property
    def status(self) -> str:
        """`printed` where its figures were read in print and it can be looked up, `software`, otherwise `memory`.

        >>> source("mikula2016").status, source("chen2012").status, source("optiland").status
        ('printed', 'memory', 'software')
        """
        return "memory" if self.read == "printed" and not self.can_be_looked_up else self.read

    @property
    def doubt(self) -> str:
        """Why its figures are unconfirmed: `memory`, or `part` where part of the citation is missing; otherwise empty.

        >>> source("mikula2016").doubt, source("chen2012").doubt
        ('', 'part')
        """
        if self.status != "memory":
            return ""
        return "memory" if self.read == "memory" else "part"

    @property
    def citation(self) -> str:
        """The source in one line, as it appears under a figure or in print.

        >>> source("petsche2012").citation
        'Petsche. Invest Ophthalmol Vis Sci 2012;53:873. PMC3317426'
        """
        title = self.title if self.journal or not self.year else f"{self.title}, {self.year}".lstrip(", ")
        place = f"{self.journal} {self.year or ''}".strip() if self.journal else ""
        if self.volume:
            place += f";{self.volume}"
        if self.pages:
            place += f":{self.pages}" if self.volume else f", {self.pages}"
        names = {"doi": self.doi, "PMID": "" if self.doi else self.pmid, "": "" if self.doi else self.pmcid}
        found = next((f"{name} {text}".strip() for name, text in names.items() if text), "")
        parts = [part for part in (self.authors.rstrip("."), title, place, found) if part]
        return ". ".join(parts) if parts else self.note.rstrip(".")


@cache
def _texts() -> dict[str, str]:
    """The text of each source's table by its key: a table is parsed when it is asked for, since few of many are."""
    return dict(TABLE.findall((DATA / "sources.toml").read_text("utf-8")))


@cache
def _source(key: str) -> Source:
    entry = tomllib.loads(_texts()[key])
    return Source(key, **{**entry, "eyes": tuple(entry.get("eyes", ()))})


def source(key: str) -> Source:
    """The source of that key.

    Args:
        key: a name in `keys()`.

    Raises:
        KeyError: an unknown key; the message names the nearest known one.

    >>> source("munnerlyn1988").year
    1988
    """
    try:
        return _source(key)
    except KeyError:
        from difflib import get_close_matches

        near = get_close_matches(key, keys(), 1, 0.0)[0]
        raise KeyError(f"no source {key!r}; the nearest is {near!r}") from None


def keys() -> tuple[str, ...]:
    """Every key, in the order of the data file.

    >>> "santhiago2014" in keys()
    True
    """
    return tuple(_texts())


def letter(read: str, key: str) -> str:
    """The status letter of a figure, by what is known of its source.

    P stays where the source can be looked up and was read in print; else the figure is M, unconfirmed. Other letters
    stay as they are: C computed, T common practice, and so on.

    Args:
        read: letter of the figure as it was read.
        key: a name in `keys()`, or a citation in words.

    >>> letter("P", "kim2011"), letter("P", "chen2012"), letter("C", "chen2012"), letter("P", "")
    ('P', 'M', 'C', 'M')
    """
    if read != READ_IN_PRINT:
        return read
    found = source(key).status == "printed" if key in _texts() else re.search(LOOKED_UP, key)
    return READ_IN_PRINT if found else UNCONFIRMED


def _with_letters(value: Any) -> Any:
    """A parsed table with the letters of its figures worked out."""
    if isinstance(value, list):
        return [_with_letters(one) for one in value]
    if not isinstance(value, dict):
        return value
    made = {name: _with_letters(one) for name, one in value.items()}
    if made.get("status") == READ_IN_PRINT:
        made["status"] = letter(READ_IN_PRINT, made.get("source", ""))
    return made


def _parsed(name: str) -> dict[str, Any]:
    return tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))


@cache
def data(name: str) -> dict[str, Any]:
    """One evidence table of data/ as plain dictionaries and lists; not to be changed by the caller.

    A figure with status P in the file was read in print; it is given as P only where its source can be looked up.

    Args:
        name: file name without its ending: `sources`, `relationships`, `lines`, `contradictions`, `counts`,
            `errors`, `normals`, `rules_of_thumb`, `stress`, `ways_out`.

    >>> sorted(data("lines"))
    ['altered', 'bed', 'bed_klex', 'lenticule_share']
    """
    made: dict[str, Any] = _with_letters(_parsed(name))
    return made


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """One CSV table of data/, a dictionary for each row, all values text; not to be changed by the caller.

    A status P is given as `data` gives it.

    Args:
        name: file name without its ending: `published_eyes`, `admissible_curves`, `density_range`.

    >>> rows("published_eyes")[0]["case_id"]
    'L01a'
    """
    import csv

    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_row(row) for row in csv.DictReader(file))


def _row(row: dict[str, str]) -> dict[str, str]:
    """A row with the status letter of its figures; a published eye's source is the one that lists it."""
    if "status" not in row:
        return row
    key = next((one.key for one in map(source, keys()) if row.get("case_id") in one.eyes), row.get("source", ""))
    return row | {"status": letter(row["status"], key)}


@cache
def source_of_eye(case_id: str) -> Source:
    """The source a row of published_eyes.csv comes from.

    Args:
        case_id: the row's name.

    Raises:
        KeyError: no source lists that row.

    >>> source_of_eye("S05").key
    'zhao2014'
    """
    for entry in map(source, keys()):
        if case_id in entry.eyes:
            return entry
    raise KeyError(f"no source lists the eye {case_id!r}")


def eye_name(case_id: str) -> str:
    """The name of a published eye: its number in the table of published eyes.

    Args:
        case_id: the row's name.

    >>> eye_name("L01a"), eye_name("L03")
    ('published eye 1', 'published eye 3')
    """
    return f"published eye {[row['case_id'] for row in rows('published_eyes')].index(case_id) + 1}"


def folder(name: str) -> Path:
    """A folder that an installation has inside the package, and a checkout beside it.

    Args:
        name: `demo_profiles`, `settings` (of the screens' server) or `published` (tables of checks).

    >>> sorted(path.suffix for path in folder("settings").iterdir() if path.is_file())
    ['.toml']
    """
    installed = HERE / name
    return installed if installed.is_dir() else HERE.parent / IN_A_CHECKOUT[name]


@cache
def readme() -> str:
    """The text of the README: from the file of a checkout, or from the metadata of an installation."""
    file = HERE.parent / "README.md"
    if file.is_file() and (HERE.parent / "pyproject.toml").is_file():
        return file.read_text("utf-8")
    from importlib.metadata import metadata  # slow to import, and only an installation asks for it

    return str(metadata("tissue").json["description"])


def published_series() -> list[tuple[str, ...]]:
    """The published eyes as a series table under the names of the interface: the header first, then rows of texts.

    Only eyes whose refraction and thickness were printed. Plus cylinders stay as printed; a flap is the planned or the
    measured one, as it was reported, and nothing is filled in.

    >>> head, *eyes = published_series()
    >>> head[2], eyes[0][2]
    ('refraction', '-4.75 -2.00 x 15')
    """
    found: list[tuple[str, ...]] = [SERIES_COLUMNS]
    for row in rows("published_eyes"):
        if not (row["sphere_D"] and row["cct_um"]) or row["eye"] not in ("OD", "OS"):
            continue
        text = f"{float(row['sphere_D']):+.2f}"
        if row["cyl_D"] and float(row["cyl_D"]):
            text += f" {float(row['cyl_D']):+.2f} x {float(row['axis_deg']):.0f}"
        lenticule = row["procedure"].startswith("lenticule")
        cut, measured = row["flap_or_cap_um"], row["cut_is"] == "measured"
        found.append(
            (
                row["case_id"],
                row["eye"],
                text,
                row["cct_um"],
                row["zone_mm"],
                "" if lenticule or measured else cut,
                cut if measured and not lenticule else "",
                cut if lenticule else "",
                row["outcome"],
            )
        )
    return found
