"""Sixty letters from outside: thirty hands, two letters each, with their truth. Nothing of the reader is used here.

The hands stand in tests/letters/outside/hands.toml. All eyes are made up.
"""

import random
import re
import tomllib
from pathlib import Path

HANDS = Path(__file__).resolve().parents[1] / "letters" / "outside" / "hands.toml"
EACH = 2
SIDES = {"R": "OD", "L": "OS"}
FIELD = {  # slot: the field that it says, and how many digits it is written with
    "s": ("sphere_D", 2),
    "c": ("cylinder_D", 2),
    "a": ("axis_deg", 0),
    "cct": ("central_thickness_um", 0),
    "cctm": ("central_thickness_um", 3),
    "thin": ("thinnest_um", 0),
    "tx": ("thinnest_x_mm", 1),
    "ty": ("thinnest_y_mm", 1),
    "km": ("mean_K_D", 2),
    "q": ("asphericity", 2),
    "wtw": ("white_to_white_mm", 1),
    "pup": ("pupil_mm", 1),
    "vd": ("vertex_mm", 0),
    "epi": ("epithelium_um", 0),
}
PAIR = {"k1": ("mean_K_D", "k2"), "r1": ("radius_mm", "r2")}
ASKED = ("plain", "said")  # how a slot is written from which nothing may be filled
SIGNED = ("s", "c", "q")


def an_eye(chance, form):
    """What is so of one eye, by slot; lengths, powers and angles as they are written."""
    flat, cylinder = chance.randint(165, 180) / 4, -chance.randint(1, 12) / 4
    sphere, axis, thick = -chance.randint(4, 32) / 4, chance.randint(1, 180), chance.randint(500, 600)
    if form == "plus":
        sphere, cylinder, axis = sphere + cylinder, -cylinder, (axis + 89) % 180 + 1
    small = chance.randint(750, 790) / 100
    return {
        "s": sphere, "c": cylinder, "a": axis, "cct": thick, "cctm": thick / 1000,
        "thin": thick - chance.randint(3, 15), "k1": flat, "k2": flat + chance.randint(1, 8) / 4,
        "tx": chance.randint(2, 8) / 10, "ty": chance.randint(2, 8) / 10,
        "km": flat + chance.randint(0, 3) / 4, "r1": small, "r2": small - chance.randint(5, 25) / 100,
        "q": -chance.randint(5, 40) / 100, "wtw": chance.randint(113, 126) / 10, "pup": chance.randint(45, 78) / 10,
        "vd": 12, "epi": chance.randint(48, 60),
    }  # fmt: skip


def aside(chance, slot):
    """A figure that is said by the way, as it is written."""
    size, turned = chance.randint(4, 30) / 4, chance.randint(1, 180)
    return {
        "__va": chance.choice(["1.0", "0.8", "1.2"]),
        "__iop": str(chance.randint(11, 19)),
        "__os": f"{-size:+.2f}",
        "__oc": f"{-size / 4 - 0.25:+.2f}",
        "__oa": str(turned),
        "__n": str(chance.randint(4, 9)),
        "__d": f"{chance.randint(10, 28)}.{chance.randint(10, 12)}.2025",
        "__t": f"0{chance.randint(200, 900)} {chance.randint(1000, 9000)}",
        "__pd": f"{chance.randint(24, 36) / 10}",
    }[slot]


def truth_of(side, slot, eye):
    """Field and value that a slot says of an eye."""
    if slot in PAIR:
        name, other = PAIR[slot]
        return name, (eye[slot] + eye[other]) / 2
    name, _ = FIELD[slot]
    value = float(eye["cct"] if slot == "cctm" else eye[slot])
    if slot == "tx":  # all hands say temporal
        value = -value if side == "OD" else value
    return name, -value if slot == "ty" else value  # all hands say inferior


def written(slot, eye, how):
    """The figure of a slot as a hand writes it: with its sign, or without where it says so."""
    digits = FIELD[slot][1] if slot in FIELD else 2
    if how == "plain":  # sphere and cylinder, no sign at either
        return f"{abs(eye['s']):.2f} {abs(eye['c']):.2f}"
    sign = "+" if slot in SIGNED and how != "size" else ""
    return f"{abs(eye[slot]) if how == 'size' else eye[slot]:{sign}.{digits}f}"


def one_letter(hand, chance):
    """A letter of a hand, and its truth by (eye, field)."""
    eyes, truth = {side: an_eye(chance, hand.get("form")) for side in SIDES}, {}

    def filled(match):
        where, _, how = match[1].partition("|")
        whose, _, slot = where.rpartition(".")
        if not whose:
            text = aside(chance, slot)
        else:
            text = written(slot, eyes[whose], how)
            if slot not in ("k2", "r2") and how not in ASKED:
                sides = SIDES.values() if slot in hand.get("both", ()) else (SIDES[whose],)
                for side in sides:
                    name, value = truth_of(side, slot, eyes[whose])
                    truth[side, name] = value
        return text.replace(".", ",") if hand.get("comma") and slot != "__d" else text

    return re.sub(r"\{([\w.|]+)\}", filled, hand["text"]), truth


def outside_letters():
    """Name, hand, text and truth by (eye, field) of each of the sixty."""
    for name, hand in tomllib.loads(HANDS.read_text("utf-8")).items():
        for number in range(EACH):
            yield (f"{name}-{number}", hand, *one_letter(hand, random.Random(f"{name} {number}")))
