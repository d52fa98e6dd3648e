"""The recipe of a procedure: one function with its traits is added; every room then has four ways.

Source: DEVELOPERS.md, the recipes. The procedure is invented: an extraction under a cap that is 20 µm thicker.
"""

import pytest
from second_house import SecondHouse

PROCEDURE = '''

POCKET = Traits(
    name="pocket",
    title="pocket extraction",
    short="pocket",
    act="pocket",
    above="roof",
    hue="violet",
    dash="dash-dotted",
    symbol="triangle-up",
    keeps_cap=True,
    ablates=False,
    blend_field="lenticule_blend_mm",
    reported_field="reported_lenticule_um",
    cut_field="cap_um",
    measured_field="cap_measured_um",
    diameter_field="cap_diameter_mm",
    towards_field="incision_deg",
    searched_fields=("zone_mm", "base_um"),
    least_cut_um=80.0,
)


def pocket(plan: Setting) -> Option:
    """An invented extraction, its cap 20 µm thicker than that of the plan."""
    like = lenticule(plan.cornea, plan.extracted, plan.errors, plan.cap, plan.judgement.cap_credit)
    cuts = {"cut_um": like.cut_um + 20.0, "cut_planned_um": like.cut_planned_um + 20.0}
    return Option(**vars(like) | vars(POCKET) | cuts)


PROCEDURES = (*PROCEDURES, Procedure(POCKET, pocket))
'''
EYE = """schema = 1
[OD]
refraction = "-6.00 -1.25 x 170"
central_thickness_um = 548
"""
FOLLOWED = (
    EYE
    + """done = "pocket"
[[OD.reading]]
days = 90
method = "oct"
thickness_um = 450
"""
)
FROM_EVERY_ROOM = r"""
import contextlib, io, json
from pathlib import Path
import numpy as np
import tissue
from tissue.command.command import main
from tissue.explore.draws import sample
from tissue.drawing.base.palette import look
from tissue.drawing.charts import strength, sweeps
from tissue.drawing.section import curved, describe, section
from tissue.drawing.front import front
from tissue.entry.eye import build
from tissue.explore.costs import step_costs
from tissue.explore.tradeoffs import seek
from tissue.explore.tradeoffs import grid
from tissue.rounds.cases import Case
from tissue.rounds.kinds import MAKERS
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

assert Path(tissue.__file__).is_relative_to(Path.cwd())
found = {}

def said(*arguments):
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with contextlib.redirect_stdout(out):
        assert main(list(arguments)) in (0, None), arguments
    return out.buffer.getvalue().decode("utf-8")

found["json"] = json.loads(said("plan", "eye.toml", "--json"))
found["table"] = said("plan", "eye.toml")
said("record", "eye.toml", "page.pdf", "--date", "2026-11-25")
found["record"] = " ".join(page.extract_text() for page in PdfReader("page.pdf").pages)
Path("eyes.csv").write_text("sphere_D,central_thickness_um\n" + "-6.00,548\n-3.00,520\n" * 20)
said("series", "eyes.csv", "out.csv", "--optics")
found["header"] = Path("out.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
said("mechanics", "eye.toml")
found["mechanics"] = json.loads(said("mechanics", "eye.toml", "--json"))
found["rescue"] = json.loads(said("rescue", "eye.toml", "--stage", "cap", "--done", "0.5", "--json"))
found["enhance"] = json.loads(said("enhance", "eye.toml", "--residual", "-0.75", "--json"))
found["sight"] = sorted(json.loads(said("sight", "eye.toml", "--json"))["options"])
found["follow"] = said("follow", "followed.toml")

values = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0}
eye = build(values, "OD")
comparison = eye.compare()
found["draws"] = sorted(sample(comparison, ["bed_central_um"], number=256))
case = Case("a", "OD", "invented", eye, comparison)
asked = [make(case, np.random.default_rng(seed)) for make in MAKERS.values() for seed in range(12)]
found["asked"] = [one.prompt + str(one.lines) for one in asked if one is not None]
found["grid"] = grid(values, "pocket", "bed_min_um", "zone_mm", "cap_um", number=5).values.tolist()
found["seek"] = seek(values, "pocket", "bed_central_um", 300.0, "zone_mm").value
found["costs"] = {field: sorted(changes) for field, (_, changes, _) in step_costs(values).items()}
light = look("light")
pictures = {
    "flattened": section.flattened(comparison, "OD", light),
    "narrow": section.flattened(comparison, "OD", light, width_px=800),
    "times four": curved.depth_times_four(comparison, "OD", light),
    "true": curved.true_scale(comparison, "OD", light),
    "front": front.front_view(comparison, "OD", light),
    "dots": strength.dot_plot(comparison, light),
    "profiles": strength.strength_profiles(comparison, light),
}
its_own = light.option["pocket"], light.removed["pocket"]
found["colours"] = {name: any(one in str(figure) for one in its_own) for name, figure in pictures.items()}
found["words"] = {name: [n["text"] for n in figure["layout"]["annotations"]] for name, figure in pictures.items()}
found["columns"] = section.option_domains()
found["said"] = describe.describe_flattened(comparison, "OD", 0.0)
found["faults"], found["screens"] = {}, {}
app = AppTest.from_file("app.py", default_timeout=120).run()
for view in ("flattened", "depth × 4", "true scale", "from the front"):
    app.session_state["day"].desk.view = view
    app.session_state["view"] = view
    app.run()
    found["faults"][view] = [str(one) for one in app.exception]
    found["screens"][view] = " ".join(str(one.proto) for kind in ("html", "bidi_component") for one in app.get(kind))
app.session_state["day"].desk.view = "flattened"
app.session_state["day"].desk.both = True
app.session_state["day"].desk.copy_to_other("OD")
app.run()
found["faults"]["both"] = [str(one) for one in app.exception]
pages = "tradeoffs rounds mechanics suction enhancement alignment explain followup series evidence"
for page in pages.split():
    program = f"from tissue.screens.pages.{page} import show\nshow()"
    run = AppTest.from_string(program, default_timeout=120).run()
    found["faults"][page] = [f"{one.message} {one.stack_trace[-2:]}" for one in run.exception]
print(json.dumps(found, default=str))
"""
NAMES = ["surface", "flap", "lenticule", "pocket"]


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """What every room says once the procedure is there."""
    house = SecondHouse(tmp_path_factory.mktemp("four"))
    house.add("tissue/removal/options.py", PROCEDURE)
    house.add("eye.toml", EYE)
    house.add("followed.toml", FOLLOWED)
    return house.run(FROM_EVERY_ROOM)


