"""A full use with every socket and every written file of the server noted: nothing leaves, nothing stays."""

import re
from pathlib import Path

import pytest
from acts import drawn_after, field, go, idle
from serving import server

TRACED = Path(__file__).parent / "traced"
SECRET_UM = "547.3"  # a thickness that stands nowhere else
SCREENS = (
    "Explain",
    "Trade-offs",
    "Alignment",
    "Suction loss",
    "Enhancement",
    "Mechanics",
    "Series",
    "Rounds",
    "Evidence",
)


@pytest.fixture(scope="module")
def used(chrome, tmp_path_factory):
    """What a server did while one eye was typed, looked at on every screen and saved: trace, log, addresses."""
    folder = tmp_path_factory.mktemp("traced")
    trace, log, seen = folder / "trace.tsv", folder / "log.txt", []
    with log.open("w") as out, server(out, TISSUE_TRACE=str(trace), PYTHONPATH=str(TRACED)) as address:
        page = chrome.new_page(accept_downloads=True)
        page.on("request", lambda request: seen.append(request.url))
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        drawn_after(page, lambda: field(page, "central_thickness_um").fill(SECRET_UM))
        idle(page)
        with page.expect_download() as saving:
            page.get_by_role("button", name="save", exact=True).click()
        assert SECRET_UM in Path(saving.value.path()).read_text("utf-8")
        for name in SCREENS:
            go(page, name)
            seen.append(page.url)
        page.close()
    events = [line.split("\t", 1) for line in trace.read_text("utf-8").splitlines()]
    return events, log.read_text("utf-8"), seen


def about(events, *names):
    """What the events of these names were about."""
    return [what for name, what in events if name in names]


def test_no_connection_leaves_this_machine(used):
    """Source: rule of the screens: no network at run time; audit events of CPython, table of the reference manual."""
    events, _, seen = used
    places = about(events, "socket.connect", "socket.sendto", "socket.getaddrinfo")
    assert not [what for what in places if not re.search(r"'(127\.0\.0\.1|localhost|::1)'|^\('/", what)]
    assert not [url for url in seen if not re.match(r"(http|ws)://127\.0\.0\.1[:/]|blob:|data:", url)]


def test_it_listens_on_loopback_only(used):
    """Source: rule of the screens: server on 127.0.0.1."""
    listening = about(used[0], "socket.bind")
    assert listening and not [what for what in listening if "'127.0.0.1'" not in what]


def test_nothing_of_an_eye_is_written_logged_or_in_an_address(used):
    """Source: rule of the screens: no eye data in the URL; nothing is written to disc unless the user saves."""
    events, log, seen = used
    written = [path for path in about(events, "write") if "__pycache__" not in path and path != "/dev/null"]
    kept = [path for path in written if Path(path).is_file() and SECRET_UM.encode() in Path(path).read_bytes()]
    assert kept == [] and SECRET_UM not in log
    assert not [url for url in seen if SECRET_UM in url or "sphere" in url or "?" in url.split("/component/")[0]]
