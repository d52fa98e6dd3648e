"""The cuts played in a real browser: both views grow by one clock, and where it stops is the moment."""

import re

import pytest
from acts import demo, go, row
from hurry import button, saved_by, settled
from playwright.sync_api import expect

from tissue.ground.vocabulary import STAGES
from tissue.report.measures import rounded
from tissue.routes.cutting import clock_of
from tissue.routes.rescue import rescue

CLOCK = ".st-key-chart-suction_clock .plot"
# Length drawn of the cuts, from the front and in section, noted in every frame.
WATCH = """
() => {
  const node = document.querySelector('.player:not([hidden])').parentElement.querySelector('.plot');
  window.grown = [];
  const look = () => {
    const { paths, played, now, running } = node.tissue.play;
    const own = (axes) => paths.filter((_, i) => played.strokes[i].axes === axes);
    const drawn = (axes) => own(axes).reduce((sum, path) => sum + path.getTotalLength(), 0);
    if (running) window.grown.push([now, drawn(''), drawn('2')]);
    requestAnimationFrame(look);
  };
  look();
}
"""


@pytest.fixture
def played(page):
    """The Suction loss screen with the cuts ready to be played."""
    go(page, "Suction loss")
    page.get_by_text("Play the cuts").click()
    page.wait_for_selector(".player:not([hidden]) .button", timeout=60000)
    settled(page)
    return page


def second(page):
    """The second at which the player stands, as it says."""
    return float(page.locator(".player:not([hidden]) .span").inner_text().split()[0])


def test_front_and_section_grow_together_and_stopping_is_the_moment(played):
    """Source: the rescue options of the same eye at that moment, worked out without the screen."""
    played.evaluate(WATCH)
    played.get_by_label("Speed").select_option("4")
    button(played, "from the start").click()
    assert played.evaluate("document.body.classList.contains('tissue-old')")
    played.wait_for_function("window.grown.length > 30")
    button(played, "pause").click()
    settled(played)
    grown = played.evaluate("window.grown")
    for before, after in zip(grown, grown[1:], strict=False):
        assert after[0] > before[0] and after[1] > before[1] and after[2] > before[2]
    now = second(played)
    expect(played.locator(CLOCK)).to_have_attribute("aria-label", re.compile(f"The moment is {now} s"), timeout=20000)
    assert (
        played.get_by_role("slider").first.evaluate("(one) => +(one.getAttribute('aria-valuenow') ?? one.value)") == now
    )
    text = saved_by(played, button(played, "save").click).decode()
    stage, done = (re.search(rf"{name} = \"?([\w.-]+)", text)[1] for name in ("suction_stage", "suction_done"))
    assert clock_of(demo()).seconds(stage, float(done)) == pytest.approx(now, abs=0.06)
    routes = rescue(demo(), stage, float(done)).routes
    assert row(played, "Residual bed (RSB), centre") == [rounded(one.bed_central_um) for one in routes]


def test_it_plays_to_the_end_by_keyboard_and_escape_takes_it_back(played):
    played.get_by_label("Speed").select_option("16")
    button(played, "play").focus()
    played.keyboard.press("Enter")
    played.wait_for_timeout(300)
    played.keyboard.press("Escape")
    settled(played)
    assert second(played) == 4.5 and "copy" not in played.locator(".plan-name").inner_text()
    played.keyboard.press("Enter")
    played.wait_for_function(
        "document.querySelector('.player:not([hidden]) .button').textContent === 'play'", timeout=20000
    )
    settled(played)
    assert second(played) == 24.0
    assert 'suction_stage = "' + STAGES[-1] in saved_by(played, button(played, "save").click).decode()


def test_another_act_stops_it_and_has_the_moment(played):
    """Source: rule of the desk: whatever is made is made from what stands there when it is asked for."""
    played.get_by_label("Speed").select_option("1")
    button(played, "from the start").click()
    played.wait_for_timeout(700)
    text = saved_by(played, button(played, "save").click).decode()
    settled(played)
    done = float(re.search(r"suction_done = \"?([\d.]+)", text)[1])
    moment = clock_of(demo()).seconds("lenticule", done)
    expect(played.locator(".player:not([hidden])")).to_contain_text(
        re.compile(rf"{moment - 0.05:.1f} of|{moment + 0.05:.1f} of")
    )
    assert moment == pytest.approx(second(played), abs=0.06)
    expect(button(played, "play")).to_be_visible()
