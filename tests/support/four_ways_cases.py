"""One plan, four ways: the same typed texts through screen, command, series and record, compared at printed precision.

The JSON of the command has every figure unrounded; what the other ways print must be that figure, rounded. How many
decimals a figure has in a series is typed here from the interface; on screen and paper it is that of the table's row.
"""

import csv
import json
import re
from html import unescape

import pypdf
from fuzz_commands import called
from pypdf.generic import DecodedStreamObject, NameObject

from tissue.report.measures import measures, optics_measures
from tissue.screens.desk.reading import shown_eye as screen_figures
from tissue.screens.tables.optics import optics_table
from tissue.screens.tables.options import table
from tissue.series.tables.cells import unguard

OPTIONS = ("surface", "flap", "lenticule")
DECIMALS = {"_mm3": 3, "_um": 1, "_percent": 1, "_mm": 2, "_D": 2, "_deg": 1}  # source: the interface, Series
DECIMALS |= {"c40_before_um": 4, "c40_change_um": 4, "um_per_D": 1, "asphericity_after": 2}


def write_series(path, plans):
    """One table of all eyes, a row each; what is not typed is empty."""
    names = ["plan", "side", *dict.fromkeys(name for eyes in plans for texts in eyes.values() for name in texts)]
    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, restval="")
        writer.writeheader()
        for number, eyes in enumerate(plans):
            writer.writerows({"plan": number, "side": side, **texts} for side, texts in eyes.items())


def read_series(path):
    """Rows of the series by (number of the plan, side)."""
    with open(path, encoding="utf-8", newline="") as file:
        return {(int(row["plan"]), row["side"]): row for row in csv.DictReader(file)}


def printed(value, decimals):
    """A figure of the JSON as it is printed: rounded, without the minus of a zero; None as nothing."""
    text = "" if value is None else f"{value:.{decimals}f}"
    return text.removeprefix("-") if not text.strip("-0.") else text


def shown(value, decimals, chance=False):
    """The same as people read it: a true minus, a dash for nothing, a small chance in words."""
    if value is None:
        return "–"
    return "< 0.1" if chance and 1e-9 < value < 0.05 else printed(value, decimals).replace("-", "−")


def flat(option, figures, before=""):
    """The figures of an option of the JSON by the names that a series gives them."""
    found = {}
    for name, value in figures.items():
        if name == "optics":
            found |= flat(option, value or {}, "optics_")
        elif isinstance(value, dict):
            stem, unit = re.fullmatch(r"(.*?)(_um|_percent)", name).groups()
            found |= {f"{option}_{before}{stem}_{part}{unit}": one for part, one in value.items()}
        else:
            found[f"{option}_{before}{name}"] = value
    return found


def wanted_in_series(eye):
    """Every cell of figures of an eye, from its JSON."""
    found = {}
    for option in OPTIONS:
        for name, value in flat(option, eye["options"][option]).items():
            places = next((places for end, places in reversed(DECIMALS.items()) if name.endswith(end)), None)
            if isinstance(value, bool) or places is None:
                found[name] = {True: "true", False: "false", None: ""}.get(value, value)
            else:
                found[name] = printed(value, places)
    return found


def wanted_to_read(eye, rows):
    """What stands in the rows of a table for people, by row: a text for each option, from the JSON."""
    relationship = eye["input"]["relationship"]
    found = {}
    for row in rows:
        measure, cells = measures()[row], []
        for option in OPTIONS:
            figures = eye["options"][option]
            chosen = figures["strength_percent"][relationship] if row == "strength" else figures.get(measure.figure)
            chance = row == "below_line"
            cells.append(shown(chosen, 1 if chance else measure.decimals, chance))
        found[row] = cells
    return found


def rows_of_html(html):
    """The values of a table of the screen by the name of the row."""
    found = {}
    for row in re.findall(r"<tr(?: class=\"[a-z]+\")?><th scope=\"row\">.*?</tr>", html, re.DOTALL):
        name = unescape(re.search(r"<summary>(.*?)</summary>", row)[1])
        cells = re.findall(r'<span class="value">(.*?)</span>', row)
        found[name] = [unescape(re.sub(r"<sup>.*?</sup>", "", cell)) for cell in cells]
    return found


def _text_of(page):
    """The text of a page, its drawing left out before pypdf reads it, which takes twenty times as long as the words."""
    words = DecodedStreamObject()
    words.set_data(b"\n".join(re.findall(rb"^BT .*? ET$", page.get_contents().get_data(), re.MULTILINE)))
    page[NameObject("/Contents")] = words
    return page.extract_text()


