"""One server and one browser for all browser tests; a page of its own for each."""

import pytest
from acts import leave
from serving import browser, chromium, server

collect_ignore = ["conftest.py", "traced", "forgetful"]  # no modules of doctests; the latter two are loaded by a server
NARROW_PX = 900  # up to this width the sidebar is folded once the page has told how wide it is
FOLDED = "() => document.querySelector('[data-testid=stSidebar]')?.getAttribute('aria-expanded') !== 'true'"
SETTLED_MS = 700  # the words of the navigation move while it folds


@pytest.fixture(scope="session")
def address():
    """Address of a running server."""
    if chromium() is None:
        pytest.skip("Chromium is not installed")
    pytest.importorskip("playwright.sync_api")
    with server() as found:
        yield found


@pytest.fixture(scope="session")
def chrome(address):
    """A headless Chromium."""
    with browser() as started:
        yield started


@pytest.fixture(scope="session")
def tabs(chrome):
    """What all pages share: what was fetched once is not fetched again. A session of the tool belongs to a page."""
    context = chrome.new_context(accept_downloads=True)
    yield context
    context.close()


@pytest.fixture(scope="session")
def tab(tabs):
    """The tab that most tests use, one after another: a script it has read once it need not read again."""
    return tabs.new_page()


@pytest.fixture
def open_page(tabs, tab, address):
    """Opens pages; at the end no console error, no failed request and nothing but this machine was asked."""
    opened, wrong = [], []
    heard = {
        "console": lambda message: wrong.append(message.text) if _error(message) else None,
        "pageerror": lambda error: wrong.append(str(error)),
        "dialog": leave,  # a page with changes that are not saved asks before it is left
        "request": lambda request: None if _local(request.url) else wrong.append(f"asked {request.url}"),
    }

    def open_one(width=1440, height=900, scheme="light"):
        page = tabs.new_page() if opened else tab
        opened.append(page)
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme=scheme, reduced_motion="no-preference")
        for event, hear in heard.items():
            page.on(event, hear)
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        if width <= NARROW_PX:
            page.wait_for_function(FOLDED, timeout=20000)
            page.wait_for_timeout(SETTLED_MS)
        return page

    yield open_one
    for page in opened[1:]:
        page.close()
    if opened:
        tab.evaluate("sessionStorage.clear(); localStorage.clear()")  # its desk, and how the library left the sidebar
        tab.goto("about:blank")
        for event, hear in heard.items():
            tab.remove_listener(event, hear)
    assert wrong == []


def _error(message):
    """An error of ours: at an address of a screen the library first looks for its server below it, and finds none."""
    return message.type == "error" and "/_stcore/" not in message.location.get("url", "")


def _local(url):
    return url.startswith(("http://127.0.0.1", "ws://127.0.0.1", "blob:", "data:"))


@pytest.fixture
def page(open_page):
    """The Plan screen, drawn."""
    return open_page()
