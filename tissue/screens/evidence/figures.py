"""Parts of Evidence on the figures: relationships, what contradicts them, formulas, published eyes."""

from functools import cache
from typing import Any

from markupsafe import Markup

from tissue.budget.strength.relationship import relationships
from tissue.entry.fields import DEFAULT_STATUS, figure
from tissue.ground.sources import READ_IN_PRINT, data, eye_name, letter, rows, source, source_of_eye
from tissue.ground.vocabulary import TRUE_MINUS
from tissue.report.measures import GROUPS, measures, optics_measures
from tissue.screens.html import NOTHING, notes, part, plain_table, prose

PLANES = {"in-plane": "in the plane of the cornea", "out-of-plane": "across its layers", "none": "–"}


def cited(key: str) -> str:
    """A citation in one line; an en dash where there is none."""
    return source(key).citation if key else "–"


@cache
def relationships_part() -> Markup:
    """Every relationship of depth and strength."""
    found = []
    for one in relationships().values():
        printed = tuple(_printed(entry) for entry in one.printed) or ("–",)
        said = tuple(text for text in (one.note, f"assumed: {one.assumed}") if text)
        names = (cited(one.source), f"data: {cited(one.data_source)}") if one.data_source else (cited(one.source),)
        kind = (one.property, one.tissue, PLANES[one.plane])
        found.append((one.label, kind, printed, said, DEFAULT_STATUS[one.status], names))
    heads = (
        "Relationship",
        "What was measured, on what",
        "Printed numbers",
        "What had to be assumed",
        "Status",
        "Source",
    )
    return part("Depth and strength") + plain_table(heads, found, "Relationships of depth and strength")


def _printed(entry: dict[str, Any]) -> str:
    """One printed number with its spread and unit."""
    spread = f" ± {figure(entry['sd'])}" if "sd" in entry else ""
    return f"{entry['where']} {figure(entry['value'])}{spread} {entry.get('unit', '')}".strip()


@cache
def contradictions_part() -> Markup:
    """What contradicts the strength model, and what it does not say."""
    found = data("contradictions")
    lines = [
        (one["text"], _status(one["sources"]), tuple(cited(key) for key in one["sources"])) for one in found["finding"]
    ]
    return (
        part("What contradicts these strength figures")
        + plain_table(("Finding", "Status", "Source"), lines, "Findings against the strength model")
        + part("What the strength figures do not say")
        + prose(*(one["text"] for one in found["limit"]))
    )


def _status(sources: list[str]) -> str:
    """The status of a finding: "printed" where every source of it can be looked up."""
    letters = {letter(READ_IN_PRINT, key) for key in sources}
    return DEFAULT_STATUS[READ_IN_PRINT if letters == {READ_IN_PRINT} else "M"]


@cache
def figures_part() -> Markup:
    """Every measure with its formula, limits and source."""
    lines = [
        (
            f"{one.label.format(line='the line')}{', ' if one.unit else ''}{one.unit}",
            GROUPS[one.group],
            one.formula,
            one.limits,
            one.citation,
        )
        for one in (measures() | optics_measures()).values()
    ]
    legend = (
        "E epithelium, cut what lies above the removal, r what is removed, CCT central thickness, "
        "T(x, y) the thickness map."
    )
    heads = ("Figure", "Stands under", "Formula", "What it does not say", "Source")
    return part("Figures") + notes(legend) + plain_table(heads, lines, "Figures and formulas")


@cache
def eyes_part() -> Markup:
    """Published eyes, the rules of thumb they break, and counts."""
    return part("Rules of thumb that published eyes broke") + _rules() + part("Published eyes") + _eyes() + _counts()


def _rules() -> Markup:
    lines = [
        (one["rule"], one["said"], ", ".join(eye_name(eye) for eye in one["eyes"]))
        for one in data("rules_of_thumb").values()
    ]
    return plain_table(("Rule of thumb", "What happened", "Eyes"), lines, "Rules of thumb and the eyes that broke them")


def _eyes() -> Markup:
    lines = []
    for eye in rows("published_eyes"):
        power = " ".join(_signed(eye[name]) for name in ("sphere_D", "cyl_D") if eye[name])
        axis = f" × {eye['axis_deg']}" if eye["axis_deg"] else ""
        numbers = [
            _shown(eye[name])
            for name in ("cct_um", "flap_or_cap_um", "depth_um", "rsb_reported_um", "pta_reported_pct")
        ]
        status = DEFAULT_STATUS[eye["status"]]
        cite = source_of_eye(eye["case_id"]).citation
        lines.append(
            (
                eye_name(eye["case_id"]).removeprefix("published eye "),
                f"{eye['procedure']} {eye['eye']}".strip(),
                power + axis or "–",
                numbers[0],
                f"{numbers[1]}, {eye['cut_is']}" if eye["cut_is"] else numbers[1],
                *numbers[2:],
                eye["outcome"],
                status,
                cite,
            )
        )
    heads = (
        "Eye",
        "Way",
        "Refraction",
        "Centre µm",
        "Flap or cap µm",
        "Depth µm",
        "Bed µm",
        "PTA %",
        "What was reported",
        "Status",
        "Source",
    )
    said = (
        "An en dash: not reported in what could be read. Nothing was filled in but the minus signs of the wrong-axis "
        "case, whose page has lost them. Unconfirmed: read, but its source cannot be looked up by what stands here."
    )
    return plain_table(heads, lines, "Published eyes", numbers=(3, 5, 6, 7)) + notes(said)


def _signed(text: str) -> str:
    """A power as printed in a table, with a true minus sign and its plus."""
    return f"{float(text):+.2f}".translate(TRUE_MINUS)


def _shown(text: str) -> str:
    return figure(float(text)) if text.replace(".", "", 1).isdigit() else (text or "–")


def _counts() -> Markup:
    """Published counts, each out of its number of eyes."""
    found = data("counts")
    titles = {"ectasia": "Ectasia reported", "altered": "Percent tissue altered of 40 or more"}
    html = NOTHING
    for key, title in titles.items():
        lines = [
            (
                one["what"],
                f"{one['count']:,} of {one['of']:,}".replace(",", " "),
                one.get("caveat", ""),
                cited(one["source"]),
            )
            for one in found[key]
        ]
        html += part(title) + plain_table(("What", "Count", "What it is not", "Source"), lines, title)
    return html + notes("Counts over counts; never the risk of the eye on the screen.")
