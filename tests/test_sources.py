"""Every citation that is used stands in sources.toml, and every one that stands there is used."""

import csv
import re
import tomllib
from pathlib import Path

import pytest

from tissue.entry.fields import fields
from tissue.ground.sources import DATA, data, keys, rows, source, source_of_eye

ROOT = Path(__file__).parents[1]
STATUSES = ("printed", "memory", "software")
KEY_FIELDS = {"source", "sources", "data_source", "against_source"}


def keys_in(value, field=""):
    """Source keys anywhere inside a parsed TOML file."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from keys_in(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from keys_in(inner, field)
    elif field in KEY_FIELDS and isinstance(value, str) and value:
        yield value


def test_each_source_read_alone_is_what_the_whole_file_says_of_it():
    """Source: the standard reader of TOML."""
    whole = tomllib.loads((DATA / "sources.toml").read_text("utf-8"))
    assert keys() == tuple(whole)
    for key, entry in whole.items():
        expected = {"key": key, "eyes": ()} | entry
        assert {name: getattr(source(key), name) for name in expected} == expected | {"eyes": tuple(expected["eyes"])}


def tables():
    return [p.stem for p in DATA.glob("*.toml") if p.stem != "sources"]


def published():
    for path in sorted((ROOT / "tests" / "published").glob("*.csv")):
        with path.open(encoding="utf-8") as file:
            for row in csv.DictReader(file):
                yield path.name, row


def used():
    in_tables = {key for name in tables() for key in keys_in(data(name))}
    in_checks = {row["source"] for _, row in published() if row.get("source")}
    in_checks |= {row["source"] for row in rows("published_readings")}
    with_eyes = {key for key in keys() if source(key).eyes}
    elsewhere = "\n".join(
        path.read_text(encoding="utf-8")
        for folder, ending in (("tissue", "py"), ("tissue/entry", "toml"), ("tests", "py"))
        for path in (ROOT / folder).rglob(f"*.{ending}")
    )
    words = set(re.findall(r"[a-z_]+\w*", elsewhere))
    return in_tables | in_checks | with_eyes | (set(keys()) & words)


@pytest.mark.parametrize("name", tables())
def test_every_key_in_the_data_exists(name):
    assert not [key for key in keys_in(data(name)) if key not in keys()]


def test_every_key_among_the_inputs_exists():
    """A field's source is a key or plain words; a single word with a year is a key."""
    fields = tomllib.loads((ROOT / "tissue" / "entry" / "fields.toml").read_text("utf-8"))
    named = {field["source"] for field in fields.values() if " " not in field.get("source", " ")}
    assert named and not named - set(keys())


def test_every_key_in_the_published_checks_exists():
    assert not [(file, row["check"]) for file, row in published() if row.get("source") and row["source"] not in keys()]


def test_every_printed_check_names_its_source():
    """A printed check without a source could not be looked up."""
    eyes = {row["case_id"] for row in rows("published_eyes")}
    nameless = [
        (file, row["check"])
        for file, row in published()
        if row.get("status") == "P" and not row.get("source") and row.get("case_id") not in eyes
    ]
    assert not nameless


def test_every_source_is_used():
    assert sorted(set(keys()) - used()) == []


@pytest.mark.parametrize("key", keys())
def test_a_source_says_what_it_is(key):
    entry = source(key)
    assert entry.status in STATUSES
    assert entry.journal or entry.title or entry.note
    assert entry.year == 0 or 1900 < entry.year < 2030
    assert len(entry.citation) >= 10 and "  " not in entry.citation and ".." not in entry.citation


RAW = tomllib.loads((DATA / "sources.toml").read_text("utf-8"))


def found_by(entry):
    """Whether volume, pages or article number, and a DOI or PMID stand in an entry of the file."""
    return all(entry.get(name) for name in ("volume", "pages")) and bool(entry.get("doi") or entry.get("pmid"))


@pytest.mark.parametrize("key", RAW)
def test_printed_needs_a_place_an_identifier_and_a_reading(key):
    """Read against the file itself: no source is printed without all three, and none that has them is not."""
    assert RAW[key]["read"] in STATUSES and "status" not in RAW[key]
    assert (source(key).status == "printed") == (RAW[key]["read"] == "printed" and found_by(RAW[key]))
    assert not RAW[key].get("doi") or re.fullmatch(r"10\.\d{4,}/\S+", RAW[key]["doi"])
    assert not RAW[key].get("pmid") or re.fullmatch(r"\d{7,8}", RAW[key]["pmid"])


def figures_in(value):
    """Every row with a status inside a parsed table."""
    if isinstance(value, dict):
        if "status" in value:
            yield value
        value = list(value.values())
    if isinstance(value, list):
        for inner in value:
            yield from figures_in(inner)


@pytest.mark.parametrize("name", tables())
def test_no_figure_counts_as_printed_whose_source_cannot_be_looked_up(name):
    assert not [row for row in figures_in(data(name)) if row["status"] == "P" and not found_by(RAW[row["source"]])]


def test_no_input_and_no_row_of_a_table_counts_as_printed_whose_source_cannot_be_looked_up():
    assert not [f.name for f in fields().values() if f.status == "P" and not found_by(RAW.get(f.source, {}))]
    eyes = [row["case_id"] for row in rows("published_eyes") if row["status"] == "P"]
    assert eyes and all(found_by(RAW[source_of_eye(eye).key]) for eye in eyes)
    readings = rows("published_readings")
    assert readings and {row["source"] for row in readings} <= set(RAW)
    assert not [row["id"] for row in readings if row["status"] == "P" and not found_by(RAW[row["source"]])]


def test_sources_that_were_wrongly_printed_are_not():
    """Sources known from memory, or of which a part was never seen."""
    for key in ("javadi2006", "spadea2002", "rao2002", "lasik_text", "chen2012", "studer2013", "single_series"):
        assert source(key).status == "memory", key
    spadea = next(one for one in data("counts")["ectasia"] if one["of"] == 4027)
    assert (spadea["count"], source(spadea["source"]).pmcid) == (23, "PMC3497457")


def test_unknown_key_names_the_nearest():
    with pytest.raises(KeyError, match="'munnerlin1988'.*'munnerlyn1988'"):
        source("munnerlin1988")


def test_every_published_eye_has_one_source():
    claimed = [eye for key in keys() for eye in source(key).eyes]
    assert sorted(claimed) == sorted(row["case_id"] for row in rows("published_eyes"))
    for row in rows("published_eyes"):
        first_author = re.match(r"\w+", source_of_eye(row["case_id"]).authors or row["source"]).group()
        assert first_author in row["source"]
    with pytest.raises(KeyError, match="Z99"):
        source_of_eye("Z99")
