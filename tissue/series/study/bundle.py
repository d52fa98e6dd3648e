"""All that a paper needs of a series in one folder, written whole or not at all, the same bytes for one input."""

import hashlib
import io
import json
import os
import re
import shlex
import shutil
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tissue.entry.fields import DEFAULT_STATUS, fields
from tissue.entry.whole_file import clear_away, unfinished
from tissue.ground.sources import data, keys, source
from tissue.ground.vocabulary import VERSION
from tissue.report.measures import STANDING_LINE
from tissue.report.origin import commit, version_words
from tissue.series.statistics import FEWEST
from tissue.series.study.dictionary import HEADER, dictionary, titled
from tissue.series.study.question import NOT_GIVEN, Question
from tissue.series.study.results import table_bytes
from tissue.series.tables.dialect import Dialect
from tissue.series.tables.header import Assigned, Column, cell_readings, write_map
from tissue.series.working import Summary, sha256_of
from tissue.series.wrong import TableError, error_words

NAMED_OTHERWISE = "columns.toml"


@dataclass(frozen=True, eq=False)
class Made:
    """How a series was made, as its bundle states it.

    Attributes:
        name: of the table that came in, without its folder.
        input_sha256: of its bytes.
        ending: of the table, with its dot.
        columns: Columns of the table.
        outputs: names of the columns that were added.
        question: what was asked.
        counts: rows and refused rows.
        with_optics, unsigned_plus, mapped: the settings; mapped is whether columns were called otherwise.
        analysed: eyes that were kept, and their patients; None where the table names no patients.
        date: as it was given, or empty.
    """

    name: str
    input_sha256: str
    ending: str
    columns: Sequence[Column]
    outputs: Sequence[str]
    question: Question
    counts: Summary
    analysed: tuple[int, int | None]
    with_optics: bool = False
    unsigned_plus: bool = False
    mapped: bool = False
    date: str = ""


def bundle_files(made: Made, output_sha256: str, tables: Mapping[str, bytes], figures: Mapping[str, bytes]) -> dict:
    """Every file of a bundle but the table itself: {name: bytes}.

    Args:
        made: Made.
        output_sha256: of the table that goes out.
        tables: summary, agreement, comparison as CSV, as far as they were asked for.
        figures: by name.
    """
    entries = dictionary(made.columns, made.outputs, dict(made.question.outcomes))
    files = {f"{name}.csv": data for name, data in tables.items()}
    files[NAMED_OTHERWISE] = _map(made).encode()
    files["dictionary.csv"] = table_bytes(HEADER, entries, Dialect())
    files["methods.txt"] = methods(made, tables).encode()
    files["command.txt"] = f"{command(made)}\n".encode()
    files |= {f"figures/{name}": data for name, data in figures.items()}
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()} | {_output(made): output_sha256}
    units = {entry.name: entry.unit for entry in entries}
    files["manifest.json"] = _json(manifest(made, units, sums))
    return files


def manifest(made: Made, units: Mapping[str, str], sums: Mapping[str, str]) -> dict[str, Any]:
    """The manifest of a bundle; its schema is `tissue schema manifest`."""
    asked = made.question
    settings = {
        "optics": made.with_optics,
        "unsigned": "plus" if made.unsigned_plus else None,
        "by": asked.by,
        "where": [condition.words for condition in asked.where],
        "agree": [pair.words for pair in asked.pairs],
        "compare": list(asked.compared),
        "adjust": asked.adjusted_for,
    }
    found = {
        "schema": 1,
        "tool": "tissue",
        "version": VERSION,
        "commit": commit(),
        "input": made.name,
        "input_sha256": made.input_sha256,
        "rows": made.counts.rows,
        "refused": made.counts.refused,
        "settings": settings,
        "seed": None,  # nothing is drawn at random
        "units": dict(units),
        "sources": defaults(made.columns),
        "files": dict(sorted(sums.items())),
    }
    return found | ({"date": made.date} if made.date else {})


def defaults(columns: Sequence[Column]) -> dict[str, dict[str, str]]:
    """For every input that the table does not have: its default in words, its status and its source."""
    given = {one.field for _, one in cell_readings(columns)}
    return {
        name: {
            "default": field.default_words,
            "status": DEFAULT_STATUS.get(field.status, field.status),
            "source": source(field.source).citation if field.source in keys() else field.source,
        }
        for name, field in fields().items()
        if name not in given and field.default_words
    }


def command(made: Made) -> str:
    """The command that makes the bundle again, beside the table that came in."""
    asked = made.question
    parts = ["tissue", "series", made.name, _output(made)]
    parts += ["--columns", NAMED_OTHERWISE] if made.mapped or asked.outcomes else []
    parts += ["--optics"] if made.with_optics else []
    parts += ["--unsigned", "plus"] if made.unsigned_plus else []
    parts += ["--by", asked.by] if asked.by is not None else []
    for flag, words in (
        ("--where", [one.words for one in asked.where]),
        ("--agree", [one.words for one in asked.pairs]),
        ("--compare", list(asked.compared)),
        ("--adjust", [asked.adjusted_for] if asked.adjusted_for else []),
        ("--date", [made.date] if made.date else []),
    ):
        for word in words:
            parts += [flag, word]
    return shlex.join([*parts, "--bundle", "bundle"])


