"""The record from the screen is the page that the command makes of the same plan."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from tissue.command import main
from tissue.screens.desk.state import SIDES, Desk, open_demo
from tissue.screens.pages.plan import record_page

APP = str(Path(__file__).resolve().parents[2] / "app.py")


@pytest.mark.parametrize("name", ["harbour-03_moderate_myopia", "harbour-06_hyperopia"])
def test_it_is_the_page_of_the_command(tmp_path, name):
    """Source: `tissue record` of the plan as the screen saves it, byte for byte."""
    on_desk = Desk()
    open_demo(on_desk, name)
    eyes = {side: on_desk.figures(side)[0] for side in SIDES if on_desk.texts.get(side)}
    page = record_page(on_desk, eyes, "2026-11-25")
    plan, out = tmp_path / f"{on_desk.code}.toml", tmp_path / "page.pdf"
    plan.write_bytes(on_desk.as_file().encode())
    assert main(["record", str(plan), str(out), "--date", "2026-11-25"]) == 0
    assert page == out.read_bytes()


def test_a_field_that_cannot_be_read_takes_the_record():
    app = AppTest.from_file(APP, default_timeout=60).run()
    button = next(one for one in app.get("download_button") if one.proto.label == "Record for print")
    assert not button.proto.disabled
    app.session_state["desk"].texts["OS"]["zone_mm"] = "65"
    app.run()
    button = next(one for one in app.get("download_button") if one.proto.label == "Record for print")
    assert button.proto.disabled and "A field of OS cannot be read" in button.proto.help
