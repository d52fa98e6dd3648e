"""A second reader of Rounds: question, answer, reason and picture of a random eye, read from what is shown.

The pages are read as HTML, the pictures as drawn; every figure is reckoned again from the words that stand there, and
from the second arithmetic of outside_model.py. Nothing of the tool's own arithmetic is used for it.
"""

import re
from html.parser import HTMLParser
from itertools import product
from math import exp, sqrt

import numpy as np
from outside_model import Left, Plan, Taken, at_cornea
from outside_routes import enhancement, rescue
from patient_reader import _spans, an_eye
from scipy.special import ndtr

from tissue.drawing.base.palette import look
from tissue.drawing.section.describe import describe_flattened
from tissue.drawing.section.section import flattened
from tissue.entry.plan_file import Plan as PlanFile
from tissue.rounds.cases import cases_of
from tissue.rounds.judge import judge
from tissue.rounds.kinds import MAKERS, ask
from tissue.screens.rounds.question import arithmetic, given_table, head, outcome_words

LIGHT = look("light")
WAYS = ("surface", "flap", "lenticule")
NUMBER = re.compile(r"[−-]?\d+(?:\.\d+)?")
WORDS = (("~", "-"), ("−", "-"), ("·", "*"), ("√", "sqrt"), ("Φ", "ndtr"), ("²", "**2"), ("³", "**3"), ("°", ""))
VOID = {"br", "sup"}


class Page(HTMLParser):
    """What a page says: the cells of its rows, its headings, its bold words, as text."""

    def __init__(self, html):
        super().__init__()
        self.rows, self.bold, self.head, self.stack, self.all = [], [], "", [], []
        self.feed(str(html))

    def handle_starttag(self, tag, attributes):
        if tag in VOID:
            return
        self.stack.append((tag, dict(attributes).get("class") or ""))
        if tag == "tr":
            self.rows.append({"class": dict(attributes).get("class") or "", "cells": [], "by": []})
        elif tag in ("td", "th") and self.rows:
            self.rows[-1]["cells"].append("")
        elif tag == "div" and ("div", "by") in self.stack[:-1]:
            self.rows[-1]["by"].append("")
        elif tag == "b":
            self.bold.append("")

    def handle_endtag(self, tag):
        if tag in VOID:
            return
        while self.stack and self.stack.pop()[0] != tag:
            pass

    def handle_data(self, text):
        tags = [tag for tag, _ in self.stack]
        self.all.append(text)
        if ("div", "by") in self.stack:
            self.rows[-1]["by"][-1] += text
        elif "td" in tags or "th" in tags:
            self.rows[-1]["cells"][-1] += text
        if "b" in tags:
            self.bold[-1] += text
        if "h2" in tags:
            self.head += text


def figure(text):
    """A figure as it is written, and half of its last digit."""
    plain = text.replace("−", "-").replace("+", "")
    return float(plain), 0.5 * 10.0 ** -len(plain.partition(".")[2])


def reckoned(text):
    """Least and greatest value of a formula in figures, each within its last digit."""
    plain = re.sub(r"(?<=[\d)²³]) [−-] ", " ~ ", text)  # a minus between two figures is no sign
    found = list(NUMBER.finditer(plain))
    formula, ends, at = "", [], 0
    for one in found:
        formula += plain[at : one.start()] + f"(q[{len(ends)}])"
        value, half = figure(one.group())
        turned = ("sin" in plain or "cos" in plain) and "." not in one.group()
        exact = turned or one.group() in ("1000", "376", "337.5", "100")
        ends.append((value,) if exact else (value - half, value, value + half))
        at = one.end()
    formula += plain[at:]
    for sign, word in WORDS:
        formula = formula.replace(sign, word)
    names = {"sqrt": sqrt, "exp": exp, "ndtr": ndtr, "sin": _sin, "cos": _cos}
    corners = product(*ends) if len(ends) < 8 else _even(ends)
    values = []
    for q in corners:
        try:
            values.append(float(eval(formula, {"__builtins__": {}}, names | {"q": q})))
        except (ValueError, ZeroDivisionError):
            continue
    return min(values), max(values)


