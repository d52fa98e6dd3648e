"""What the screens lean on that nobody promises: the process, and names inside Streamlit's page."""

import gc
import inspect
import re
import sys
import threading
import time
import tomllib
import weakref
from itertools import count
from pathlib import Path
from threading import Lock
from types import SimpleNamespace
from unittest.mock import Mock

import pytest
from streamlit import config
from streamlit.runtime import Runtime
from streamlit.runtime.app_session import AppSession
from streamlit.runtime.memory_session_storage import MemorySessionStorage
from streamlit.runtime.state import SafeSessionState, SessionState, session_state
from streamlit.runtime.state.session_state import Value, WStates
from streamlit.runtime.websocket_session_manager import WebsocketSessionManager

from tissue.command.command import app, server_settings
from tissue.screens import frame, process
from tissue.screens.parts.chart import chart
from tissue.screens.series import limit

SCREENS = Path(frame.__file__).parent
NAMES = tomllib.loads((SCREENS / "styles" / "streamlit_names.toml").read_text("utf-8"))


OFF = {  # what the library would show, send or take by itself, and why it may not
    "client.showErrorLinks": False,  # an error, with what is in it, to outside services
    "client.showErrorDetails": "none",  # the words of its own errors, which can hold what was typed
    "client.toolbarMode": "minimal",  # its menu, which leads outside
    "browser.gatherUsageStats": False,
    "server.showEmailPrompt": False,  # a question in the terminal before anything starts
    "server.address": "127.0.0.1",
    "server.enableXsrfProtection": True,
    "server.enableCORS": True,
    "server.fileWatcherType": "none",
    "client.allowedOrigins": [],
    "server.allowedHosts": ["127.0.0.1", "localhost"],
}


def test_the_furniture_of_the_library_is_off_by_names_that_it_knows():
    """Source: the descriptions that the library's own options carry."""
    table = tomllib.loads((SCREENS.parents[1] / ".streamlit" / "config.toml").read_text("utf-8"))
    ours = {f"{room}.{name}": value for room, some in table.items() if room != "theme" for name, value in some.items()}
    assert {name: ours.get(name) for name in OFF} == OFF
    assert set(ours) <= set(config.get_config_options())
    told = server_settings(table)
    assert all(f"--{name}={str(value).lower()}" in told for name, value in OFF.items() if isinstance(value, bool))


