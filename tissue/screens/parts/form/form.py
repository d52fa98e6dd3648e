"""The fields of one eye as one component, built from the field list; arrow keys step a number."""

from functools import cache
from html import escape

from tissue.entry.fields import fields, groups
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
    if field.default is None:
        return '<option value="">not given</option>' + "".join(
            f'<option value="{choice}">{escape(names.get(choice, choice))}</option>' for choice in field.choices
        )
    return "".join(
        f'<option value="{choice if choice != field.default else ""}">{escape(names.get(choice, choice))}</option>'
        for choice in (field.default, *(c for c in field.choices if c != field.default))
    )


def _input(field):
    common = f'id="field-{field.name}" name="{field.name}" aria-describedby="fault-{field.name} field-help"'
    common += f' data-help="{escape(help_text(field))}"'
    if field.choices:
        return f"<select {common}>{_choices(field)}</select>"
    number = ""
    if field.is_number:
        signed = ' data-signed="1"' if field.kind == "power" else ""
        step = field.step or 1.0
        number = f' inputmode="decimal" data-low="{field.low}" data-high="{field.high}" data-step="{step}"{signed}'
    return f'<input type="text" autocomplete="off" spellcheck="false" {common}{number}>'


def _cell(field):
    wide = " wide" if field.name in WIDE else ""
    heading = "As people write it" if field.name == "refraction" else field.heading
    return (
        f'<div class="cell{wide}"><label for="field-{field.name}">{escape(heading)}</label>{_input(field)}'
        f'<p class="fault" id="fault-{field.name}" hidden></p></div>'
    )


def _cells(names):
    return '<div class="cells">' + "".join(_cell(fields()[name]) for name in names) + "</div>"


def _group(group, names):
    """One group: its word, the fields often used, and the others folded."""
    known = fields()
    open_names = [name for name in names if not known[name].folded]
    folded = [name for name in names if known[name].folded]
    words = GROUP_WORDS[group]
    html = f"<fieldset><legend>{words}</legend>{_cells(open_names) if open_names else ''}"
    if folded:
        word = FOLD_WORDS.get(group, f"More: {words[0].lower()}{words[1:]}")
        html += f"<details><summary>{word}</summary>{_cells(folded)}</details>"
    return html + "</fieldset>"


@cache
def form_html():
    """The whole form, without values.

    >>> form_html().count("<input") + form_html().count("<select") == len(fields()) - len(groups()[ELSEWHERE])
    True
    """
    parts = "".join(_group(group, names) for group, names in groups().items() if group != ELSEWHERE)
    start = "<p>Stand in a field to read what it means, what it accepts and where its default comes from.</p>"
    return f'<form class="tissue-fields">{parts}<aside id="field-help" aria-live="off">{start}</aside></form>'


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
