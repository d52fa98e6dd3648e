"""Letters with a known truth: the forty of tests/letters, and letters made up in five languages."""

import json
import re
from typing import NamedTuple

from helpers import ROOT
from hypothesis import strategies as st

from tissue.entry.letter.letter import read_letter

FOLDER = ROOT / "tests" / "letters"
NUMBER = re.compile(r"(?<![^\W\d_])\d+(?:[.,]\d+)*")  # digits not right behind a letter
LINE_ENDS = re.compile(r"\r\n|\r|\n")
REFRACTION = ("sphere_D", "cylinder_D", "axis_deg")


def forty():
    """Number, text and key of each of the forty letters."""
    for path in sorted(FOLDER.glob("*.json")):
        text = path.with_suffix(".txt").read_bytes().decode("utf-8")
        yield path.stem, text, json.loads(path.read_text("utf-8"))


def values_of(letter):
    """Eye, field and value of everything that was filled."""
    return {(eye, name): field["value"] for eye, values in letter["eyes"].items() for name, field in values.items()}


def slices_of(letter):
    """Every slice of fields and questions."""
    for values in letter["eyes"].values():
        for field in values.values():
            yield field
            yield from field["also"]
    yield from letter["asks"]


def unaccounted(text, letter):
    """Numbers of a letter that lie in no field, question, matter or list of what was not used."""
    slices = list(slices_of(letter))
    listed = [*letter["unused"], *letter["matters"]]
    return [
        (at, match[0])
        for at, line in enumerate(LINE_ENDS.split(text), 1)
        for match in NUMBER.finditer(line)
        if not any(s["line"] == at and s["start"] <= match.start() and match.end() <= s["end"] for s in slices)
        and not any(entry["line"] == at and match[0] in entry["text"] for entry in listed)
    ]


class Judged(NamedTuple):
    """How a letter was read beside its truth: numbers of things, and what was wrong or is accounted for nowhere."""

    expected: int
    right: int
    to_ask: int
    asked: int
    to_matter: int
    mattered: int
    wrong: tuple
    lost: tuple


def judged(text, truth, asks=(), matters=(), tolerated=()):
    """A letter read, beside the truth of it by (eye, field).

    Args:
        asks: eye (None: any) and field that must be asked. matters: kinds that must be shown. tolerated: (eye, field,
            value) that may be filled.
    """
    letter = read_letter(text)
    filled = values_of(letter)
    right = {key for key, value in truth.items() if key in filled and same(value, filled[key])}
    free = {(eye, field): value for eye, field, value in tolerated}
    extra = [(key, value) for key, value in filled.items() if key not in right and not same(free.get(key, "-"), value)]
    wrong = tuple(one for one in extra if one[0][1] != "refraction_kind" or one[0] in truth)
    met = [any(a["field"] == field and a["eye"] in (None, eye) for a in letter["asks"]) for eye, field in asks]
    shown = {one["what"] for one in letter["matters"]}
    mattered = sum(what in shown for what in matters)
    lost = tuple(unaccounted(text, letter))
    return Judged(len(truth), len(right), len(met), sum(met), len(matters), mattered, wrong, lost)


def same(one, other):
    """Whether two values are one."""
    return one == other if isinstance(one, str) or isinstance(other, str) else abs(one - other) < 1e-9


SPHERE_WORDS = {
    "en": ("sph", "cyl", "axis"),
    "de": ("sph.", "zyl.", "A"),
    "fr": ("sph", "cyl", "axe"),
    "es": ("esf", "cil", "eje"),
    "it": ("sf", "cil", "asse"),
}
TONGUES = {  # eyes; words of the refraction; thickness, K, pupil in dim light; decimal sign
    "en": (("OD", "OS"), SPHERE_WORDS["en"], "CCT", "K", "mesopic pupil", "."),
    "en words": (("right eye", "left eye"), ("sphere", "cylinder", "axis"), "Pachymetry", "Km", "scotopic pupil", "."),
    "en letters": (("R", "L"), ("Sph", "Cyl", "Ax"), "Pachy", "SimK", "Mesopic pupil", "."),
    "de": (("RA", "LA"), SPHERE_WORDS["de"], "Hornhautdicke", "Keratometrie", "mesopische Pupille", ","),
    "fr": (("OD", "OG"), SPHERE_WORDS["fr"], "Pachymétrie", "kératométrie", "pupille mésopique", ","),
    "es": (("OD", "OI"), SPHERE_WORDS["es"], "Paquimetría", "queratometría", "pupila mesópica", ","),
    "it": (("dx", "sx"), SPHERE_WORDS["it"], "Pachimetria", "cheratometria", "pupilla mesopica", ","),
}

