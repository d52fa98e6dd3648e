"""A letter that the fonts of the print have not is refused by name: an empty box would stand in its place."""

import sys
from concurrent.futures import ThreadPoolExecutor

import pytest
from helpers import ROOT

from tissue.command.command import main
from tissue.ground.errors import EyeError
from tissue.paper.page import FONTS, Paper

PLAN = (ROOT / "demo_profiles" / "harbour-03_moderate_myopia.toml").read_text("utf-8")


@pytest.mark.parametrize(("code", "letter"), [
    ("كود-٣", "ك (U+0643)"), ("患者-1", "患 (U+60A3)"), ("Жук", "Ж (U+0416)"), ("e\u0301-1", "\u0301 (U+0301)"),
])  # fmt: skip
def test_a_code_that_cannot_be_printed_is_refused_and_no_file_is_made(tmp_path, capsys, code, letter):
    """Source: the names of the characters in the Unicode standard."""
    plan, out = tmp_path / "plan.toml", tmp_path / "page.pdf"
    plan.write_text(PLAN.replace('code = "harbour-03"', f'code = "{code}"'), "utf-8")
    assert main(["record", str(plan), str(out)]) == 2
    said = capsys.readouterr().err
    assert f"read {code}, accepted letters that the print has, it has none for {letter}" in said
    assert said.count("\n") == 1 and not out.exists()
    assert main(["plan", str(plan)]) == 0 and code in capsys.readouterr().out  # what the terminal shows is not refused


@pytest.mark.parametrize("code", ["Łódź-Žižkov", "Ωμέγα-3", "Ærø 5"])
def test_letters_that_the_fonts_have_are_printed(tmp_path, code):
    plan, out = tmp_path / "plan.toml", tmp_path / "page.pdf"
    plan.write_text(PLAN.replace('code = "harbour-03"', f'code = "{code}"'), "utf-8")
    assert main(["record", str(plan), str(out)]) == 0 and out.read_bytes().startswith(b"%PDF")


def page_of(letters):
    """The bytes of a page with these letters in every font."""
    paper = Paper("title")
    for i, font in enumerate(FONTS):
        paper.text(10.0, 20.0 + 10.0 * i, letters, font=font)
    paper.close_page()
    return paper.finish()


def test_pages_made_side_by_side_are_those_made_alone():
    """Source: two patients printed at one moment at one server; the library reads its fonts for both by one place."""
    texts = ["".join(chr(192 + (7 * i + j) % 60) for j in range(40)).replace("×", "x") for i in range(24)]
    alone = [page_of(text) for text in texts]
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)
    try:
        with ThreadPoolExecutor(8) as pool:
            beside = list(pool.map(page_of, texts))
    finally:
        sys.setswitchinterval(before)
    assert beside == alone


@pytest.mark.parametrize("font", FONTS)
def test_every_font_is_asked(font):
    with pytest.raises(EyeError, match=r"read б, accepted|read б; accepted"):
        Paper("title").text(10.0, 10.0, "a б", font=font)
