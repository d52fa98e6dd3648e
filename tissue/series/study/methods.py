"""The methods paragraph of a study, in words, with its citations; the sentences stand in data/methods.toml."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from tissue.report.measures import STANDING_LINE
from tissue.report.origin import version_words
from tissue.series.statistics import RESAMPLES, SEED
from tissue.series.study.agreement import FEWEST
from tissue.series.study.question import NOT_GIVEN
from tissue.series.tables.header import cell_readings
from tissue.sources import data, source

if TYPE_CHECKING:
    from tissue.series.study.bundle import Made


def methods(made: "Made", tables: Mapping[str, bytes]) -> str:
    """The paragraph, the citations and the caution.

    Args:
        made: how the series was made.
        tables: by name, those that were asked for.
    """
    words, cited = data("methods")["text"], data("methods")["cited"]
    told = _told(made, tables)
    sentences = [words[name].format(**_values(made)) for name, is_so in told.items() if is_so]
    keys = [*cited["always"], *(key for name, is_so in told.items() if is_so for key in cited.get(name, ()))]
    numbered = [f"{i}. {source(key).citation}." for i, key in enumerate(keys, 1)]
    return "\n".join([" ".join(sentences), "", *numbered, "", STANDING_LINE, ""])


def _told(made: "Made", tables: Mapping[str, bytes]) -> dict[str, bool]:
    """Which sentences are said, in their order."""
    asked = made.question
    return {
        "rows": True,
        "where": bool(asked.where),
        "unsigned": made.unsigned_plus,
        "figures": True,
        "groups": "summary" in tables,
        "outcomes": bool(asked.outcomes),
        "agreement": bool(asked.pairs),
        "comparison": bool(asked.compared),
        "adjusted": asked.adjusted_for is not None,
    }


def _values(made: "Made") -> dict[str, object]:
    """What stands in the braces."""
    asked = made.question
    return {
        "rows": made.counts.rows,
        "refused": made.counts.refused,
        "reasons": data("methods")["text"]["reasons"] if made.counts.refused else "",
        "version": version_words(),
        "conditions": " and ".join(condition.words for condition in asked.where),
        "inputs": ", ".join(one.field for _, one in cell_readings(made.columns) if one.field),
        "by": asked.by,
        "not_given": NOT_GIVEN,
        "resamples": RESAMPLES,
        "seed": SEED,
        "outcomes": ", ".join(asked.outcomes),
        "fewest": FEWEST,
        "compared": ", ".join(asked.compared),
        "adjusted": asked.adjusted_for,
    }
