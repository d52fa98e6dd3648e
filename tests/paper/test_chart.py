"""Charts for print: vectors with their font, 600 dots an inch, the same bytes again, and nothing left out."""

import io
from html import unescape
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader

from tissue.drawing.base.palette import look
from tissue.drawing.charts.distributions import histogram, scatter
from tissue.drawing.charts.study import agreement_chart, comparison_chart, describe_agreement, describe_comparison
from tissue.paper.chart.chart import printed, ticks
from tissue.paper.page import text_width_mm
from tissue.series.study.agreement import agreement
from tissue.series.study.comparison import between

SVG = "{http://www.w3.org/2000/svg}"


def figures():
    rng = np.random.default_rng(1)
    planned = rng.normal(120.0, 5.0, 60)
    measured = planned + rng.normal(2.0, 4.0, 60)
    columns = {name: rng.normal(300.0, 30.0, 80) for name in ("surface", "flap", "lenticule")}
    found = agreement(planned, measured)
    rows = [("flap less surface", between(measured, planned > 120.0))]
    return {
        "histogram": histogram(columns, look("light"), "bed, µm", 41),
        "scatter": scatter(rng.normal(-4.0, 1.0, 80), columns, look("light"), "sphere, D", "bed, µm"),
        "agreement": agreement_chart(planned, measured, found, look("light"), ("cap & plan", "cap <OCT>")),
        "comparison": comparison_chart(rows, look("light"), "bed, µm"),
    }


@pytest.mark.parametrize("name", ["histogram", "scatter", "agreement", "comparison"])
def test_all_three_kinds(name):
    """A standard reader of each kind: XML, pypdf, Pillow."""
    figure = figures()[name]
    root = ElementTree.fromstring(printed(figure, "svg", name))
    said = [text.text for text in root.iter(f"{SVG}text")]
    assert root.get("width") == "110mm" and "font/ttf;base64," in root.find(f"{SVG}style").text
    page = PdfReader(io.BytesIO(printed(figure, "pdf", name))).pages[0]
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    assert all("+PaperSans" in font["/BaseFont"] and "/FontFile2" in font["/FontDescriptor"] for font in fonts)
    in_pdf = page.extract_text()
    for note in figure["layout"]["annotations"]:
        text = unescape(note["text"])
        assert text in said and text in in_pdf
    image = Image.open(io.BytesIO(printed(figure, "png", name)))
    assert image.info["dpi"] == pytest.approx((600, 600), abs=0.1) and image.width == round(110 / 25.4 * 600)
    assert image.getpixel((0, 0)) == (255, 255, 255) and len(image.resize((99, 99)).getcolors(9801)) > 20


@pytest.mark.parametrize("name", ["histogram", "scatter", "agreement", "comparison"])
def test_reduced_to_one_column_every_word_can_be_read_and_lies_on_the_paper(name):
    """Source: a column of a journal is about 85 mm wide, letters under 6 pt are not printed (common practice)."""
    root = ElementTree.fromstring(printed(figures()[name], "svg", name))
    width = float(root.get("width").removesuffix("mm"))
    for text in root.iter(f"{SVG}text"):
        size_pt = float(text.get("font-size")) * 72.0 / 25.4
        assert size_pt * 85.0 / width >= 6.0
        left = float(text.get("x"))
        assert 0.0 <= left and left + text_width_mm(text.text, size_pt) <= width


def test_a_long_name_of_a_group_leaves_room_for_its_eyes():
    """Widths of the words by the font they are printed in."""
    rows = [("Wavefront guided lenticule " * 5, between(np.arange(2000.0), np.arange(2000) > 999))]
    root = ElementTree.fromstring(printed(comparison_chart(rows, look("light"), "bed, µm"), "svg", "x"))
    found = {text.text: text for text in root.iter(f"{SVG}text")}
    (name,), counts = [text for text in found if text.endswith("…")], found["1,000, 1,000 of 2,000"]
    size_pt = float(found[name].get("font-size")) * 72.0 / 25.4
    assert float(found[name].get("x")) + text_width_mm(name, size_pt) < float(counts.get("x")) - 1.0


def test_each_figure_of_a_study_says_its_eyes_and_their_patients():
    said = {
        name: " ".join(note["text"] for note in figure["layout"]["annotations"]) for name, figure in figures().items()
    }
    assert "80 of each option; 41 patients" in said["histogram"]
    assert "60 eyes of 60 patients" in said["agreement"] and "eyes of patients" in said["comparison"]
    assert "31, 29 of 60" in said["comparison"]


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_the_same_figure_gives_the_same_bytes(kind):
    assert printed(figures()["agreement"], kind, "a") == printed(figures()["agreement"], kind, "a")


def test_every_mark_is_drawn():
    """80 eyes, three options: 240 closed outlines beside the grid."""
    root = ElementTree.fromstring(printed(figures()["scatter"], "svg", "scatter"))
    outlines = [path for path in root.iter(f"{SVG}path") if path.get("d").count("L") > 3]
    assert len(outlines) == 240


def test_what_paper_cannot_draw_is_named():
    figure = figures()["histogram"]
    figure["data"][0] = figure["data"][0] | {"type": "heatmap"}
    with pytest.raises(ValueError, match="read heatmap"):
        printed(figure, "svg", "x")


@pytest.mark.parametrize("low, high", [(0.0, 1.0), (-7.3, 12.9), (1e-4, 3e-4), (0.0, 1e6)])
def test_ticks_are_round_and_within(low, high):
    found = ticks(low, high)
    assert 3 <= len(found) <= 9 and all(low - 1e-9 <= value <= high + 1e-9 for value in found)
    assert np.ptp(np.diff(found)) <= 1e-9 * (high - low)


def test_words_carry_the_numbers():
    found = agreement([1.0, 2.0, 3.0, 4.0, 5.0], [2.0, 3.0, 4.0, 5.0, 7.0])
    assert "5 eyes of 5 patients: bias 1.20" in describe_agreement(found, ("a", "b"))
    assert "No eye" in describe_agreement(agreement([], []), ("a", "b"))
    rows = [("b less a", between([1.0, 2.0, 3.0, 4.0, 5.0, 7.0], [False] * 3 + [True] * 3))]
    assert "b less a: 3.33 (" in describe_comparison(rows, "x")


def test_a_column_called_like_a_link_is_no_link_on_the_screen_and_stands_in_print_as_it_is():
    name = '<a href="https://example.org">age</a>'
    rows = [(name, between(np.arange(20.0), np.arange(20) > 9))]
    columns = {"flap": np.arange(20.0)}
    drawn = (
        scatter(np.arange(20.0), columns, look("light"), name, "bed, µm"),
        agreement_chart(np.arange(20.0), np.arange(20.0) + 1.0, agreement([1.0], [1.0]), look("light"), (name, name)),
        comparison_chart(rows, look("light"), name),
    )
    for figure in drawn:
        assert "<a" not in str(figure)
        root = ElementTree.fromstring(printed(figure, "svg", "chart"))
        assert any(name in (text.text or "") for text in root.iter(f"{SVG}text"))