quarters = st.integers(-48, 24).map(lambda n: n / 4)
eye = st.fixed_dictionaries(
    {
        "sphere_D": quarters,
        "cylinder_D": st.integers(-16, 16).map(lambda n: n / 4),
        "axis_deg": st.integers(1, 180).map(float),
        "central_thickness_um": st.integers(460, 620).map(float),
        "mean_K_D": st.integers(390, 480).map(lambda n: n / 10),
        "pupil_mm": st.integers(40, 80).map(lambda n: n / 10),
    }
)


@st.composite
def letters(draw):
    """A letter and its truth by (eye, field): two eyes in one language and one of many layouts."""
    tongue = TONGUES[draw(st.sampled_from(sorted(TONGUES)))]
    two = {"OD": draw(eye), "OS": draw(eye)}
    order = draw(st.sampled_from([("OD", "OS"), ("OS", "OD")]))
    lines = []
    for layout in draw(st.permutations(["refraction", "thickness", "K", "pupil"])):
        lines += LAYOUTS[layout](draw, tongue, two, order)
        lines += draw(st.sampled_from([[], [], [""], ["Last visit without complaints, all stable."]]))
    lines = [draw(st.sampled_from(["Dear colleague,", "hb-201", "harbour eye clinic, hb-202", ""])), *lines]
    truth = {(side, name): value for side in two for name, value in two[side].items()}
    for side in two:
        if not two[side]["cylinder_D"]:
            del truth[side, "axis_deg"], truth[side, "cylinder_D"]
    return draw(st.sampled_from(["\n", "\n", "\r\n", "\r"])).join(lines), truth


def mark(tongue, side):
    """The word of an eye."""
    return tongue[0][side == "OS"]


def said(tongue, value, digits=2, signed=False):
    """A number as the language writes it."""
    text = f"{value:+.{digits}f}" if signed and value else f"{value:.{digits}f}"
    return text.replace(".", tongue[5])


def power(draw, tongue, values):
    """A refraction in one of many spellings."""
    sphere, cylinder = (said(tongue, values[name], signed=True) for name in ("sphere_D", "cylinder_D"))
    axis = f"{values['axis_deg']:g}"
    if not values["cylinder_D"]:
        return f"{sphere} {draw(st.sampled_from(['DS', 'sph', 'sphere']))}"
    s, c, a = tongue[1]
    return draw(
        st.sampled_from(
            [
                f"{sphere} {cylinder} x {axis}",
                f"{sphere}/{cylinder}x{axis}",
                f"{sphere} / {cylinder} × {axis}°",
                f"{s} {sphere} {c} {cylinder} {a} {axis}",
                f"{s} {sphere}, {c} {cylinder}, {a} {axis}°",
                f"{sphere} ({cylinder} à {axis}°)",
                f"{sphere} ({cylinder}) {axis}°",
                f"{sphere} DS {cylinder} DC x {axis}",
                f"{sphere} {cylinder} @ {axis}".replace("-", "−"),
            ]
        )
    )


def _refractions(draw, tongue, two, order):
    both = [
        f"{mark(tongue, side)}{draw(st.sampled_from([' ', ': ', ' : ']))}{power(draw, tongue, two[side])}"
        for side in order
    ]
    return both if draw(st.booleans()) else [draw(st.sampled_from([", ", "; ", " "])).join(both)]


def _numbers(draw, tongue, two, order, name, word, digits, unit):
    first, second = (said(tongue, two[side][name], digits) + draw(st.sampled_from(["", unit])) for side in order)
    one, other = (mark(tongue, side) for side in order)
    return draw(
        st.sampled_from(
            [
                [f"{word} {one} {first}, {other} {second}"],
                [f"{word}: {one} {first} {other} {second}"],
                [f"{word} {first} ({one}), {second} ({other})"],
                [f"{word}: {first} {one} / {second} {other}"],
                [f"{word} {one}/{other} {first}/{second}"],
                [f"{one} {word} {first}", f"{other} {word} {second}"],
                [f"{one} {word} {first}, {other} {word} {second}"],
                ["", f"\t{one}\t{other}", f"{word}\t{first}\t{second}", ""],
                ["", f"  | {one} | {other}", f"{word} | {first} | {second}", ""],
                ["", f"{one}:", f"{word} {first}", "", f"{other}:", f"{word} {second}", ""],
            ]
        )
    )


LAYOUTS = {
    "refraction": _refractions,
    "thickness": lambda draw, t, two, order: _numbers(draw, t, two, order, "central_thickness_um", t[2], 0, " µm"),
    "K": lambda draw, t, two, order: _numbers(draw, t, two, order, "mean_K_D", t[3], 1, " D"),
    "pupil": lambda draw, t, two, order: _numbers(draw, t, two, order, "pupil_mm", t[4], 1, " mm"),
}