def _even(ends):
    """Every quantity of a long sum at its least, as it is written, at its greatest."""
    return [[one[0] for one in ends], [one[len(one) // 2] for one in ends], [one[-1] for one in ends]]


def _sin(deg):
    return float(np.sin(np.radians(deg)))


def _cos(deg):
    return float(np.cos(np.radians(deg)))


def a_question(seed):
    """(values by the plan's names, side, Question) of a random eye; kinds in turn, by what the eye carries."""
    values, side = an_eye(seed)
    case = cases_of(PlanFile("", {side: values}, {}), "an eye", "made up")[0]
    kinds = list(MAKERS)
    for i in range(len(kinds)):
        kind = kinds[(seed + 7 * i) % len(kinds)]
        question = ask(kind, case, np.random.default_rng(seed))
        if question is not None:
            return values, side, question
    return values, side, None


def faults(seed):
    """What a question of a random eye says or draws that is not so, in words; empty where all agrees."""
    values, side, question = a_question(seed)
    if question is None:
        return []
    judged = judge(question, _typed(question))
    asked, given, why = Page(head(question, 1, 1)), Page(given_table(question)), Page(arithmetic(question))
    found = [*_of_answer(question, judged, Page(outcome_words(judged)), why), *_of_reason(why)]
    by_hand = _by_hand(question, values, given)
    if by_hand is not None and abs(by_hand - question.answer) > max(0.06, 0.02 * question.tolerance):
        found.append(f"answer {question.answer}, {by_hand} by hand")
    if question.prompt not in asked.head or side not in question.side:
        found.append("the question is not the one asked")
    if question.kind.id == "deepest":
        found += _of_place(question, Plan(values))
    if question.shows is not None:
        found += _of_picture(question, values, side)
    return [f"{seed} {question.id}: {one}" for one in found]


def _typed(question):
    """The right answer as somebody types or marks it."""
    if question.form in ("one", "some"):
        return [question.answer] if question.form == "one" else list(question.answer)
    words = question.answer_words.split(" (")[0].split(" = ")[0]
    return words if question.form == "refraction" else NUMBER.search(words.replace("+", "")).group() if (
        question.form != "power"
    ) else re.search(r"[+−-]?\d+\.?\d*", words).group()  # fmt: skip


def _of_answer(question, judged, outcome, why):
    """The answer as it is told is that of the last line, and typed in it is right."""
    if not judged.within:
        yield f"its own answer, typed, is {judged.words}"
    told = outcome.bold[-1]
    if question.form == "some":
        return
    result = next(row for row in why.rows if row["class"] == "result")
    shown = " ".join(result["cells"][2:]) if len(result["cells"]) > 2 else result["cells"][-1]
    if question.form in ("number", "power"):
        if figure(NUMBER.search(told).group())[0] != figure(NUMBER.search(shown).group())[0]:
            yield f"told {told}, reason {shown}"
        if question.kind.unit and question.kind.unit.replace("points", "") not in shown:
            yield f"told {told}, unit of the reason {shown}"
    elif question.form == "one" and shown.strip() and not NUMBER.search(shown) and told.split()[0] not in shown:
        yield f"told {told}, reason {shown}"


def _of_reason(why):
    """Every formula gives its figure, every sum its last line."""
    total, slack, counted = 0.0, 0.0, 0
    for row in why.rows:
        cells = row["cells"]
        sign = cells[0].strip() if cells else ""
        number = re.fullmatch(r"[+−-]?\d+(\.\d+)?", cells[2].strip()) if len(cells) > 2 else None
        if not number:
            continue
        value, half = figure(cells[2].strip())
        for text in row["by"][1:2]:
            low, high = reckoned(text)
            if not low - half - 1e-9 <= value <= high + half + 1e-9:
                yield f"{text} is {low:.4f} to {high:.4f}, not {cells[2]}"
        if row["class"] == "beside":
            continue
        if sign == "=":
            if counted > 1 and abs(total - value) > slack + half + 1e-9:
                yield f"the sum is {total}, not {value}"
            total, slack, counted = value, half, 1
        elif sign in ("+", "−"):
            total, slack, counted = total + (value if sign == "+" else -value), slack + half, counted + 1
        else:
            total, slack, counted = value, half, 1


def _given(given, label):
    """The first figure of what is given under a label."""
    row = next(row for row in given.rows if row["cells"][0].startswith(label))
    return figure(NUMBER.search(row["cells"][1].replace("+", "")).group())[0]


def _by_hand(question, values, given):
    """The answer by the second arithmetic; None where the kind has none or is no number."""
    if question.form not in ("number", "power"):
        return None
    plan, setting = Plan(values), question.id.rsplit("/", 1)[1]
    make = HANDS.get(question.kind.id)
    return None if make is None else make(plan, setting, given)


def _option(plan, name):
    """The figures of one option."""
    return plan._option(name, *next(rest for one, *rest in plan.ways() if one == name), ())


def _chance(plan, setting, given):
    """The chance of a central bed under the line that is given."""
    name = setting.split()[0]
    one = _option(plan, name)
    errors = {part: next(row for row in given.rows if row["cells"][0].startswith(part))["cells"][1] for part in
              ("Thickness:", "Removal:")}  # fmt: skip
    cut = next(row for row in given.rows if row["cells"][0].startswith(("Flap:", "Cap:", "Epithelium:")))["cells"][1]
    (tb, ts), (rb, rs), (cb, cs) = (
        [figure(found)[0] for found in NUMBER.findall(text)] for text in (errors["Thickness:"], errors["Removal:"], cut)
    )
    r = one["removal_central_um"]
    left = Left(one["bed_central_um"] + r + tb - cb, sqrt(ts**2 + cs**2), r, rb, rs)
    return 100.0 * left.below(_given(given, "The line"))


def _stronger(plan):
    """The stronger meridian of what is treated, as written at the spectacle plane."""
    S, C, *_ = plan.treated
    return max((S, S + C), key=abs)


HANDS = {
    "equivalent": lambda p, s, g: p.v["sphere_D"] + p.v["cylinder_D"] / 2.0,
    "vertex": lambda p, s, g: at_cornea(_stronger(p), p.v["vertex_mm"]),
    "thumb": lambda p, s, g: p.v["zone_mm"] ** 2 / 3.0 * max(map(abs, p.powers)),
    "bed": lambda p, s, g: _option(p, s)["bed_central_um"],
    "thick-flap": lambda p, s, g: _option(p, "flap")["bed_central_um"] - float(s),
    "altered": lambda p, s, g: _option(p, "lenticule")["altered_percent"] - _option(p, "flap")["altered_percent"],
    "altered-flap": lambda p, s, g: _option(p, "flap")["altered_percent"],
    "least-bed": lambda p, s, g: _option(p, s)["bed_min_um"],
    "reserve": lambda p, s, g: _option(p, s)["bed_central_um"] - p.v["bed_line_um"],
    "zone": lambda p, s, g: Taken(p.surfaces, p.v["zone_mm"] + float(s), p.blends[0]).deepest - p.ablation.deepest,
    "K-after": lambda p, s, g: _option(p, "surface")["K_after_D"],
    "chance": _chance,
    "cut-radius": lambda p, s, g: rescue(p, "lenticule", float(s))[1],
    "cut-share": lambda p, s, g: 100.0 * (1.0 - (_given(g, "Suction lost") / p.extracted.radius) ** 2),
    "clock": lambda p, s, g: rescue(p, "cap", float(s))[2],
    "new-cap": lambda p, s, g: rescue(p, "lenticule", float(s))[0]["thicker-cap"]["cut_um"],
    "rescue-flap": lambda p, s, g: rescue(p, "lenticule", float(s))[3],
    "recut": lambda p, s, g: rescue(p, "lenticule", float(s.split()[1]))[0][s.split()[0]]["bed_central_um"],
    "second": lambda p, s, g: enhancement(p, float(s.split()[1]), 0.0, 0.0)[0][s.split()[0]]["bed_central_um"],
}


def _of_place(question, plan):
    """Where an ablation is deepest: the choice beside the place found by hand."""
    S, C, A, _ = plan.treated
    taken = plan.ablation
    if taken.deepest - taken.centre < 1.0:
        wanted = "at the treatment centre"
    else:
        angle = np.degrees(taken.turn + plan.axis) % 180.0
        across = taken.t(np.linspace(0.0, taken.radius, 400), taken.turn + np.pi / 2.0).max()
        wanted = f"along {round(angle) or 180}°" if taken.deepest - across > 1.0 else "ring"
    if wanted not in question.answer:
        yield f"answer {question.answer}, {wanted} by hand"


def _of_picture(question, values, side):
    """The picture after the answer: labels and heights as drawn, its alternative text, beside the second arithmetic."""
    over = float(question.id.rsplit("/", 1)[1]) if question.kind.id == "thick-flap" else 0.0
    plan = Plan(values | ({"flap_measured_um": Plan(values).v["flap_um"] + over} if over else {}))
    shown = flattened(question.shows, side, LIGHT)
    said = describe_flattened(question.shows, side)
    labels = _labels(shown)
    for i, name in enumerate(WAYS):
        hand = _option(plan, name)
        if not hand["available"]:
            continue
        wanted = {"bed": hand["bed_central_um"], "least bed": hand["bed_min_um"]}
        for what, value in wanted.items():
            found = [float(n) for label in labels[i] for n in re.findall(rf"^{what} (\d+)", label)]
            if not any(abs(one - value) <= 0.51 for one in found):
                yield f"{name}: {what} {value:.2f} by hand, drawn {labels[i]}"
        height = _height(shown, name)
        if height is not None and abs(height - hand["removal_central_um"]) > 1.0:
            yield f"{name}: removed {hand['removal_central_um']:.1f} by hand, {height:.1f} as drawn"
        for value in (hand["bed_central_um"], hand["bed_min_um"]):
            near = {f"{value + d:.0f}" for d in (-0.02, 0.0, 0.02)}
            if not near & set(re.findall(r"\d+", said)):
                yield f"{name}: {value:.2f} is not in the alternative text"


def _labels(shown):
    """Labels of the three sections, each to the section whose scale bar is nearest."""
    texts = [(str(t), x) for trace in shown["data"] if trace["mode"] == "text" and "2" in trace.get("xaxis", "")
             for t, x in zip(trace["text"], trace["x"], strict=False)]  # fmt: skip
    texts += [(note["text"], note["x"]) for note in shown["layout"]["annotations"] if note["xref"] == "x2"]
    bars = sorted(x for text, x in texts if text == "1 mm")
    found = [[], [], []]
    for text, x in texts:
        plain = re.sub(r"<[^>]*>", " ", text).replace("  ", " ").strip()
        found[int(np.argmin([abs(x - bar) for bar in bars]))].append(plain)
    return found


def _height(shown, name):
    """Height of what is removed in the middle of a section, as drawn [µm]; None where it is not drawn."""
    for trace in shown["data"]:
        if trace.get("fill") == "toself" and trace.get("fillcolor") == LIGHT.removed[name]:
            x, y = (np.array(trace[axis], dtype=float) for axis in "xy")
            middle = (x.max() + x.min()) / 2.0
            closed = np.append(x, x[0]), np.append(y, y[0])
            return float(_spans(np.array(closed), middle + 1e-6)[0])
    return None
