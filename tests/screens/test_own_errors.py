"""Own errors on the screens: the part of Series; put in use on this machine, in every plan and no command."""

import html
import json

import pytest
from helpers import tissue as run
from streamlit.testing.v1 import AppTest

from tissue.entry.own_errors import OwnErrors
from tissue.entry.plan_file import read_plan
from tissue.screens.desk.machine import machine_errors, machine_file, remove_here, use_here
from tissue.screens.desk.state import Desk, demo_files, open_demo
from tissue.screens.fields.inputs import open_end_line

OWN = OwnErrors({"lenticule_bias_um": -3.0, "lenticule_sd_um": 5.0}, "own series, 84 eyes of 46 patients")


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """A folder of settings of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("APPDATA", str(tmp_path))
    return tmp_path


def desk():
    made = Desk()
    open_demo(made, "harbour-03_moderate_myopia")
    return made


def bed(one):
    return float(one.figures("OD")[0].comparison.results["lenticule"].spread.bed_mean_um)


def test_put_in_use_and_taken_away(folder):
    assert machine_errors().values == {} and not list(folder.iterdir())
    use_here(OWN)
    assert machine_file().is_relative_to(folder) and machine_errors().values == OWN.values
    remove_here()
    remove_here()
    assert machine_errors().values == {}


def test_a_file_that_cannot_be_read_is_not_in_use_and_said_until_it_is_taken_away():
    use_here(OWN)
    machine_file().write_text(machine_file().read_text("utf-8").replace("# end of file\n", ""), "utf-8")
    assert machine_errors().values == {}
    said = f'{machine_file()}: read no last line "# end of file"'
    assert "those of the tool are" in open_end_line(desk()) and said in html.unescape(open_end_line(desk()))
    app = shown()
    assert f"Not in use on this machine: {said}" in html.unescape(words(app)) and "In use on" not in words(app)
    next(button for button in app.button if button.label == "Remove from this machine").click().run()
    assert not machine_file().exists() and not open_end_line(desk()) and "Not in use" not in words(app)


def test_every_plan_on_the_desk_takes_them_and_a_saved_plan_holds_them():
    """The bias moves the mean of the bed by 9.1 µm (−12.1 to −3.0); the file gives the same bed by the command."""
    one = desk()
    before = bed(one)
    use_here(OWN)
    assert bed(one) == pytest.approx(before - 9.1)
    saved = read_plan(one.as_file().encode())
    assert saved.eyes["OD"]["lenticule_bias_um"] == -3.0 and saved.eyes["OD"]["lenticule_sd_um"] == 5.0
    remove_here()
    assert bed(one) == pytest.approx(before)
    assert "lenticule_bias_um" not in one.as_file()


def test_an_error_of_the_eyes_own_comes_first():
    use_here(OWN)
    one = desk()
    one.replace("OD", one.texts["OD"] | {"lenticule_bias_um": "-20"})
    assert one.figures("OD")[0].inputs.errors.lenticule_bias_um == -20.0


def test_no_command_reads_them():
    use_here(OWN)
    found = json.loads(run("plan", demo_files()["harbour-03_moderate_myopia"], "--json").stdout)
    assert found["eyes"]["OD"]["input"]["lenticule_bias_um"] == -12.1


def shown(draw="part"):
    def screen(draw):
        from tissue.entry.own_errors import OwnErrors
        from tissue.screens.series.own import for_plans, own_part

        if draw == "part":
            own_part()
        else:
            for_plans(OwnErrors({"cap_sd_um": 3.5}, "own series, 76 eyes"))
            own_part()

    return AppTest.from_function(screen, args=(draw,), default_timeout=60).run()


def words(app):
    return " ".join(str(one.proto.body) for one in app.get("html"))


def test_the_part_shows_the_invented_table_and_puts_nothing_of_it_in_use():
    app = shown()
    text = words(app)
    assert not app.exception and "own series, 76 eyes of 38 patients" in text and "line 34: h17 OD +94.4" in text
    assert "Left out as gross errors" in text and "Not adjusted for" in text and "In use on this machine" not in text
    assert "their errors are for no plan" in text and not [b for b in app.button if b.label == "Use on this machine"]


def test_errors_of_own_eyes_are_put_in_use_by_one_button_and_taken_away_by_another():
    app = shown("both")
    next(button for button in app.button if button.label == "Use on this machine").click().run()
    assert machine_errors().values == {"cap_sd_um": 3.5} and str(machine_file()) in words(app)
    next(button for button in app.button if button.label == "Remove from this machine").click().run()
    assert machine_errors().values == {} and "In use on this machine" not in words(app)


def test_groups_have_no_file_for_plans():
    app = shown()
    app.selectbox[0].set_value("side").run()
    assert not app.exception and not [b for b in app.button if b.label == "Use on this machine"]
    assert "Own errors, OD" in words(app)
