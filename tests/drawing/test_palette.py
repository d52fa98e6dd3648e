"""Colours: contrast by the published formula, distance of the option colours for every kind of colour vision, grey."""

import colorsys
from itertools import combinations

import numpy as np
import pytest

from tissue.drawing.base import palette
from tissue.drawing.base.palette import HEADS, look, mix

# Web Content Accessibility Guidelines 2.1, 1.4.3 and 1.4.11: text 4.5, graphics 3.
TEXT, GRAPHIC = 4.5, 3.0
LOOKS = ("light", "dark")

# Severity 1.0 matrices after Machado, Oliveira and Fernandes 2009, linear sRGB: from memory (M).
OPTIONS = tuple(HEADS)
VISION = {
    "normal": np.eye(3),
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
# sRGB to XYZ, D65: IEC 61966-2-1 (M).
XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
WHITE = np.array([0.95047, 1.0, 1.08883])


def linear(colour):
    """Linear sRGB of #rrggbb."""
    c = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def luminance(colour):
    """Relative luminance of #rrggbb."""
    return float(np.array([0.2126, 0.7152, 0.0722]) @ linear(colour))


def contrast(one, other):
    """Contrast ratio of two colours."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb):
    """CIE 1976 L*a*b* of linear sRGB."""
    t = XYZ @ np.clip(rgb, 0.0, 1.0) / WHITE
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_formula_itself():
    # WCAG 2.1, definition of contrast ratio: black on white is 21; #767676 on white the known limit 4.54.
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("name", LOOKS)
def test_text_can_be_read_wherever_it_stands(name):
    one = look(name)
    grounds = [one.page, one.panel, one.stroma, one.above, one.epithelium, *one.removed.values()]
    assert min(contrast(one.ink, ground) for ground in grounds) >= TEXT
    assert min(contrast(one.ink2, ground) for ground in (one.page, one.panel, one.stroma)) >= TEXT
    assert min(contrast(one.link, ground) for ground in (one.page, one.panel)) >= TEXT


@pytest.mark.parametrize("name", LOOKS)
def test_graphics_stand_out_from_what_they_lie_on(name):
    one = look(name)
    assert min(contrast(one.rule2, ground) for ground in (one.page, one.stroma)) >= GRAPHIC
    assert contrast(one.epithelium_hatch, one.epithelium) >= GRAPHIC
    assert contrast(one.above_hatch, one.above) >= GRAPHIC
    for option in OPTIONS:
        for ground in (one.page, one.stroma, one.removed[option]):
            assert contrast(one.option[option], ground) >= GRAPHIC


@pytest.mark.parametrize(
    ("name", "option", "on_page", "on_stroma"),
    # computed when the colours were chosen (C), printed to one decimal
    [
        ("light", "surface", 6.7, 6.2),
        ("light", "flap", 4.4, 4.0),
        ("light", "lenticule", 4.6, 4.2),
        ("dark", "surface", 5.3, 4.3),
        ("dark", "flap", 9.3, 7.6),
        ("dark", "lenticule", 7.2, 5.9),
    ],
)
def test_option_colours_have_the_contrast_they_were_chosen_for(name, option, on_page, on_stroma):
    one = look(name)
    assert contrast(one.option[option], one.page) == pytest.approx(on_page, abs=0.05)
    assert contrast(one.option[option], one.stroma) == pytest.approx(on_stroma, abs=0.051)


def test_options_differ_for_every_kind_of_colour_vision():
    apart = {}
    for name in LOOKS:
        for vision, matrix in VISION.items():
            seen = [lab(np.array(matrix) @ linear(look(name).option[option])) for option in OPTIONS]
            apart[name, vision] = min(np.linalg.norm(one - other) for one, other in combinations(seen, 2))
    # 17 (C): printed when the colours were chosen, least in light for tritans and in dark for protans
    assert round(min(apart.values())) == 17
    assert sorted(apart, key=apart.get)[:2] == [("dark", "protan"), ("light", "tritan")]


def test_hue_is_never_alone():
    for by_option in (palette.DASH, palette.SYMBOL, palette.HEADS, palette.ABOVE):
        assert len(set(by_option.values())) == len(OPTIONS)
    assert palette.LINE_OF_USER not in palette.DASH.values()


def test_tissues_differ_by_hatch_alone():
    hatches = [palette.EPITHELIUM_HATCH, palette.ABOVE_HATCH, palette.REMOVED_HATCH]
    assert len({hatch.shape for hatch in hatches}) == 3


@pytest.mark.parametrize("name", LOOKS)
def test_in_grey_the_hatches_still_show(name):
    """Contrast is a ratio of luminances, so it is the same in a grey print; each hatch keeps 3 on its own fill."""
    one = look(name)
    pairs = [(one.epithelium_hatch, one.epithelium), (one.above_hatch, one.above)]
    pairs += [(one.option[option], one.removed[option]) for option in OPTIONS]
    greys = [tuple(round(255 * luminance(colour) ** (1 / 2.2)) for colour in pair) for pair in pairs]
    assert min(abs(stroke - fill) for stroke, fill in greys) >= 60


@pytest.mark.parametrize("name", LOOKS)
def test_no_traffic_light_among_the_options(name):
    """Hues from red over orange to yellow, 0° to 75°, and 15° before, stay empty."""
    for colour in look(name).option.values():
        red, green, blue = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
        assert 75.0 < 360.0 * colorsys.rgb_to_hsv(red, green, blue)[0] < 345.0


def test_mix_ends_at_its_two_colours():
    assert mix("#102030", "#405060", 0.0) == "#102030"
    assert mix("#102030", "#405060", 1.0) == "#405060"


def test_an_unknown_look_is_refused_by_name():
    with pytest.raises(ValueError, match="sepia.*light, dark"):
        look("sepia")
