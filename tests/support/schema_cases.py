"""Tables as JSON: what the shipped schemas of tables are laid beside."""

import csv
import json

import jsonschema

from tissue.command.cite import schema_text


def faults(name, value):
    """Where a value is not what the schema of that name says, and why."""
    checker = jsonschema.Draft202012Validator(json.loads(schema_text(name)))
    return [f"{'.'.join(map(str, one.absolute_path))}: {one.message[:200]}" for one in checker.iter_errors(value)]


def table_as_json(path, name):
    """Rows of a CSV as the schema of that name reads them: numbers, words, nothing."""
    known = json.loads(schema_text(name))["items"]["properties"]
    with open(path, encoding="utf-8", newline="") as file:
        return [{head: _cell(text, known.get(head)) for head, text in row.items()} for row in csv.DictReader(file)]


def _cell(text, known):
    """One cell; a column that the schema does not know is words."""
    types = known.get("type", "string") if known else "string"
    if "string" in types and not (text == "" and "null" in types):
        return text
    if text == "":
        return None
    return json.loads(text)
