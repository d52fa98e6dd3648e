"""A bundle made on the Series screen holds, file by file, the bytes of the one that the command makes."""

import io
import zipfile

from helpers import press_of
from streamlit.testing.v1 import AppTest

from tissue.command.command import main
from tissue.screens.pages.series import DEMO_EYES

ASKED = ("--by", "surgeon", "--agree", "central_thickness_um:thinnest_um", "--compare", "flap_bed_min_um")


def screen():
    """The screen with the invented series."""
    from tissue.screens.desk.link import link, shown_up_to
    from tissue.screens.pages.series import show

    link("tried")
    show()
    shown_up_to()


def bundle_of_the_screen():
    """Files of the bundle, by name, after the same was asked in the fields as of the command."""
    app = AppTest.from_function(screen, default_timeout=120).run()
    press_of(app, "series_run").click().run()
    app.selectbox(key="series_by").set_value("surgeon")
    app.selectbox(key="series_planned").set_value("central_thickness_um")
    app.selectbox(key="series_measured").set_value("thinnest_um")
    app.multiselect(key="series_compared").set_value(["flap_bed_min_um"])
    app.text_input(key="series_where").set_value("zone_mm >= 6.3").run()
    press_of(app, "series_bundle").click().run()
    assert not app.exception
    with zipfile.ZipFile(io.BytesIO(app.session_state["series_bundle_made"][1])) as archive:
        return {name.removeprefix("bundle/"): archive.read(name) for name in archive.namelist()}


def test_it_is_byte_for_byte_that_of_the_command(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["demo-series", str(DEMO_EYES), "invented-series.csv"]) == 0
    told = ["series", "invented-series.csv", "o.csv", *ASKED, "--where", "zone_mm >= 6.3", "--bundle", "bundle"]
    assert main(told) == 0
    files = {path for path in (tmp_path / "bundle").rglob("*") if path.is_file()}
    made = {path.relative_to(tmp_path / "bundle").as_posix(): path.read_bytes() for path in files}
    shown = bundle_of_the_screen()
    assert set(shown) == set(made) and len(made) > 20
    assert [name for name in made if made[name] != shown[name]] == []
