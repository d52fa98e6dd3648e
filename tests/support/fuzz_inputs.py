"""Texts, plan files, tables and arguments for the fuzz: valid ones, spoilt by structure and by byte.

Every function takes `r`, a random.Random or hypothesis's own, and gives one input. Nothing here knows what is right.
"""

from tissue.entry.fields import fields

REFRACTIONS = (
    "-6.00 -1.25 x 170", "-5.00 DS / -0.75 DC × 12°", "plano", "+1.50 +0.75 @ 90", "-4,75 sph", "-3 -1 axis 5",
    "sph: -2.00 cyl: -0.50 ax: 180", "− 5.50 –0.75 × 12", "pl -1.00 x 7", "+0.00 -0.25 * 45", "-.75", "0",
)  # fmt: skip
NUMBERS = (
    "548", "0.551", "551 µm", "-4.75", "+4.75", "−4,75", "- 1.25", "43.25 D", "7.8 mm", "170", "170°", "0", "-0", "+.5",
    "6.5", "06.50", "1e2", "-1.5E-2", "110", "120 um", "9", "250", "0.35", "24 s",
)  # fmt: skip
WORDS = ("munnerlyn", "conic", "Parabolic", "manifest", "OCT", "uniform", "reinstein2013", "OD", "OS", "harbour-03")
NASTY = (
    "nan", "NaN", "inf", "-inf", "+Infinity", "1e999", "-1e999", "1e-999", "9" * 400, "1e" + "9" * 30, "0x10", "1_000",
    "٤٫٧٥", "½", "⁵", "１２", "−−", "+-", "--4", "\x00", "\ufeff", "\u202e", "\u200b", "\u2028", "\x85", "\x0b", "\x1c",
    "\x1b[31m", "\x7f", "'", '"', '"""', "''", ";", ",", "\t", "\r", "\n", "\r\n", "=1+1", "@SUM(A1)", "'=x", "../../x",
    "C:\\x", "%s%n", "{0}", "${x}", "\ue000", "\ue0004.75", "ſphere", "İ", "ß", "x\u0301", "🦆", "a" * 3000, " " * 3000,
    "- " * 300, "1 " * 300, "x" * 70, "e", "E5", ".", "..", ",,", "°", "µ", "μ", "°°", "@", "@ 12", "null", "None",
    "true", "1979-05-27", "1979-05-27T07:32:00Z", "999", "-999", "0.0.0", "[", "]", "{", "}", "#", "\\", "\\u0000", "/",
)  # fmt: skip
LOOKALIKES = dict(zip(map(ord, "-0x5.,Deµ"), "‐Ох５．‚Ｄеμ", strict=True))
NAMES = tuple(fields())


def text(r):
    """What might stand in one field: valid, spoilt or any characters at all."""
    kind = r.random()
    if kind < 0.15:
        return "".join(chr(r.choice((r.randrange(32, 127), r.randrange(0xD7FF)))) for _ in range(r.randrange(12)))
    base = r.choice(r.choice((REFRACTIONS, NUMBERS, NUMBERS, WORDS, NASTY)))
    return spoilt(r, base) if kind < 0.8 else base


def spoilt(r, base, most=3):
    """A text with a few slips in it: cut, doubled, swapped, look-alikes, something put in."""
    for _ in range(r.randint(1, most)):
        at = r.randint(0, len(base))
        until = min(len(base), at + r.randint(0, 4))
        kind = r.randrange(6)
        if kind == 0:
            base = base[:at] + base[until:]
        elif kind == 1:
            base = base[:at] + base[at:until] * 3 + base[until:]
        elif kind == 2:
            base = base[:at] + r.choice(r.choice((NASTY, NASTY, NUMBERS, " +-.,×x@/°"))) + base[until:]
        elif kind == 3:
            base = base.translate(LOOKALIKES)
        elif kind == 4:
            base = base.swapcase()
        else:
            base = base[:at] + base[at:until][::-1] + base[until:]
    return base


def spoilt_bytes(r, data):
    """Bytes with something wrong in them, or another encoding."""
    kind, at = r.randrange(8), r.randint(0, len(data))
    if kind == 0:
        return data[:at] + bytes([r.randrange(256)]) + data[at + 1 :]
    if kind == 1:
        return data[:at] + bytes(r.randrange(256) for _ in range(r.randint(1, 8))) + data[at:]
    if kind == 2:
        return data[:at]
    if kind == 3:
        return b"\xef\xbb\xbf" * r.randint(1, 2) + data
    if kind == 4:
        return data.replace(b"\n", r.choice((b"\r", b"\r\n", b"\n\n", b"\n\r", b"\x0b\n", b"\xe2\x80\xa8")))
    if kind == 5:
        return data.decode("utf-8", "replace").encode(r.choice(("utf-16", "utf-16-le", "latin-1", "utf-32")), "replace")
    if kind == 6:
        return data[:at] + data[r.randint(0, len(data)) :] + data
    return data[:at] + b"\x00" + data[at:]