def rows_of_pdf(path, lines_um):
    """The values of the table of a record by row: OD and OS one after the other, as (value, interval)."""
    from tissue.paper.record import ROWS

    words = [line.strip() for line in _text_of(pypdf.PdfReader(path).pages[0]).splitlines()]
    heads = {}
    for row in (*ROWS, "altered_max"):  # the latter stands where more is removed beside the centre
        label = measures()[row].label.replace("{line}", f"{lines_um:.0f} µm")
        heads[f"{label}, {measures()[row].unit}"] = row
    found, row = {}, None
    for word in words[words.index("depth in µm, shares in %") :]:
        if word in heads:
            row = heads[word]
            found[row] = []
        elif word.startswith("† Arithmetic only"):
            break
        elif row and re.fullmatch(r"–|(< )?−?[0-9.]+", word):
            found[row].append([word, ""])
        elif row and re.fullmatch(r"−?[0-9.]+–−?[0-9.]+", word):
            found[row][-1][1] = word
    return found


def intervals(eye, row):
    """The intervals that a record prints under the values of a row, from the JSON."""
    found = []
    for option in OPTIONS:
        figures, ends, places = eye["options"][option], None, 0
        if row == "bed":
            ends = figures.get("bed_low_um"), figures.get("bed_high_um")
        elif row == "altered":
            ends, places = (figures.get("altered_low_percent"), figures.get("altered_high_percent")), 1
        elif row == "strength":
            known = [value for value in figures["strength_percent"].values() if value is not None]
            ends = (min(known), max(known)) if known else None
        there = ends is not None and None not in ends
        found.append(f"{shown(ends[0], places)}–{shown(ends[1], places)}" if there else "")
    return found


def differences(folder, number, eyes, code, text, rows):
    """What differs between the four ways of one plan, in words; an empty list where nothing does.

    Args:
        folder: to write to.
        number: of the plan in the series.
        eyes: what was typed.
        code, text: of the plan file.
        rows: of the series, as `read_series` gives them.
    """
    plan, pdf = folder / "plan.toml", folder / "record.pdf"
    plan.write_text(text, encoding="utf-8")
    pdf.unlink(missing_ok=True)
    status, out, err = called(["plan", str(plan), "--json"])
    again, _, said = called(["record", str(plan), str(pdf)])
    if (status, err) != (again, said) or (status == 0) != pdf.exists():
        return [f"command ends with {status}, record with {again}"]
    on_screen = {side: screen_figures(texts, side) for side, texts in eyes.items()}
    if status != 0:
        return list(_refusals(plan, err, on_screen, rows, number))
    document = json.loads(out)
    found = []
    for side, eye in document["eyes"].items():
        found += [f"{side}: {words}" for words in _eye_differs(eye, on_screen[side], rows[number, side])]
    if document["code"] != code or list(document["eyes"]) != sorted(eyes):
        found.append(f"code or eyes: {document['code']}, {list(document['eyes'])}")
    return found + list(_record_differs(pdf, document["eyes"]))


def _refusals(plan, err, on_screen, rows, number):
    """The same faults, in the same words."""
    for side, (_, wrong) in on_screen.items():
        command = {line.split(f"{side}: ", 1)[1] for line in err.splitlines() if line.startswith(f"{plan}: {side}: ")}
        screen = {fault.text for fault in wrong.values()}  # of each field the first
        reason = rows[number, side]["reason"]
        series = set(re.sub(r"^line [0-9]+: ", "", reason).split("; ")) if reason else set()
        fields_of = {words.split(":")[0] for words in command}
        if command != series or not screen <= command or set(wrong) != fields_of:
            yield f"{side}: refused by the command for {command}, on screen for {screen}, in the series for {series}"


def _eye_differs(eye, on_screen, row):
    shown_, wrong = on_screen
    if shown_ is None or row["status"] != "ok":
        yield f"taken by the command, on screen {list(wrong)}, in the series {row['reason']}"
        return
    for name, value in wanted_in_series(eye).items():
        if unguard(row[name]) != (value or ""):
            yield f"{name}: command {value}, series {row[name]}"
    html = rows_of_html(table(shown_.comparison, "OD", ("depth", "shares", "stays", "more")))
    judgement = shown_.comparison.judgement
    for name, cells in wanted_to_read(eye, measures()).items():
        if html[measures()[name].heading(judgement)] != cells:
            yield f"{name}: command {cells}, screen {html[measures()[name].heading(judgement)]}"
    html = rows_of_html(optics_table(shown_))
    for measure in optics_measures().values():
        seen = [eye["options"][option]["optics"] or {} for option in OPTIONS]
        cells = [shown(one.get(measure.figure), measure.decimals) for one in seen]
        if measure.figure != "refraction" and html[measure.label] != cells:
            yield f"{measure.id}: command {cells}, screen {html[measure.label]}"


def _record_differs(pdf, eyes):
    line = next(iter(eyes.values()))["input"]["bed_line_um"]
    for row, cells in rows_of_pdf(pdf, line).items():
        values = [value for eye in eyes.values() for value in wanted_to_read(eye, [row])[row]]
        spreads = [words for eye in eyes.values() for words in intervals(eye, row)]
        if cells != [list(pair) for pair in zip(values, spreads, strict=True)]:
            yield f"{row}: command {values} {spreads}, record {cells}"
