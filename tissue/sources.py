"""Gives a citation by its key, and the evidence tables that stand in data/."""

import csv
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
DATA = HERE / "data"
# Folders that a checkout has at other places than an installation, which has them inside the package.
IN_A_CHECKOUT = {"demo_profiles": "demo_profiles", "settings": ".streamlit", "published": "tests/published"}
STATUSES = ("printed", "memory", "software")
SERIES_COLUMNS = (
    "patient", "side", "refraction", "central_thickness_um", "zone_mm", "flap_measured_um", "cap_um", "outcome",
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
    status: str = "printed"
    note: str = ""
    eyes: tuple[str, ...] = ()

    @property
    def citation(self) -> str:
        """The source in one line, as it stands under a figure or in print.

        >>> source("petsche2012").citation
        'Petsche. Invest Ophthalmol Vis Sci 2012;53:873'
        """
        title = self.title if self.journal or not self.year else f"{self.title}, {self.year}".lstrip(", ")
        place = f"{self.journal} {self.year or ''}".strip() if self.journal else ""
        if self.volume:
            place += f";{self.volume}"
        if self.pages:
            place += f":{self.pages}" if self.volume else f", {self.pages}"
        doi = f"doi {self.doi}" if self.doi else ""
        parts = [part for part in (self.authors.rstrip("."), title, place, doi) if part]
        return ". ".join(parts) if parts else self.note.rstrip(".")


@cache
def _sources() -> dict[str, Source]:
    return {
        key: Source(key, **{**entry, "eyes": tuple(entry.get("eyes", ()))}) for key, entry in data("sources").items()
    }


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
        return _sources()[key]
    except KeyError:
        near = get_close_matches(key, _sources(), 1, 0.0)[0]
        raise KeyError(f"no source {key!r}; the nearest is {near!r}") from None


def keys() -> tuple[str, ...]:
    """Every key, in the order of the data file.

    >>> "santhiago2014" in keys()
    True
    """
    return tuple(_sources())


@cache
def data(name: str) -> dict[str, Any]:
    """One evidence table of data/ as plain dictionaries and lists; not to be changed by the caller.

    Args:
        name: file name without its ending: `sources`, `relationships`, `lines`, `contradictions`, `counts`,
            `errors`, `normals`, `rules_of_thumb`, `stress`, `ways_out`.

    >>> sorted(data("lines"))
    ['altered', 'bed', 'bed_klex', 'lenticule_share']
    """
    return tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """One CSV table of data/, a dictionary a row, all values text; not to be changed by the caller.

    Args:
        name: file name without its ending: `published_eyes`, `admissible_curves`, `density_range`.

    >>> rows("published_eyes")[0]["case_id"]
    'L01a'
    """
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


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
    for entry in _sources().values():
        if case_id in entry.eyes:
            return entry
    raise KeyError(f"no source lists the eye {case_id!r}")


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
    """The text of the README: the file of a checkout, or what an installation keeps of it."""
    file = HERE.parent / "README.md"
    if file.is_file() and (HERE.parent / "pyproject.toml").is_file():
        return file.read_text("utf-8")
    from importlib.metadata import metadata  # slow to import, and only an installation asks for it

    return str(metadata("tissue").json["description"])


def published_series() -> list[tuple[str, ...]]:
    """The published eyes as a ready series, under the names of the interface: the header first, then texts.

    Only eyes whose refraction and thickness were printed. Plus cylinders stay as printed; a flap or a cap is the one
    that was made.

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
        cut = row["flap_or_cap_um"]
        found.append(
            (
                row["case_id"],
                row["eye"],
                text,
                row["cct_um"],
                row["zone_mm"],
                "" if lenticule or row["procedure"] == "surface" else cut,
                cut if lenticule else "",
                row["outcome"],
            )
        )
    return found
