"""The fields of one eye as one component, built from the field list; arrow keys step a number."""

from functools import cache

from tissue.entry.fields import fields, groups
from tissue.screens.html import joined, start, tag
from tissue.screens.parts.component import component, text
from tissue.sources import keys, source
from tissue.strength.relationship import relationships

GROUP_WORDS = {
    "refraction": "Refraction",
    "cornea": "Cornea",
    "treatment": "Treatment",
    "flap": "Flap",
    "extraction": "Extraction",
    "judgement": "Lines and credits",
    "errors": "Errors of measurement and cutting",
    "later": "Enhancement and suction loss",
}
ELSEWHERE = "later"  # the group whose fields stand on screens of their own
FOLD_WORDS = {"errors": "All errors"}
WIDE = ("refraction", "relationship", "thickness_method")


def help_text(field):
    """Meaning, limits, default and where the default comes from, in plain sentences."""
    if not field.source:
        return field.help
    where = source(field.source).citation if field.source in keys() else field.source
    return f"{field.help} Source of the default: {where.rstrip('.')}."


def _choices(field):
    """Words of the choices: a relationship by its label, the others as they are."""
    names = {name: one.label for name, one in relationships().items()} if field.name == "relationship" else {}
    first = "not given" if field.default is None else names.get(field.default, field.default)
    others = [(choice, names.get(choice, choice)) for choice in field.choices if choice != field.default]
    return [tag("option", words, value=value) for value, words in (("", first), *others)]


def _input(field):
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


def cell(id, heading, control, fault_id, wide=False):
    """A field with its name and the place of its fault.

    Args:
        id: of the control.
        heading: its name.
        control: markup.
        fault_id: id of the place of the fault.
        wide: whether it takes the whole width.
    """
    inside = tag("label", heading, for_=id), control, tag("p", class_="fault", id=fault_id, hidden=True)
    return tag("div", *inside, class_="cell wide" if wide else "cell")


def _cell(field):
    heading = "As people write it" if field.name == "refraction" else field.heading
    return cell(f"field-{field.name}", heading, _input(field), f"fault-{field.name}", field.name in WIDE)


def _cells(names):
    return tag("div", *(_cell(fields()[name]) for name in names), class_="cells")


def _group(group, names):
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
        inside.append(tag("details", tag("summary", word), _cells(folded)))
    return tag("fieldset", *inside)


@cache
def form_html():
    """The whole form, without values.

    >>> form_html().count("<input") + form_html().count("<select") == len(fields()) - len(groups()[ELSEWHERE])
    True
    """
    parts = joined(*(_group(group, names) for group, names in groups().items() if group != ELSEWHERE))
    begin = tag("p", "Stand in a field to read what it means, what it accepts and where its default comes from.")
    return tag("form", parts, tag("aside", begin, id="field-help", aria_live="off"), class_="tissue-fields")


def fields_component(name, html, css=""):
    """A component that holds fields: all of them are wired by the same script and look alike.

    Args:
        name: what it is called in the page.
        html: the form.
        css: style beside that of all fields.
    """
    return component(name, html, "parts/form/form.js", css=text("parts/form/form.css") + css)


def form(desk, shown_texts, placeholders, wrong, on_edit):
    """Draw the fields; `on_edit` runs when one was changed, with the entry in session_state["fields"]["entry"].

    Args:
        desk: Desk, for its side, revision and sequence.
        shown_texts, placeholders: by name, what stands in a field and what is used where nothing does.
        wrong: by name, the Fault of a field.
        on_edit: called without arguments.
    """
    data = {
        "side": desk.side,
        "revision": desk.revision,
        "sequence": desk.sequence,
        "texts": {name: text for name, text in shown_texts.items() if text},
        "placeholders": placeholders,
        "spelling": "text" if "refraction" in desk.texts.get(desk.side, {}) else "numbers",
        "faults": {name: fault_words(fault) for name, fault in wrong.items()},
    }
    fields_component("fields", form_html())(key="fields", data=data, on_entry_change=on_edit)


def fault_words(fault):
    """A Fault as it stands beside its field: the words of the command without the name."""
    return f"read {fault.read}, accepted {fault.accepted}"