def test_the_screens_are_those_of_the_package_whatever_lies_beside_it(monkeypatch, tmp_path):
    """A foreign `app.py` in the folder or beside the package was run, on all interfaces (definition)."""
    started = []
    (tmp_path / "app.py").write_text("", "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("os.execv", lambda _, words: started.extend(words))
    app(["--server.port=8501"])
    assert Path(started[4]).is_relative_to(SCREENS) and started[1:4] == ["-m", "streamlit", "run"]
    assert "--server.address=127.0.0.1" in started and started[-1] == "--server.port=8501"


def test_what_is_loaded_is_out_of_the_collectors_sight():
    """Source: Python documentation, gc.freeze: frozen objects are ignored in all further collections."""
    before = gc.get_freeze_count()
    kept = [[] for _ in range(1000)]
    process.spare_what_is_loaded()
    assert gc.get_freeze_count() >= before + len(kept)
    gc.unfreeze()


def test_the_thread_that_sends_gets_its_turn_ten_times_as_soon():
    """Source: Python documentation, sys.setswitchinterval: 5 ms unless set."""
    before = sys.getswitchinterval()
    try:
        process.send_at_once()
        assert abs(sys.getswitchinterval() - 0.0005) < 1e-6
    finally:
        sys.setswitchinterval(before)


@pytest.mark.parametrize("held", ["by nothing", "by its run, when it is let go", "by Streamlit"])
def test_pages_that_are_gone_are_let_go_by_time_alone(monkeypatch, held):
    """Streamlit's own store keeps a closed page for two minutes, its loop the last one until there is another."""
    store = MemorySessionStorage(ttl_seconds=1.0)
    manager = SimpleNamespace(_session_storage=store, _storage_lock=Lock(), _active_session_info_by_id={})
    monkeypatch.setattr(process, "exists", lambda: True)
    monkeypatch.setattr(process.Runtime, "instance", lambda: SimpleNamespace(_session_mgr=manager))
    monkeypatch.setattr(process, "LOOKED_EVERY_S", 0.02)
    monkeypatch.setattr(process, "LET_GO_S", 0.0)
    gone = Page()
    gone.itself = gone  # as the library's pages are: only the collector ends them
    session = SimpleNamespace(id="a", shutdown=Mock(), session_state={"page": gone})
    store.save(SimpleNamespace(session=session))
    gc.freeze()  # it was there when what is loaded was taken out of the collector's sight
    kept, run = weakref.ref(gone), [gone] if "run" in held else []
    ended, loop = session.shutdown, [session] if "Streamlit" in held else []
    let_go = process.let_go
    monkeypatch.setattr(process, "let_go", lambda: (let_go(), run.clear()))
    del gone, session
    process.watch_for_gone_pages()
    end = time.monotonic() + 20.0
    while kept() is not None and time.monotonic() < end:
        time.sleep(0.02)
    gc.unfreeze()
    assert kept() is None and len(loop) == ("Streamlit" in held)
    assert ended.called


def test_a_page_whose_line_is_back_is_not_ended(monkeypatch):
    page = SimpleNamespace(shutdown=Mock(), session_state={"code": "harbour-03"})
    looks = iter([({"a": page}, set()), ({}, {"a"}), ({}, {"a"})])
    looked, here = [], threading.get_ident()  # a watch that an earlier test began looks on in its own thread

    def pages():
        if threading.get_ident() != here:
            return {}, set()
        looked.append(1)
        return next(looks)

    monkeypatch.setattr(process, "exists", lambda: True)
    monkeypatch.setattr(process, "pages", pages)
    monkeypatch.setattr(process, "sleep", lambda s: None if threading.get_ident() == here else time.sleep(s))
    with pytest.raises(StopIteration):
        process._watch()
    assert len(looked) == 4 and page.session_state == {"code": "harbour-03"} and not page.shutdown.called


class Page:
    """Stands in for what a page had."""


def test_memory_of_large_tables_is_the_systems():
    """Source: Arrow documentation: the pool by the name of system gives all back that is freed."""
    arrow = pytest.importorskip("pyarrow")
    before = arrow.default_memory_pool()
    try:
        process.return_large_memory()
        assert arrow.default_memory_pool().backend_name == "system"
    finally:
        arrow.set_memory_pool(before)


def test_the_stored_pages_are_where_they_are_looked_for():
    assert "self._session_mgr = " in inspect.getsource(Runtime.__init__)
    made = inspect.getsource(WebsocketSessionManager.__init__)
    assert "self._session_storage = " in made and "self._storage_lock = " in made
    assert "self._active_session_info_by_id" in made
    assert AppSession.shutdown and isinstance(AppSession.session_state, property) and SessionState.clear


def test_a_table_of_too_many_rows_is_refused_on_the_screen_with_the_way_out(monkeypatch):
    """50 MB of short rows took 17 GB."""
    said = []
    monkeypatch.setattr(limit, "put", said.append)
    few, many = (b"sphere_D,central_thickness_um\n" + b"-6,548\n" * rows for rows in (100_000, 100_001))
    assert limit.fits("e.csv", few) and not said
    assert not limit.fits("e.csv", many)
    assert "read about 100,001 rows, accepted up to 100,000" in said[0] and "tissue series" in said[0]


def test_every_name_of_streamlit_that_is_leaned_on_stands_in_the_list():
    """Its browser test, in tests/browser/test_leaning_on_streamlit.py, finds each on its screen."""
    files = [f for kind in ("*.css", "*.js", "*.py") for f in SCREENS.rglob(kind)]
    text = "\n".join(file.read_text("utf-8") for file in files)
    used = {name.rstrip("-") for name in re.findall(r'data-testid[\^*$~|]?="?([\w-]+)', text)}
    used |= set(re.findall(r"\.(st[A-Z]\w+)", text))
    assert used == set(NAMES)


def test_a_run_is_ended_where_the_state_of_the_page_is_looked_into():
    """`chart` looks there while the browser draws, so that the next change of a drag need not wait."""
    asked = Mock()
    "charts" in SafeSessionState(SessionState(), asked)  # noqa: B015
    asked.assert_called_once_with()


class Beside(dict):
    """What is known of the widgets; at each question a run beside puts a state into all that is kept of the page."""

    def get(self, name, known=None):
        self.put()
        return known


def places(page):
    """The dictionaries in which the library keeps what belongs to a page."""
    return page._new_widget_state.states, page._old_state, page._new_session_state


@pytest.mark.parametrize(
    "act",
    [
        SessionState._call_callbacks,
        lambda page: page._new_widget_state.as_widget_states(),
        lambda page: page._new_widget_state.remove_stale_widgets(frozenset(), None),
        SessionState._keys,
        SessionState._reset_triggers,
        lambda page: page._remove_stale_widgets(frozenset()),
    ],
    ids=["call_callbacks", "as_states", "remove_stale", "keys", "reset_triggers", "remove_stale_of_page"],
)
def test_what_is_kept_of_a_page_is_gone_through_though_a_run_beside_puts_something_in(monkeypatch, act):
    """Twice in 1,243 hurried acts: the page showed an error in the place of its fields, and a text was lost."""
    for holder, name in (WStates, "states"), (SessionState, "_old_state"), (SessionState, "_new_session_state"):
        monkeypatch.setattr(holder, name, getattr(holder, name))
    process.look_at_one_moment()
    page, number = SessionState(), count()

    def put():
        for place in places(page):
            place[f"$$ID-{next(number)}-None"] = Value(0)

    put(), put()
    known = Beside()
    known.put = put
    page._new_widget_state.widget_metadata = known
    monkeypatch.setattr(SessionState, "_get_widget_id", lambda page, name: (put(), name)[1])
    monkeypatch.setattr(
        session_state, "get_script_run_ctx", lambda: Mock(page_script_hash="", fragment_ids_this_run=None)
    )
    before = next(number)
    act(page)
    assert next(number) > before + 1, "nothing was put in meanwhile"


def test_the_next_change_does_not_wait_until_the_browser_has_drawn(monkeypatch):
    """Source: rule of the drag: nothing is sent faster than answered, and nothing waits longer. It waited 80 ms."""

    class Asked(Exception):
        pass

    class State(dict):
        def __contains__(self, name):
            raise Asked

    slept = []
    monkeypatch.setattr(chart.st, "session_state", State())
    monkeypatch.setattr(chart.time, "sleep", slept.append)
    with pytest.raises(Asked):
        chart._leave_alone(chart.ALONE_S)
    assert sum(slept) < 0.25 * chart.ALONE_S