def test_the_plan_has_four_options(found):
    """Its bed is that of the extraction less the 20 µm of its cap: bed = CCT − cut − removal."""
    options = found["json"]["eyes"]["OD"]["options"]
    assert list(options) == NAMES
    assert options["pocket"]["bed_central_um"] == pytest.approx(options["lenticule"]["bed_central_um"] - 20.0)


def test_table_record_and_series_have_it(found):
    assert "pocket" in found["table"].casefold()
    assert "Pocket extraction" in found["record"]
    of_it = [name.removeprefix("pocket_") for name in found["header"] if name.startswith("pocket_")]
    assert of_it == [name.removeprefix("lenticule_") for name in found["header"] if name.startswith("lenticule_")]


def test_rounds_and_draws_have_it(found):
    assert any("pocket extraction" in text for text in found["asked"]) and found["draws"] == sorted(NAMES)


def test_trade_offs_have_it(found):
    assert len(found["grid"]) >= 5 and 4.0 <= found["seek"] <= 9.0
    assert all(changes == sorted(NAMES) for changes in found["costs"].values())


def test_mechanics_says_that_it_has_no_state_of_it(found):
    assert not any("pocket" in state for state in found["mechanics"]["states"])
    assert "There is no model of pocket extraction: it has no state here." in found["mechanics"]["notes"]


def test_what_starts_from_an_extraction_still_does(found):
    assert found["rescue"]["routes"] and found["enhance"]["routes"]


def test_what_is_seen_through_it_and_what_came_of_it_are_told(found):
    assert found["sight"] == sorted(NAMES)
    assert "pocket extraction" in found["follow"] and "lenticule" not in found["follow"]


def test_pictures_have_four_columns(found):
    ends = list(found["columns"].values())
    assert list(found["columns"]) == NAMES and ends[-1][1] == pytest.approx(1.0)
    assert all(left[1] < right[0] for left, right in zip(ends, ends[1:], strict=False))
    coloured = {name: there for name, there in found["colours"].items() if name != "front"}
    assert all(coloured.values()), coloured
    assert "Pocket extraction" in found["said"]


def test_every_screen_is_drawn(found):
    assert {page: faults for page, faults in found["faults"].items() if faults} == {}
    assert "Pocket extraction" in found["screens"]["flattened"]
    assert "Surface / flap / lenticule / pocket with both counted" in found["screens"]["flattened"]
