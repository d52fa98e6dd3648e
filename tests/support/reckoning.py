"""A reckoner of its own: the formulas of Rounds worked out from their figures, each as far as its rounding lets it."""

import re
from itertools import product
from math import cos, exp, radians, sin, sqrt

from scipy.stats import norm

NAMES = {"sin": lambda x: sin(radians(x)), "cos": lambda x: cos(radians(x)), "sqrt": sqrt, "exp": exp, "Phi": norm.cdf}
SIGNS = (("−", "-"), ("·", "*"), ("√", "sqrt"), ("Φ", "Phi"), ("²", "**2"), ("³", "**3"), ("°", ""))


def number(text):
    """A figure as it is written."""
    return float(text.replace("−", "-").replace("+", ""))


def half_a_digit(text):
    """Half of the last digit that is written."""
    return 0.5 * 10.0 ** -len(text.partition(".")[2])


def reckoned(line):
    """Least and greatest value of a line's formula [its unit]: each quantity anywhere within its last digit."""
    formula, names = line.formula, [name for name, _ in line.put]
    for i, name in enumerate(names):
        formula = formula.replace(f"{{{name}}}", f"(q[{i}])")
    assert "{" not in formula, line.formula
    for sign, plain in SIGNS:
        formula = formula.replace(sign, plain)
    assert re.fullmatch(r"[\d\s.+\-*/()q\[\]]*", re.sub(r"sin|cos|sqrt|exp|Phi", "", formula)), formula
    texts = [text for _, text in line.put]
    ends = [(number(text) - half_a_digit(text), number(text), number(text) + half_a_digit(text)) for text in texts]
    if any(word in formula for word in ("sin", "cos")):  # angles are given, not rounded
        ends = [
            (pair[1],) if "°" in _after(line.formula, name) else pair for pair, name in zip(ends, names, strict=True)
        ]
    values = []
    for q in product(*ends):
        try:
            values.append(eval(formula, {"__builtins__": {}}, NAMES | {"q": q}))
        except (ValueError, ZeroDivisionError):
            continue  # a corner that no eye has
    return min(values), max(values)


def _after(formula, name):
    return formula.partition(f"{{{name}}}")[2][:1]