def _line(r):
    """One line of a plan file: sound or odd."""
    name = (
        r.choice(NAMES) if r.random() < 0.85 else r.choice(("zone", "sphere", "", '"x y"', "code", "OD", "a.b", "'é'"))
    )
    value = text(r)
    ways = (
        f'{name} = "{value}"', f"{name} = {value}", f"{name} = '{value}'", f"{name} = '''{value}'''", f"{name}={value}",
        f"{name} = [{value}]", f"{name} = {{a = {value}}}", f"{name}.a.b = 1", f"{name} = 1979-05-27", f"{name} = true",
        f"{name} = 0x1F", f"{name} = 1_0.0_1", f"[{name}]", f"[[{name}]]", f"[OD.{name}]", f"# {value}", value,
        f"{name} = {'[' * r.choice((1, 40, 2000))}", f"{'.'.join(['a'] * r.choice((2, 9, 300)))} = 1",
        f"{name} = +{r.random() * 20}", f"{name} = -{r.random() * 20:.2f}", f"{name} = {r.random() * 600:.0f}",
    )  # fmt: skip
    return r.choice(ways)


def plan(r):
    """The text of a plan file: a sound one, its lines doubled, dropped and joined by odd ones."""
    lines = ["schema = 1", 'code = "harbour-03"']
    for side in r.choice((("OD",), ("OS",), ("OD", "OS"), ("OS", "OD"), ("OD", "OD"))):
        lines += [f"[{side}]", r.choice(("sphere_D = -6.00", f'refraction = "{r.choice(REFRACTIONS)}"'))]
        lines += ["central_thickness_um = 548"]
        lines += [f"{name} = {_sound(r, name)}" for name in r.sample(NAMES, r.choice((0, 0, 1, 1, 2, 6)))]
    for _ in range(r.choice((0, 0, 0, 1, 1, 2, 5))):
        at = r.randint(0, len(lines))
        lines[at : at + r.choice((0, 0, 0, 1))] = [_line(r)]
    return "\n".join(lines) + "\n"


def _sound(r, name):
    """A value that may stand in a field, as TOML."""
    value = sound_value(r, name)
    if isinstance(value, str):
        return f'"{value}"'
    return f"{value:+}" if fields()[name].kind == "power" else repr(value)


def sound_value(r, name):
    """A value within the range of a field: an end, the middle, anywhere."""
    field = fields()[name]
    if name == "refraction":
        return r.choice(REFRACTIONS)
    if not field.is_number:
        return r.choice(field.choices) if field.choices else "OCT"
    span = field.high - field.low
    exact = (field.low, field.high, field.low + span / 2.0, field.low + span * 1e-9, field.default or field.low)
    return float(r.choice((*exact, *(round(field.low + span * r.random(), 2) for _ in range(6)))))


def plan_bytes(r):
    """The bytes of a plan file, text and bytes spoilt at times."""
    words = plan(r)
    if r.random() < 0.15:
        words = spoilt(r, words)
    data = words.encode("utf-8", "replace")
    return spoilt_bytes(r, data) if r.random() < 0.15 else data


def _cell(r, name):
    if r.random() < 0.12:
        return text(r)
    if r.random() < 0.3:
        return ""
    if name == "side":
        return r.choice(("OD", "OS", " od ", ""))
    if name not in fields():
        return r.choice((*WORDS, "=1+1", "'-x", "-4,5", "ä b", '"', "two\nlines", "a;b", "a,b"))
    value = sound_value(r, name)
    return value if isinstance(value, str) else f"{value:+}" if fields()[name].kind == "power" else f"{value:g}"


def table(r):
    """Bytes of a CSV table: dialects, ragged rows, odd cells and quotes, bytes spoilt at times."""
    start = ["refraction"] if r.random() < 0.3 else ["sphere_D", "cylinder_D", "axis_deg"]
    names = start + ["central_thickness_um"] + r.sample((*NAMES[4:], "side", "patient", "note"), r.randint(0, 6))
    names = list(dict.fromkeys(names))
    rows = [[_cell(r, name) for name in names] for _ in range(r.randint(0, 5))]
    for row in rows:
        if r.random() < 0.7 and "sphere_D" in names:
            row[:4] = r.choice((("-6.00", "-1.25", "170", "548"), ("+2", "", "", "0.551"), ("0", "0", "", "500")))
    if r.random() < 0.15:
        names[r.randrange(len(names))] = r.choice((text(r), "Sphere_d", "status", "flap_um ", "", "zone"))
    delimiter, quote = r.choice(";,,,\t"), r.choice(('"', '"', '"', "", "'"))
    lines = [delimiter.join(_quoted(r, str(cell), delimiter, quote) for cell in row) for row in (names, *rows)]
    if lines[1:] and r.random() < 0.1:
        lines[-1] += r.choice((delimiter, delimiter * 3, '"', '"x"y"'))
    data = (r.choice(("", "", "\ufeff")) + r.choice(("\n", "\r\n", "\n")).join(lines) + r.choice(("\n", ""))).encode()
    return spoilt_bytes(r, data) if r.random() < 0.2 else data


def _quoted(r, cell, delimiter, quote):
    if any(sign in cell for sign in (delimiter, "\n", "\r", '"')) or r.random() < 0.05:
        return quote + cell.replace('"', r.choice(('""', '""', '"'))) + quote
    return cell


def column_map(r):
    """The bytes of a map of columns."""
    factors = ("1000", "0", "inf", "nan", "1" + "0" * 400, "-1", "0.001", "true", text(r))
    lines = [
        r.choice(
            (
                f'{r.choice(NAMES)} = "{r.choice(("note", "patient", "Sph", text(r)))}"',
                f'{r.choice(NAMES)} = {{name = "note", factor = {r.choice(factors)}}}',
                _line(r),
            )
        )
        for _ in range(r.randint(0, 3))
    ]
    data = "\n".join(lines).encode("utf-8", "replace")
    return spoilt_bytes(r, data) if r.random() < 0.2 else data
