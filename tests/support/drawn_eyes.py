"""Invented eyes for the tests of the pictures, and a strategy for plans of every kind."""

from functools import cache

from hypothesis import assume
from hypothesis import strategies as st

from tissue import CapCut, Cornea, EyeError, FlapCut, Judgement, Pupil, Refraction, Treatment, compare

EYES = {
    "usual": (Cornea(548.0, 543.0, -0.6, -0.5, radius_mm=337.5 / 43.25), Treatment(Refraction(-6.0, -1.25, 170.0))),
    "hyperopia": (Cornea(552.0, 546.0, -0.5, -0.4, radius_mm=7.94), Treatment(Refraction(3.0))),
    "mixed": (Cornea(540.0, 536.0, -0.5, -0.4), Treatment(Refraction(2.0, -4.0, 30.0))),
    "thin": (Cornea(470.0, 463.0, -0.6, -0.5, radius_mm=7.67), Treatment(Refraction(-10.0))),
    "far": (Cornea(548.0, 520.0, 1.5, -2.0), Treatment(Refraction(-4.0, -0.75, 10.0))),
    "decentred": (
        Cornea(548.0, 543.0, -0.6, -0.5),
        Treatment(Refraction(-5.0, -1.25, 170.0), centre_x_mm=0.4, centre_y_mm=0.3),
    ),
    "wide": (Cornea(600.0), Treatment(Refraction(-3.0, -0.5, 90.0), zone_mm=8.0)),
    "none": (Cornea(548.0), Treatment(Refraction(0.0))),
    "gone": (Cornea(330.0, 325.0, -0.6, -0.5), Treatment(Refraction(-14.0))),
}

ASIDE = (
    Cornea(300.0, radius_mm=7.0, asphericity=0.0, epithelium_um=20.0, white_to_white_mm=9.5),
    Treatment(Refraction(1.0), zone_mm=4.0, centre_x_mm=-1.5, centre_y_mm=-1.75),
    None,
    FlapCut(60.0, 5.0, 177.0),
    CapCut(80.0, incision_mm=1.0),
)


@cache
def eye(name):
    """One of the EYES, compared once."""
    return compare(*EYES[name])


def within(low, high):
    """A number in a range of the entry form."""
    return st.floats(low, high).map(lambda value: round(value, 2))


@st.composite
def plans(draw):
    """A Comparison with inputs all over the ranges the entry form accepts."""
    centre = draw(within(300, 900))
    try:
        return compare(
            Cornea(
                centre,
                centre - draw(within(0, 40)),
                draw(within(-3, 3)),
                draw(within(-3, 3)),
                radius_mm=draw(within(6.5, 9.5)),
                asphericity=draw(within(-1.0, 0.5)),
                epithelium_um=draw(within(20, 59)),
                white_to_white_mm=draw(within(9, 14)),
            ),
            Treatment(
                Refraction(draw(within(-14, 6)), draw(within(-6, 0)), draw(within(1, 180))),
                zone_mm=draw(within(4, 9)),
                centre_x_mm=draw(within(-2, 2)),
                centre_y_mm=draw(within(-2, 2)),
            ),
            flap=FlapCut(draw(within(60, 300)), draw(within(5, 11)), draw(within(0, 360))),
            cap=CapCut(draw(within(80, 250)), incision_mm=draw(within(1, 12)), incision_deg=draw(within(0, 360))),
            judgement=Judgement(bed_line_um=draw(st.sampled_from([250.0, 100.0, 300.0, 420.0, 500.0]))),
            pupil=Pupil(draw(within(1, 10)), draw(within(-1.5, 1.5)), draw(within(-1.5, 1.5))),
        )
    except EyeError:
        assume(False)
