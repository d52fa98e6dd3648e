"""The fields of one eye as one component, built from the field list; arrow keys step a number."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from tissue.budget.strength.relationship import relationships
from tissue.entry.fields import Field, fields, groups
from tissue.ground.sources import keys, source
from tissue.ground.vocabulary import TRUE_MINUS
from tissue.screens.html import NOTHING, joined, start, tag
from tissue.screens.parts.component import component, text

if TYPE_CHECKING:
    from tissue.entry.checks import Fault
    from tissue.screens.desk.state import Day

GROUP_WORDS = {
    "refraction": "Refraction",
    "cornea": "Cornea",
    "treatment": "Treatment",
    "flap": "Flap",
    "extraction": "Extraction",
    "judgement": "Limits and assumptions",
    "errors": "Errors of measurement and cutting",
    "later": "Enhancement and suction loss",
}
ELSEWHERE = "later"  # the group with fields on screens of their own
FOLD_WORDS = {"errors": "All errors"}
TREATED = ("treated_sphere_D", "treated_cylinder_D", "treated_axis_deg")
LONGEST_CODE = 60
WIDE = ("refraction", "relationship", "thickness_method")


def help_text(field: Field) -> str:
    """Meaning, limits, default and where the default comes from, in plain sentences."""
    if not field.source:
        return field.help
    where = source(field.source).citation if field.source in keys() else field.source
    return f"{field.help} Source of the default: {where.rstrip('.')}."


def _choices(field: Field) -> list[Markup]:
    """Words of the choices: a relationship by its label, the others as they are."""
    names = {name: one.label for name, one in relationships().items()} if field.name == "relationship" else {}
    first = "not given" if field.default is None else names.get(field.default, field.default)
    others = [(choice, names.get(choice, choice)) for choice in field.choices if choice != field.default]
    return [tag("option", words, value=value) for value, words in (("", first), *others)]


def _input(field: Field) -> Markup:
    """The input of a field with its limits and its help."""
    name, help_ = field.name, help_text(field)
    common = {"id": f"field-{name}", "name": name, "aria_describedby": f"fault-{name} field-help", "data_help": help_}
    if field.choices:
        return tag("select", *_choices(field), **common)
    limits = {}
    if field.is_number:
        limits = {"inputmode": "decimal", "data_low": field.low, "data_high": field.high}
        limits |= {"data_step": field.step or 1.0, "data_signed": "1" if field.kind == "power" else None}
    return start("input", type="text", autocomplete="off", spellcheck="false", **common, **limits)


def cell(id: str, heading: str, control: Markup, fault_id: str, wide: bool = False, after: Markup = NOTHING) -> Markup:
    """A field with its name and the place of its fault.

    Args:
        id: of the control.
        heading: its name.
        control: markup.
        fault_id: id of the place of the fault.
        wide: whether it takes the whole width.
        after: markup under its fault.
    """
    inside = tag("label", heading, for_=id), control, tag("p", class_="fault", id=fault_id, hidden=True), after
    return tag("div", *inside, class_="cell wide" if wide else "cell")


def _cell(field: Field) -> Markup:
    fault = f"fault-{field.name}"
    if field.name != "refraction":
        return cell(f"field-{field.name}", field.heading, _input(field), fault, field.name in WIDE)
    offer = tag("button", type="button", class_="offer", hidden=True)
    return cell("field-refraction", "As people write it", _input(field), fault, wide=True, after=offer)


def _cells(names: list[str]) -> Markup:
    return tag("div", *(_cell(fields()[name]) for name in names), class_="cells")


def _group(group: str, names: list[str]) -> Markup:
    """One group: its word, the fields often used, and the others folded."""
    known = fields()
    open_names = [name for name in names if not known[name].folded]
    folded = [name for name in names if known[name].folded]
    words = GROUP_WORDS[group]
    inside = [tag("legend", words)]
    if open_names:
        inside.append(_cells(open_names))
    if folded:
        word = FOLD_WORDS.get(group, f"More: {words[0].lower()}{words[1:]}")
        head = tag("summary", word, tag("span", class_="given"))
        inside.append(tag("details", head, _cells(folded), data_group=group))
    if group == "cornea":
        inside.append(tag("p", tag("span"), tag("button", type="button"), class_="own-map"))
    return tag("fieldset", *inside)


def _code() -> Markup:
    """The field of the pseudonym, above all others."""
    about = {"id": "field-code", "name": "code", "aria_describedby": "code-said", "maxlength": LONGEST_CODE}
    control = start("input", type="text", autocomplete="off", spellcheck="false", **about)
    said = tag("p", "a pseudonym, never a name", class_="pseudonym", id="code-said")
    return tag("div", tag("label", "Code of the patient", for_="field-code"), control, said, class_="cell code")


@cache
def form_html() -> Markup:
    """The whole form, without values.

    >>> form_html().count("<input") + form_html().count("<select") == 1 + len(fields()) - len(groups()[ELSEWHERE])
    True
    """
    parts = joined(*(_group(group, names) for group, names in groups().items() if group != ELSEWHERE))
    begin = tag("p", "Stand in a field to read what it means, what it accepts and where its default comes from.")
    return tag("form", _code(), parts, tag("aside", begin, id="field-help", aria_live="off"), class_="tissue-fields")


def fields_component(name: str, html: Markup, css: str = "") -> Callable[..., Any]:
    """A component that holds fields: all of them are wired by the same script and look alike.

    Args:
        name: what it is called in the page.
        html: the form.
        css: style beside that of all fields.
    """
    return component(name, html, "parts/form/form.js", css=text("parts/form/form.css") + css)


def fields_data(
    plan: str, side: str, own: Day, texts: dict[str, Any], placeholders: dict[str, str], wrong: dict[str, Fault]
) -> dict[str, Any]:
    """The data that the fields of a form get.

    Args:
        plan, side: whose fields they are, as the messages name it. own: the Day of the page.
        texts, placeholders: by name, what stands in a field and what is used where nothing does.
        wrong: by name, the Fault of a field.
    """
    with own.turn:
        answered, late = own.answered, bool(plan) and (plan, side) != (own.at, own.desk.side)
    return {
        "desk": own.name,
        "asked": own.asked,
        "gone": own.gone,
        "plan": plan,
        "side": side,
        "answered": answered,
        "late": late,  # another eye came onto the desk in the middle of this run: the next one draws its fields
        "texts": {name: text for name, text in texts.items() if text},
        "placeholders": placeholders,
        "faults": {name: fault_words(fault) for name, fault in wrong.items()},
    }


def form(data: dict[str, Any], texts: dict[str, Any], offer: str = "", own_map: str = "") -> None:
    """Draw the fields of an eye.

    Args:
        data: see `fields_data`. texts: by name, what was typed.
        offer: words of the button beside a refraction that is of another eye; none where empty.
        own_map: which maps of its own the eye has, in words; empty where it has none.
    """
    more = {"folds": folds(texts), "offer": offer, "own_map": own_map}
    fields_component("fields", form_html())(key="fields", data=data | more)


def folds(texts: dict[str, Any]) -> dict[str, str]:
    """By group, the given values of the fields that are folded away, for the head of the fold.

    >>> folds({"treated_sphere_D": "-2.50", "treated_cylinder_D": "+3.75", "treated_axis_deg": "10"})
    {'refraction': ': treated −2.50 +3.75 × 10'}
    """
    found = {}
    for group, names in groups().items():
        given = {name: texts[name] for name in names if fields()[name].folded and texts.get(name, "").strip()}
        treated = [given.pop(name) for name in TREATED if name in given]
        said = (
            [f"treated {' '.join(treated[:2])}" + (f" × {treated[2]}" if len(treated) > 2 else "")] if treated else []
        )
        said += [f"{_short_label(name)} {text}" for name, text in given.items()]
        if said:
            found[group] = ": " + ", ".join(said).translate(TRUE_MINUS)
    return found


def _short_label(name: str) -> str:
    label = fields()[name].label.split(",")[0]
    return label[0].lower() + label[1:]


def fault_words(fault: Fault) -> str:
    """A Fault as it is shown beside its field: the words of the command without the name."""
    return f"read {fault.read}, accepted {fault.accepted}"
