"""The recipe of a strength curve: a table and a citation are added, no code; every room then has nine curves.

Source: DEVELOPERS.md, the recipes. The curve is invented and belongs to nobody.
"""

import re

import pytest
from second_house import SecondHouse

CURVE = """
[invented]
label = "Invented curve of a test"
short = "invented"
property = "none: invented for a test"
tissue = "none"
plane = "in-plane"
over = "fraction"
breaks = [0.0]
coefficients = [[1.2, -0.4]]
source = "invented2026"
status = "P"
assumed = "everything"
"""
CITATION = """
[invented2026]
authors = "Nobody"
journal = "A test"
year = 2026
volume = "1"
pages = "1"
read = "printed"
"""
EYE = """schema = 1
[OD]
refraction = "-6.00 -1.25 x 170"
central_thickness_um = 548
relationship = "invented"
"""
FROM_EVERY_ROOM = r"""
import contextlib, io, json, re
from pathlib import Path
import numpy as np
import tissue
from tissue.command.command import main
from tissue.drawing.base.palette import look
from tissue.drawing.charts import strength as charts
from tissue.entry.eye import build
from tissue.rounds.cases import Case
from tissue.rounds.about.strength import ranking
from tissue.screens.parts.form.form import form_html
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

assert Path(tissue.__file__).is_relative_to(Path.cwd())
found = {}

def said(*arguments):
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with contextlib.redirect_stdout(out):
        assert main(list(arguments)) in (0, None)
    return out.buffer.getvalue().decode("utf-8")

found["json"] = json.loads(said("plan", "eye.toml", "--json"))
found["table"] = said("plan", "eye.toml")
said("record", "eye.toml", "page.pdf", "--date", "2026-11-25")
found["record"] = " ".join(page.extract_text() for page in PdfReader("page.pdf").pages)
Path("eyes.csv").write_text("sphere_D,central_thickness_um\n-6.00,548\n-3.00,520\n")
said("series", "eyes.csv", "out.csv")
found["header"] = Path("out.csv").read_text(encoding="utf-8").splitlines()[0]
eye = build({"sphere_D": -6.0, "central_thickness_um": 548.0}, "OD")
comparison = eye.compare()
question = ranking(Case("a", "OD", "invented", eye, comparison), np.random.default_rng(1))
found["choices"] = list(question.choices) if question else None
found["dots"] = [note["text"] for note in charts.dot_plot(comparison, look("light"))["layout"]["annotations"]]
found["dots_said"] = charts.describe_dots(comparison)
found["form"] = form_html()
app = AppTest.from_file("app.py", default_timeout=120).run()
desk = app.session_state["day"].desk
desk.texts = {"OD": {"refraction": "-6.00 -1.25 x 170", "central_thickness_um": "548", "relationship": "invented"}}
app.run()
found["plan_faults"] = [str(one) for one in app.exception]
found["plan"] = " ".join(str(one.proto) for kind in ("html", "bidi_component") for one in app.get(kind))
page = AppTest.from_string("from tissue.screens.pages.evidence import show\nshow()", default_timeout=120).run()
found["evidence_faults"] = [str(one) for one in page.exception]
found["evidence"] = " ".join(str(one.proto) for one in page.main)
print(json.dumps(found))
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """What every room says once the curve is there."""
    house = SecondHouse(tmp_path_factory.mktemp("nine"))
    house.add("tissue/data/relationships.toml", CURVE)
    house.add("tissue/data/sources.toml", CITATION)
    house.add("eye.toml", EYE)
    return house.run(FROM_EVERY_ROOM)


def test_the_plan_has_nine_curves(found):
    for option in found["json"]["eyes"]["OD"]["options"].values():
        assert len(option["strength_percent"]) == 9 and option["strength_percent"]["invented"] > 0.0


def test_the_strength_is_that_of_the_curve(found):
    """Loaded share by ∫(1.2 − 0.4·x)dx, worked out here by hand for the surface ablation."""
    surface = found["json"]["eyes"]["OD"]["options"]["surface"]
    stroma = 548.0 - 53.0

    def area(x):
        return 1.2 * x - 0.2 * x * x

    left = area(1.0) - area(surface["removal_central_um"] / stroma)
    assert surface["strength_percent"]["invented"] == pytest.approx(100.0 * left / area(1.0), abs=1e-6)


def test_table_record_and_series_have_it(found):
    assert "invented" in found["table"].casefold()
    assert "invented" in found["record"].casefold()
    columns = [name for name in found["header"].split(",") if name.startswith("flap_strength_")]
    of_curves = [name for name in columns if name.split("_")[2] not in ("low", "high")]
    assert "flap_strength_invented_percent" in of_curves and len(of_curves) == 9


def test_rounds_ask_about_it(found):
    assert "invented" in found["choices"] and len(found["choices"]) == 9  # the eight others, and none of them


def test_charts_and_form_have_it(found):
    assert sum("Nobody 2026" in text for text in found["dots"]) == 1
    assert "Nobody 2026" in found["dots_said"]
    select = found["form"].partition('id="field-relationship"')[2].partition("</select>")[0]
    assert select.count("<option") == 9 and "Invented curve of a test" in select


def test_the_screens_show_it(found):
    assert found["plan_faults"] == found["evidence_faults"] == []
    assert "Invented curve of a test".casefold() in found["plan"].casefold()
    assert "Nobody" in found["evidence"]


def test_nobody_counts_eight(found):
    every = " ".join(str(found[name]) for name in ("table", "record", "plan", "evidence", "dots_said"))
    assert re.findall(r"\b(?:8|eight) (?:published )?(?:relationships|curves)\b", every, re.IGNORECASE) == []
