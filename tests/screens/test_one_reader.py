"""One edit on Plan reads and checks each eye once, and works it out once: the screen, its question and its file agree.

Source: DEVELOPERS.md, the rules of the house.
"""

from pathlib import Path

import numpy as np
from streamlit.testing.v1 import AppTest

from tissue.entry import eye, typed

APP = str(Path(__file__).resolve().parents[2] / "app.py")


def test_one_edit_reads_checks_and_compares_each_eye_once(monkeypatch):
    app = AppTest.from_file(APP, default_timeout=60).run()
    checked, compared = [], []
    faults, compare = typed.faults, eye.compare
    monkeypatch.setattr(typed, "faults", lambda given, unread: checked.append(dict(given)) or faults(given, unread))
    monkeypatch.setattr(eye, "compare", lambda *of: compared.append(of) or compare(*of))
    desk = app.session_state["day"].desk
    desk.edit("OD", "zone_mm", "6.13")
    app.run()
    assert not app.exception
    desk.question(), desk.as_file()
    assert len([given for given in checked if given.get("zone_mm") == 6.13]) == 1
    of_one_eye = [treatment.zone_mm for _, treatment, *_ in compared if np.ndim(treatment.zone_mm) == 0]
    assert [float(zone) for zone in of_one_eye if zone == 6.13] == [6.13]