def write_bundle(
    folder: str | Path, made: Made, output: str | Path, tables: Mapping[str, bytes], figures: Mapping[str, bytes]
) -> None:
    """Write a bundle, whole or not at all.

    Args:
        folder: a new one.
        made: Made.
        output: path of the table that went out.
        tables, figures: as in `bundle_files`.

    Raises:
        TableError: a folder that is there, or a place that cannot be written to.
    """
    folder = Path(folder)
    aside = unfinished(folder)
    clear_away(folder)
    try:
        (aside / "figures").mkdir(parents=True)
        shutil.copyfile(output, aside / _output(made))
        for name, data in bundle_files(made, sha256_of(output), tables, figures).items():
            (aside / name).write_bytes(data)
        if os.path.lexists(folder):
            raise TableError(f"--bundle: read {folder.name}, which is there, accepted a new folder")
        os.rename(aside, folder)
    except OSError as error:
        raise TableError(f"--bundle: read {error_words(error)}, accepted a place to write to") from None
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def zipped(
    made: Made, output: bytes, tables: Mapping[str, bytes], figures: Mapping[str, bytes], folder: str = "bundle"
) -> bytes:
    """A bundle as one file, the same bytes for the same input.

    Args:
        made: Made.
        output: bytes of the table that went out.
        tables, figures: as in `bundle_files`.
        folder: its name within.
    """
    out = io.BytesIO()
    files = {_output(made): output} | bundle_files(made, hashlib.sha256(output).hexdigest(), tables, figures)
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in files.items():
            entry = zipfile.ZipInfo(f"{folder}/{name}")  # the earliest date of the format, the same for every bundle
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, data)
    return out.getvalue()


def _output(made: Made) -> str:
    """Name of the table that goes out."""
    return f"output{made.ending}"


def _map(made: Made) -> str:
    """The map of columns: every input with its column, and the outcomes."""
    entries = {
        one.field: Assigned(one.name, one.factor, bool(made.columns[i].more))
        for i, one in cell_readings(made.columns)
        if one.field is not None
    }
    return write_map(entries, made.question.outcomes)


def _json(value: Any) -> bytes:
    """Strict JSON with a line end."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1).encode() + b"\n"


def methods(made: Made, tables: Mapping[str, bytes]) -> str:
    """The methods paragraph, its citations and the caution; a citation that nobody has looked up has an asterisk.

    Args:
        made: how the series was made.
        tables: by name, those that were asked for.
    """
    words = data("methods")["text"]
    sentences = [words[name].format(**_values(made)) for name, is_so in _told(made, tables).items() if is_so]
    said, cited = _numbered(" ".join(sentences))
    doubtful = {key for key in cited if source(key).doubt}
    numbered = [f"{i}. {source(key).citation}.{'*' * (key in doubtful)}" for i, key in enumerate(cited, 1)]
    more = [words["unconfirmed"], ""] if doubtful else []
    return "\n".join([said, "", *numbered, "", *more, STANDING_LINE, ""])


def _numbered(text: str) -> tuple[str, list[str]]:
    """A text with a number for each source in brackets, and the sources in their order; other brackets stay."""
    cited: list[str] = []

    def number(found: re.Match) -> str:
        key = found[1]
        if key not in keys():
            return found[0]
        if key not in cited:
            cited.append(key)
        return f"[{cited.index(key) + 1}]"

    return re.sub(r"\[(\w+)\]", number, text), cited


def _told(made: Made, tables: Mapping[str, bytes]) -> dict[str, bool]:
    """The sentences that apply, in their order."""
    asked = made.question
    return {
        "rows": True,
        "where": bool(asked.where),
        "analysed": made.analysed[1] is not None,
        "alone": made.analysed[1] is None,
        "unsigned": made.unsigned_plus,
        "figures": True,
        "groups": "summary" in tables,
        "outcomes": bool(asked.outcomes),
        "agreement": bool(asked.pairs),
        "comparison": bool(asked.compared),
        "adjusted": asked.adjusted_for is not None,
    }


def _label(name: str) -> str:
    """An input in words, without its unit."""
    return fields()[name].label


def _values(made: Made) -> dict[str, object]:
    """The values for the braces of the sentences."""
    asked = made.question
    return {
        "rows": made.counts.rows,
        "refused": made.counts.refused,
        "reasons": data("methods")["text"]["reasons"] if made.counts.refused else "",
        "version": version_words(),
        "conditions": " and ".join(condition.words for condition in asked.where),
        "eyes": made.analysed[0],
        "patients": made.analysed[1],
        "inputs": "; ".join(_label(one.field) for _, one in cell_readings(made.columns) if one.field in fields()),
        "by": asked.by,
        "not_given": NOT_GIVEN,
        "outcomes": "; ".join(map(titled, asked.outcomes)),
        "fewest": FEWEST,
        "compared": "; ".join(map(titled, asked.compared)),
        "adjusted": titled(asked.adjusted_for or ""),
    }
