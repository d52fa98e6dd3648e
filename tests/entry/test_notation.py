"""What people write: every spelling seen in print, what is refused, and the laws of reading and writing."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tissue.entry.fields import fields
from tissue.entry.notation import echo, read_refraction, read_text, shown, write
from tissue.ground.errors import EyeError

# Source: "as people write it" of the collection of published eyes; each spelling was seen in print there.
IN_PRINT = {
    "-4.75 -2.00@15": (-4.75, -2.0, 15),
    "-4.50 \u22121.00 × 177": (-4.5, -1.0, 177),
    "-10.25 -1.75 ×040": (-10.25, -1.75, 40),
    "+7.25 DS/-1.25 DC × 10°": (7.25, -1.25, 10),
    "-7.00 +3.00 X 100": (-7.0, 3.0, 100),
    "– 5.50 + 0.50 × 40°": (-5.5, 0.5, 40),
    "-2.50/-0.25 @ 0": (-2.5, -0.25, 180),
    "-7.75 sphere": (-7.75, 0.0, None),
    "plano": (0.0, 0.0, None),
}
# Source: the interface of the tool (its list of spellings); common practice of the trade.
AS_WRITTEN = {
    "-5.00 DS / -0.75 DC × 12°": (-5.0, -0.75, 12),
    "pl / -0.75 x 90": (0.0, -0.75, 90),
    "-5,00 -0,75 x 12": (-5.0, -0.75, 12),
    "-5.00-0.75x12": (-5.0, -0.75, 12),
    "-5.00 sph -0.75 cyl axis 12": (-5.0, -0.75, 12),
    "-1,25/-0,50 ax 7": (-1.25, -0.5, 7),
    "−4.00 D": (-4.0, 0.0, None),
    "-5.00, -0.75 x 12": (-5.0, -0.75, 12),
    "-5.00 D -0.75 D * 12": (-5.0, -0.75, 12),
    "sph -5.00 cyl -0.75 axis 12": (-5.0, -0.75, 12),
    "Sph: -5,00 Cyl: -0,75 Ax: 12": (-5.0, -0.75, 12),
    "-5.00 sph. -0.75 cyl. ax.12": (-5.0, -0.75, 12),
    "-5.00 dioptres / -0.75 diopters × 12 degrees": (-5.0, -0.75, 12),
    "-\u00a05.00\u00a0-\u202f.75 x 012": (-5.0, -0.75, 12),
    "-5.00 -0.00": (-5.0, 0.0, None),
    "-5.00 0 x 90": (-5.0, 0.0, None),
    "0.00 -0.75 x 180": (0.0, -0.75, 180),
    "+0.50 −1.25 × 92.5": (0.5, -1.25, 92.5),
    "PLANO": (0.0, 0.0, None),
}


@pytest.mark.parametrize(("text", "expected"), (IN_PRINT | AS_WRITTEN).items())
def test_spelling_is_read(text, expected):
    sphere, cylinder, axis = read_refraction(text)
    assert (sphere, cylinder) == expected[:2]
    assert math.isnan(axis) if expected[2] is None else axis == expected[2]


def test_plus_form_in_print_is_the_minus_form_printed_beside_it():
    # Source: the collection of published eyes: −7.00 +3.00 × 100 = −4.00 −3.00 × 10
    assert write(*read_refraction("-7.00 +3.00 X 100"))[0] == "−4.00 −3.00 × 10"


SIGNS = "with its sign"
REFUSED = {
    "5.75 4.00 x 005": SIGNS,  # seen in print with its signs lost (collection of published eyes)
    "-4.50 1.50 X35": SIGNS,  # likewise
    "5.00": SIGNS,
    "-5.00 -0.75": "an axis",
    "-5.00 -0.75 12": "x before its axis",
    "-5.00/-0.75/12": "x before its axis",
    "-5.00 x 12": "a cylinder",
    "-5.00 DC x 12": "sphere, cylinder and axis",
    "-5.00 -0.75 x 181": "an axis of 0 to 180°",
    "-5.00 -0.75 x -12": "sphere, cylinder and axis",
    "-5.00 -0.75 x 999": "an axis of 0 to 180°",
    "-5.00 -0.75 × 12 × 3": "sphere, cylinder and axis",
    "-31.00": "a sphere of −30 to +20 D",
    "+20.25": "a sphere of −30 to +20 D",
    "-500 -075 x 12": "decimal point",
    "-025": "decimal point",
    "-3.00 -12.25 x 1": "a cylinder of −12 to +12 D",
    "--5.00": "sphere, cylinder and axis",
    "±5.00": "sphere, cylinder and axis",
    "-5.00 -0.75 x twelve": "sphere, cylinder and axis",
    "OD -5.00": "sphere, cylinder and axis",
    "-5.00 -0.75 x 12 VD 12": "sphere, cylinder and axis",
    "-5.00 -0 75 x 12": "sphere, cylinder and axis",
    "1.2.3": SIGNS,
    "nan": "sphere, cylinder and axis",
    "-inf": "sphere, cylinder and axis",
    "": "sphere, cylinder and axis",
    "-5.00 -0.75 x .5": "x before its axis",
    "-٥.00": "sphere, cylinder and axis",
}


@pytest.mark.parametrize(("text", "limit"), REFUSED.items())
def test_refraction_is_refused_with_what_is_accepted(text, limit):
    with pytest.raises(EyeError) as caught:
        read_refraction(text)
    assert caught.value.field == "refraction"
    assert caught.value.value == (text or "nothing")
    assert limit in caught.value.limit


def test_field_of_another_refraction_is_named():
    with pytest.raises(EyeError, match="residual"):
        read_refraction("0.75", field="residual")


# Source: the interface of the tool, "read as people write it". 337.5/7.8 and 337.5/43.25: keratometer's constant.
VALUES = [
    ("sphere_D", "-4.75", -4.75),
    ("sphere_D", "+4,75", 4.75),
    ("sphere_D", "− 4.75 DS", -4.75),
    ("sphere_D", "—4.75", -4.75),
    ("sphere_D", "-.75", -0.75),
    ("sphere_D", "0", 0.0),
    ("sphere_D", "0.00 D", 0.0),
    ("sphere_D", "plano", 0.0),
    ("sphere_D", "pl", 0.0),
    ("cylinder_D", "-1.25 DC", -1.25),
    ("target_D", "-0.5 dioptres", -0.5),
    ("axis_deg", "005", 5.0),
    ("axis_deg", "12°", 12.0),
    ("central_thickness_um", "551 µm", 551.0),
    ("central_thickness_um", "551 μm", 551.0),
    ("central_thickness_um", "551um", 551.0),
    ("central_thickness_um", "0.55", 550.0),
    ("central_thickness_um", "0,57 mm", 570.0),
    ("central_thickness_um", "5.48e2", 548.0),
    ("thinnest_um", "0.543 mm", 543.0),
    ("thinnest_x_mm", "− 0,6", -0.6),
    ("mean_K_D", "43.25", 43.25),
    ("mean_K_D", "43.25 D", 43.25),
    ("mean_K_D", "7.80 mm", 337.5 / 7.8),
    ("mean_K_D", "7.8", 337.5 / 7.8),
    ("radius_mm", "7.80", 7.8),
    ("radius_mm", "43,25", 337.5 / 43.25),
    ("radius_mm", "43.25 D", 337.5 / 43.25),
    ("zone_mm", "6.5\u00a0mm", 6.5),
    ("zone_mm", "6.", 6.0),
    ("clock_s", "24 s", 24.0),
    ("profile", " Conic", "conic"),
    ("thickness_method", " OCT ", "OCT"),
    ("residual", " -0.75 -0.25 x 90 ", "-0.75 -0.25 x 90"),
    ("procedure", "Flap", "flap"),
]


@pytest.mark.parametrize(("name", "text", "expected"), VALUES)
def test_value_is_read(name, text, expected):
    assert read_text(name, text) == expected


UNREAD = [
    ("sphere_D", "4.75", "+4.75 or −4.75"),
    ("cylinder_D", "1.25", "+1.25 or −1.25"),
    ("target_D", "1", "+1 or −1"),
    ("target_D", "3", "−3 (−4 to +2 D"),
    ("treated_sphere_D", "5 D", "+5 or −5"),
    ("sphere_D", "-075", "−30 to +20 D"),
    ("sphere_D", "-4.75 mm", "−30 to +20 D"),
    ("sphere_D", "nan", "−30 to +20 D"),
    ("sphere_D", "-inf", "−30 to +20 D"),
    ("sphere_D", "-4.75-", "−30 to +20 D"),
    ("sphere_D", "-4 3/4", "−30 to +20 D"),
    ("zone_mm", "6.5.2", "4 to 9 mm"),
    ("zone_mm", "6500 µm", "4 to 9 mm"),
    ("zone_mm", "", "4 to 9 mm"),
    ("zone_mm", "six", "4 to 9 mm"),
    ("mean_K_D", "0 mm", "33 to 60 D"),
    ("flap_um", "0x6e", "60 to 300 µm"),
    ("flap_um", "1_10", "60 to 300 µm"),
    ("flap_um", "True", "60 to 300 µm"),
    ("asphericity", "-0.19 mm", "−2 to 2"),
    ("profile", "conik", "munnerlyn, conic or parabolic"),
    ("thickness_method", "two\nlines", "text on one line"),
    ("thickness_method", "x" * 201, "at most 200"),
    ("residual", "0.75", "with its sign"),
    ("procedure", "knife", "surface, flap or lenticule"),
]


@pytest.mark.parametrize(("name", "text", "limit"), UNREAD)
def test_value_is_refused_with_what_is_accepted(name, text, limit):
    with pytest.raises(EyeError) as caught:
        read_text(name, text)
    assert caught.value.field == name
    assert limit in caught.value.limit


def test_echo_gives_both_forms():
    # −5.00 −0.75 × 12 = −5.75 +0.75 × 102: two spellings of one refraction (definition)
    assert echo(-5.0, -0.75, 12.0) == "−5.00 −0.75 × 12 = −5.75 +0.75 × 102"
    assert echo(-5.75, 0.75, 102.0) == "−5.00 −0.75 × 12 = −5.75 +0.75 × 102"


@pytest.mark.parametrize(
    ("values", "minus", "plus"),
    [
        ((-2.5, -0.25, 0.0), "−2.50 −0.25 × 180", "−2.75 +0.25 × 90"),
        ((2.0, -4.0, 172.0), "+2.00 −4.00 × 172", "−2.00 +4.00 × 82"),
        ((0.0, -0.75, 90.0), "0.00 −0.75 × 90", "−0.75 +0.75 × 180"),
        ((-7.75, 0.0, math.nan), "−7.75 sphere", "−7.75 sphere"),
        ((0.0, 0.0, 12.0), "plano", "plano"),
        ((-0.004, 0.0, 12.0), "plano", "plano"),
        ((-1.0, -1.0, 12.5), "−1.00 −1.00 × 12.5", "−2.00 +1.00 × 102.5"),
    ],
)
def test_written_forms(values, minus, plus):
    assert write(*values) == (minus, plus)


hundredths = st.integers(-1200, 1200).map(lambda n: n / 100)
spheres = st.integers(-1600, 700).map(lambda n: n / 100)  # plus forms then stay within −30 to +20
axes = st.integers(1, 1800).map(lambda n: n / 10)


@given(spheres, hundredths, axes)
def test_what_is_written_reads_back_as_the_same_refraction(sphere, cylinder, axis):
    minus, plus = (read_refraction(text) for text in write(sphere, cylinder, axis))
    kept = minus if cylinder <= 0 else plus
    assert kept[:2] == pytest.approx((sphere, cylinder), abs=1e-9)
    assert math.isnan(kept[2]) if cylinder == 0 else kept[2] == pytest.approx(axis, abs=1e-9)
    assert write(*(0.0 if math.isnan(v) else v for v in minus)) == write(*(0.0 if math.isnan(v) else v for v in plus))


minus_signs = st.sampled_from("-−–—‐‑﹣－")
gaps = st.sampled_from(["", " ", "\u00a0", "\u202f"])
markers = st.sampled_from(["@", "x", "X", "×", "*", "axis", " ax ", "AX", " axis "])
units = st.sampled_from(["", " D", "D", " DS", " sph", " sphere", " diopters"])
between = st.sampled_from([" ", "/", " / ", ", "])


@given(spheres, hundredths, st.integers(1, 180), minus_signs, gaps, markers, units, between, st.booleans())
def test_every_way_of_writing_says_the_same(sphere, cylinder, axis, minus, gap, marker, unit, sep, comma):
    def power(value):
        text = f"{abs(value):.2f}"
        return (minus if value < 0 else "+") + gap + (text.replace(".", ",") if comma else text)

    text = f"{power(sphere)}{unit}{sep}{power(cylinder)}{gap}{marker}{gap}{axis:03d}"
    expected = (sphere, cylinder, axis)
    found = read_refraction(text)
    assert found[:2] == expected[:2]
    assert math.isnan(found[2]) if cylinder == 0 else found[2] == axis


pieces = st.sampled_from(
    [
        "-",
        "+",
        "−",
        " ",
        "5",
        "0.75",
        "12",
        "x",
        "@",
        "/",
        ",",
        ".",
        "D",
        "sph",
        "cyl",
        "pl",
        "°",
        "mm",
        "e9",
        ":",
        "ax",
    ]
)
scribbles = st.one_of(st.text(max_size=30), st.lists(pieces, max_size=12).map("".join))


@given(st.sampled_from(sorted(fields())), scribbles)
def test_no_text_raises_anything_but_an_eye_error(name, text):
    try:
        value = read_text(name, text)
    except EyeError as error:
        assert error.field == name
        assert ";" not in error.value
        assert "\n" not in str(error)
    else:
        assert value is not None


@given(scribbles)
def test_a_refraction_that_is_read_lies_in_its_ranges_and_has_its_axis(text):
    try:
        sphere, cylinder, axis = read_refraction(text)
    except EyeError:
        return
    assert -30 <= sphere <= 20
    assert -12 <= cylinder <= 12
    assert math.isnan(axis) if cylinder == 0 else 0 < axis <= 180


@given(st.text(max_size=300))
def test_what_is_shown_fits_one_line_without_a_semicolon(text):
    words = shown(text)
    assert words
    assert words.isprintable()
    assert ";" not in words
    assert len(words) <= 61
