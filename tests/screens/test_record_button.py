"""The record from the screen is the page that the command makes of the same plan."""

import pytest

from tissue.command.command import main
from tissue.entry.plan_file import LARGEST_BYTES, PlanError, read_plan
from tissue.ground.errors import EyeError
from tissue.screens.desk.link import NotMade
from tissue.screens.desk.state import SIDES, Desk, open_demo
from tissue.screens.pages.plan import record_file, record_page


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


def test_a_field_that_cannot_be_read_takes_the_record(tmp_path):
    """Source: rule of the screens: a page that could not be made again from its plan is not made, and why is said."""
    on_desk = Desk()
    open_demo(on_desk, "harbour-03_moderate_myopia")
    name, kind, content = record_file(on_desk)
    assert (name, kind) == ("harbour-03-record.pdf", "application/pdf") and content.startswith(b"%PDF")
    on_desk.edit("OS", "zone_mm", "65")
    with pytest.raises(NotMade, match="OS: zone_mm: read 65, accepted 4 to 9 mm"):
        record_file(on_desk)


def test_a_record_holds_a_plan_that_can_be_opened_again(tmp_path):
    """A plan of nearly 100 kB, most of it comments, grew past the limit by a code: its record was made with a plan
    inside that no screen and no command opens. Source: the limit of a plan file, `LARGEST_BYTES`.
    """
    on_desk = Desk()
    open_demo(on_desk, "harbour-03_moderate_myopia")
    text = on_desk.as_file()
    comment = "# as the letter says, kept word for word\n"
    full = text + comment * ((LARGEST_BYTES - len(text.encode())) // len(comment))
    on_desk.open(read_plan(full.encode()), "")
    assert record_file(on_desk)[2].startswith(b"%PDF")
    on_desk.code = "harbour-03 of a longer code, 60 characters at most, as typed"
    on_desk.edit("OD", "clock_s", "25.25")
    with pytest.raises(PlanError, match="read more than 100 kB"):
        read_plan(on_desk.as_file().encode())
    with pytest.raises(EyeError, match=r"plan file: read 100.1 kB; accepted at most 100 kB; fewer comments"):
        record_file(on_desk)
