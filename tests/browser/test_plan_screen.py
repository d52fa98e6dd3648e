"""The Plan screen in a real browser: fields, picture, table, files, themes and widths."""

import re

import pytest
from acts import SHARE_ROW, axes, beds, choose, drawn_after, field, figures_row, go, idle, values
from playwright.sync_api import expect
from stale_cases import first_texts

EYE = {
    "refraction": "-5.00 -0.75 x 12",
    "central_thickness_um": "551",
    "thinnest_um": "543",
    "thinnest_x_mm": "-0.6",
    "thinnest_y_mm": "-0.5",
    "mean_K_D": "43.25",
    "zone_mm": "6.5",
}


def test_it_opens_on_an_invented_eye_within_the_window(page):
    """Source: rule of the screens: eye, sections and table stand within 1440 × 900; a demo eye is named as invented."""
    assert page.locator(".plan-name").inner_text().split("\n")[:2] == ["harbour-03", "invented eye"]
    assert page.locator(".eye h1").inner_text() == "OD (right eye)"
    last = page.locator("table.figures").first.locator("tr").last.bounding_box()
    assert last["y"] + last["height"] <= 900 - 26
    assert "does not say that an eye is fit for surgery" in page.locator(".st-key-standing").inner_text()


def test_what_is_typed_gives_the_figures_of_the_arithmetic(page):
    drawn_after(page, lambda: field(page, "refraction").fill(EYE["refraction"]))
    drawn_after(page, lambda: field(page, "central_thickness_um").fill(EYE["central_thickness_um"]))
    page.wait_for_function("document.querySelector('[name=sphere_D]').value === '−5.00'")
    assert [field(page, name).input_value() for name in ("cylinder_D", "axis_deg")] == ["−0.75", "12"]
    assert values(page, "Residual bed (RSB), centre") == beds(EYE)
    assert "−5.75 +0.75 × 102" in page.locator(".eye").inner_text()
    assert "harbour-03-copy" in page.locator(".plan-name").inner_text()


STEPS = (
    ("sphere_D", "ArrowUp", "−5.75"),
    ("zone_mm", "ArrowDown", "6.4"),
    ("axis_deg", "ArrowUp", "171"),
    ("cap_um", "ArrowUp", "121"),
)


def test_arrow_keys_step_a_number(page):
    """Source: rule of the screens: steps 0.25 D, 0.1 mm, 1 µm, 1°; an empty field starts from what is used."""
    for name, key, after in STEPS:
        drawn_after(page, lambda name=name, key=key: field(page, name).press(key))
        expect(field(page, name)).to_have_value(after)


SLOWER, PRESSES, GAP_MS = 6, 52, 100


def test_a_held_key_on_a_slow_machine_ends_at_its_last_value(page):
    """Source: rule of the screens: figures are never shown for another input. Up and down by turns, four more up."""
    page.wait_for_timeout(1000)
    slow = page.context.new_cdp_session(page)
    slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    field(page, "zone_mm").focus()
    for number in range(PRESSES):
        page.keyboard.press("ArrowUp" if number % 12 < 6 else "ArrowDown")
        page.wait_for_timeout(GAP_MS)
    slow.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    expect(field(page, "zone_mm")).to_have_value("6.9")
    idle(page)
    shown = figures_row(page, "Residual bed (RSB), centre").locator(".value")
    expect(shown).to_have_text([re.compile(bed) for bed in beds(first_texts() | {"zone_mm": "6.9"})])


def test_a_wrong_value_is_explained_and_the_figures_stay(page):
    """Source: rule of the screens: the words of the command beside the field; a stale figure says what it is for."""
    before = values(page, "Residual bed (RSB), centre")
    zone = field(page, "zone_mm")
    zone.fill("65")
    page.wait_for_selector(".stale")
    expect(page.locator("#fault-zone_mm")).to_have_text("read 65, accepted 4 to 9 mm")
    assert (
        page.locator(".stale").inner_text() == "Optical zone 6.5 mm is used: the field holds 65; 4 to 9 mm is accepted."
    )
    assert values(page, "Residual bed (RSB), centre") == before and zone.get_attribute("aria-invalid") == "true"
    page.get_by_role("button", name="save", exact=True).click()
    expect(page.locator(".tissue-link .said")).to_contain_text("OD: zone_mm: read 65, accepted 4 to 9 mm")
    drawn_after(page, lambda: zone.fill("6,0"))
    page.wait_for_selector(".stale", state="detached")
    page.wait_for_selector("#fault-zone_mm", state="hidden")
    assert values(page, "Residual bed (RSB), centre") != before


def test_a_power_without_its_sign_is_not_taken(page):
    """Source: interface: a power without a sign unless zero is refused."""
    field(page, "sphere_D").fill("4.75")
    page.wait_for_selector(".stale")
    assert "without a sign" in page.locator("#fault-sphere_D").inner_text()


def test_the_other_eye_and_another_screen_keep_everything(page):
    drawn_after(page, lambda: field(page, "zone_mm").fill("6.2"))
    drawn_after(page, lambda: choose(page, "OS (left)"))
    expect(page.locator(".eye h1")).to_have_text("OS (left eye)")
    expect(field(page, "refraction")).to_have_value("-5.50 DS / -0.75 DC × 12°")
    go(page, "Evidence")
    page.get_by_role("heading", name="Depth and strength").wait_for()
    go(page, "Plan")
    page.wait_for_selector(".plot[data-drawn]")
    assert page.locator(".eye h1").inner_text() == "OS (left eye)"
    drawn_after(page, lambda: choose(page, "OD (right)"))
    expect(field(page, "zone_mm")).to_have_value("6.2")
    assert not re.search(r"[?#]", page.url)


def test_copying_to_the_other_eye_says_what_it_overwrites(page):
    page.get_by_role("button", name="copy to the other eye").click()
    dialog = page.get_by_role("dialog")
    dialog.get_by_role("row", name="Refraction as written").wait_for()
    assert "OD (right) would be copied over OS (left)." in dialog.inner_text()
    dialog.get_by_role("button", name="Overwrite OS (left)").click()
    dialog.wait_for(state="detached")
    drawn_after(page, lambda: choose(page, "OS (left)"))
    expect(field(page, "sphere_D")).to_have_value("-6.00")
    drawn_after(page, lambda: field(page, "sphere_D").fill("-5.00"))
    page.get_by_text("Is that right?").wait_for()


def test_a_plan_is_saved_opened_and_reset(page, tmp_path):
    drawn_after(page, lambda: field(page, "zone_mm").fill("6.1"))
    idle(page)
    with page.expect_download() as saving:
        page.get_by_role("button", name="save", exact=True).click()
    path = tmp_path / "mine.toml"
    saving.value.save_as(path)
    assert 'code = "harbour-03-copy"' in path.read_text("utf-8") and "zone_mm = 6.1" in path.read_text("utf-8")
    path.write_text(path.read_text("utf-8").replace("zone_mm = 6.1", "zone_mm = 5.9"), "utf-8")
    page.get_by_role("button", name="open", exact=True).click()
    drawn_after(page, lambda: page.locator("input[type=file]").set_input_files(path))
    expect(field(page, "zone_mm")).to_have_value("5.9")
    drawn_after(page, lambda: field(page, "zone_mm").fill("6.6"))
    page.get_by_role("button", name="reset", exact=True).click()
    drawn_after(page, lambda: page.get_by_role("button", name="Drop the changes").click())
    expect(field(page, "zone_mm")).to_have_value("5.9")


@pytest.mark.parametrize("gone", [False, True])
def test_a_button_that_moves_away_under_the_press_is_pressed(page, gone):
    button = page.get_by_role("button", name="section as CSV")
    box = button.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    with page.expect_download() as saving:
        page.mouse.down()
        button.evaluate(
            "(one, gone) => gone ? one.replaceWith(one.cloneNode(true)) : (one.style.marginTop = '300px')", gone
        )
        page.mouse.up()
    assert saving.value.suggested_filename.endswith(".csv")


def test_a_dialog_opened_right_after_a_change_stays_open(page):
    """Source: rule of the screens: nothing is lost; what is worked out later waits until the dialog is closed."""
    drawn_after(page, lambda: field(page, "zone_mm").fill("6.2"))
    page.get_by_role("button", name="reset", exact=True).click()
    page.get_by_role("button", name="Drop the changes").wait_for()
    page.wait_for_timeout(2500)
    assert page.get_by_role("button", name="Drop the changes").is_visible()
    page.keyboard.press("Escape")
    page.get_by_role("dialog").wait_for(state="detached")
    page.wait_for_function(f"/\\d–\\d/.test(({SHARE_ROW})().innerText)", timeout=20000)
    expect(field(page, "zone_mm")).to_have_value("6.2")


def test_a_file_that_cannot_be_used_leaves_the_plan_and_says_why(page, tmp_path):
    path = tmp_path / "wrong.toml"
    path.write_text("schema = 1\n[OD]\nsphere_D = 4.75\ncentral_thickness_um = 999\n", "utf-8")
    page.get_by_role("button", name="open", exact=True).click()
    page.locator("input[type=file]").set_input_files(path)
    strip = page.get_by_role("dialog").locator(".stale")
    strip.wait_for()
    assert "sphere_D" in strip.inner_text() and "central_thickness_um" in strip.inner_text()


def test_true_scale_is_true_and_its_zoom_is_kept(page):
    """Source: rule of the pictures: width and depth at one scale, so a mm has as many pixels across as up."""
    drawn_after(page, lambda: choose(page, "True scale"))
    whole = axes(page)
    across, up = (axis["px"] / abs(axis["range"][1] - axis["range"][0]) for axis in whole)
    assert across == pytest.approx(up, rel=1e-3)
    box = page.locator(".tissue-chart .plot").first.bounding_box()
    page.mouse.move(box["x"] + 400, box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 700, box["y"] + 260, steps=5)
    page.mouse.up()
    page.wait_for_timeout(300)
    zoomed = axes(page)
    assert abs(zoomed[0]["range"][1] - zoomed[0]["range"][0]) < 8
    drawn_after(page, lambda: field(page, "cap_um").press("ArrowUp"))
    assert [axis["range"] for axis in axes(page)] == [axis["range"] for axis in zoomed]
    across, up = (axis["px"] / abs(axis["range"][1] - axis["range"][0]) for axis in axes(page))
    assert across == pytest.approx(up, rel=1e-3)
    drawn_after(page, lambda: page.mouse.dblclick(box["x"] + 400, box["y"] + 60))
    assert axes(page) == whole
    drawn_after(page, lambda: field(page, "cap_um").press("ArrowUp"))
    assert axes(page) == whole  # a zoom that was ended is not kept


def test_the_picture_stays_the_same_node(page):
    page.evaluate("document.querySelector('.tissue-chart .plot').mark = 1")
    drawn_after(page, lambda: field(page, "zone_mm").press("ArrowUp"))
    assert page.evaluate("document.querySelector('.tissue-chart .plot').mark") == 1


def test_pictures_and_sections_are_saved(page, tmp_path):
    for button, ending, inside in (("Save as SVG: flattened", "svg", "<svg"), ("section as CSV", "csv", "position_mm")):
        with page.expect_download() as saving:
            page.get_by_role("button", name=button).first.click()
        path = tmp_path / f"saved.{ending}"
        saving.value.save_as(path)
        assert saving.value.suggested_filename.endswith(ending) and inside in path.read_text("utf-8")


def test_every_picture_has_its_figures_in_words(page):
    """Source: rule of the screens: each figure has an alternative text with its numbers."""
    page.locator(".plot").nth(2).scroll_into_view_if_needed()
    for label, bed in zip(("Surface", "Flap", "Lenticule"), values(page, "Residual bed (RSB), centre"), strict=True):
        assert re.search(rf"{label}[^.]*bed {bed}", page.locator(".plot").first.get_attribute("aria-label"))
    strengths = values(page, "Relative strength")
    for number_ in (1, 2):
        text = page.locator(".plot").nth(number_).get_attribute("aria-label")
        assert all(value in text for value in strengths)


def test_a_figure_opens_its_formula_and_source_by_keyboard(page):
    summary = page.locator("summary", has_text="Tissue altered, PTA").first
    summary.focus()
    page.keyboard.press("Enter")
    behind = page.locator("details[open] .behind")
    assert "Santhiago" in behind.inner_text() and "100 · (cut + r) / CCT" in behind.inner_text()
    drawn_after(page, lambda: field(page, "zone_mm").press("ArrowUp"))
    assert behind.is_visible()


def test_tab_goes_through_the_fields(page):
    field(page, "sphere_D").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == "cylinder_D"
    assert "Accepted" in page.locator("#field-help").inner_text()


def test_dark_theme_draws_in_its_own_colours(open_page):
    """Source: rule of the pictures, dark page #13181B."""
    page = open_page(scheme="dark")
    paper = page.evaluate("document.querySelector('.tissue-chart .plot').layout.paper_bgcolor")
    body = page.evaluate("getComputedStyle(document.querySelector('.stApp')).backgroundColor")
    assert paper.upper() == "#13181B" and body == "rgb(19, 24, 27)"


@pytest.mark.parametrize(("width", "height"), [(800, 1100), (560, 900)])
def test_narrow_windows_fold_the_sidebar_and_do_not_overflow(open_page, width, height):
    page = open_page(width, height)
    page.wait_for_function("document.querySelector('.tissue-chart .plot').clientWidth > 480", timeout=20000)
    page.wait_for_timeout(800)
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth") <= width
    assert page.locator(".tissue-fields").bounding_box()["x"] < 0 or not page.locator(".tissue-fields").is_visible()


SAID_OF_FIGURES = """() => {
  const note = document.querySelector('.tissue-for'), a = note.getBoundingClientRect();
  const foot = document.querySelector('.st-key-standing').getBoundingClientRect();
  const over = ({ left, right, top, bottom }) => a.left < right && left < a.right && a.top < bottom && top < a.bottom;
  const heads = [...document.querySelectorAll('.eye > *, .notice-line, .st-key-controls button, [role=note]')];
  return {
    words: note.innerText, in_foot: foot.bottom <= innerHeight && a.top >= foot.top - 1 && a.bottom <= foot.bottom,
    over: heads.filter((one) => over(one.getBoundingClientRect())).map((one) => one.innerText),
  };
}"""


def test_an_opened_sidebar_in_a_narrow_window_leaves_every_figure_readable(open_page):
    """Source: rule of the screens: 800 px wide. The pictures follow the column, names and values keep apart."""
    page = open_page(800, 1100)
    page.wait_for_timeout(3000)  # every picture has told its first width
    page.locator("[data-testid=stExpandSidebarButton]").first.click()
    page.wait_for_function(
        "[...document.querySelectorAll('.plot')].every((one) => one.tissue.spec.width === one.clientWidth)",
        timeout=20000,
    )
    idle(page)
    page.wait_for_function(f"/\\d–\\d/.test(({SHARE_ROW})().innerText)", timeout=20000)  # nothing is to come by itself
    row = figures_row(page, "Residual bed (RSB), centre")
    name, value = row.locator("summary").bounding_box(), row.locator(".value").first.bounding_box()
    assert name["x"] + name["width"] <= value["x"]
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth") <= 500
    field(page, "refraction").fill("-6.0 x")  # the figures stay those of before, and the page says whose they are
    for width in (800, 1440, 390):
        page.set_viewport_size({"width": width, "height": 900})
        said = page.evaluate(SAID_OF_FIGURES)
        assert said == {"words": "figures for OD −6.00 −1.25 × 170", "in_foot": True, "over": []}, width


UNDER_A_BUTTON = """() => {
  const box = document.querySelector('.st-key-sections_box');
  const of = (selector) => [...box.querySelectorAll(selector)]
    .map((one) => [one.textContent, one.getBoundingClientRect()]);
  const over = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
  const said = of('svg text').filter(([words]) => /nasal|temporal|drawn flat/.test(words));
  return said.length && of('button').filter(([, b]) => b.width).flatMap(([name, b]) =>
    said.filter(([, a]) => over(a, b)).map(([words]) => `${words} under ${name} at ${window.innerWidth}`));
}"""


def test_while_the_window_is_made_narrower_no_word_comes_to_lie_under_a_button(page):
    """Looked at right after each change, before the labels are placed anew; then as it has come to rest."""
    for width in (1430, 1380, 1290, 1210, 1130, 1010, 1440):
        page.set_viewport_size({"width": width, "height": 900})
        for _ in range(4):
            assert page.evaluate(UNDER_A_BUTTON) == []
            page.wait_for_timeout(40)
    page.wait_for_timeout(1500)
    assert page.evaluate(UNDER_A_BUTTON) == []


def test_both_eyes_stand_side_by_side_the_right_one_left(page):
    """Source: rule of the screens: right eye on the left of the page, left eye on the right."""
    page.get_by_text("Both eyes").click()
    heads = page.locator(".eye h1")
    expect(heads).to_have_text(["OD (right eye)", "OS (left eye)"], timeout=20000)
    idle(page)
    right, left = heads.nth(0), heads.nth(1)
    assert right.bounding_box()["x"] < left.bounding_box()["x"]
    page.set_viewport_size({"width": 800, "height": 900})
    page.wait_for_function("document.querySelector('table.pair th[scope=row]').clientWidth < 200")
    idle(page)
    alone = "(heads) => heads.filter((one) => one.querySelector('.unit')?.offsetLeft <= one.offsetLeft).length"
    assert page.locator("table.pair th[scope=row]").evaluate_all(alone) == 0  # a unit stands behind the last word
    name = figures_row(page, "Residual bed (RSB), centre").locator("summary")
    name.click()
    expect(page.locator("table.pair details[open] .behind")).to_be_visible()
    name.click()
    expect(page.locator("table.pair details[open]")).to_have_count(0)


def test_a_kept_plan_stays_beside_the_new_one(page):
    before = values(page, "Residual bed (RSB), centre")
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("button", name="Drop the kept plan").wait_for()
    drawn_after(page, lambda: field(page, "zone_mm").fill("6.0"))
    row = figures_row(page, "Residual bed (RSB), centre")
    assert row.locator(".beside").all_inner_texts() == [f"kept {bed}" for bed in before]


def test_the_page_pales_only_while_it_takes_long(page):
    """Source: rule of the screens: a figure is never shown as current for another input; here the state is held."""
    page.wait_for_function(f"/\\d–\\d/.test(({SHARE_ROW})().innerText)", timeout=20000)  # nothing is to come by itself
    idle(page)
    main = page.locator("[data-testid=stMainBlockContainer]")
    state = "(said) => { document.querySelector('.stApp').dataset.testScriptState = said; }"
    page.evaluate(state, "running")
    assert main.evaluate("(node) => getComputedStyle(node).opacity") == "1"
    expect(main).to_have_css("opacity", "0.4")
    page.evaluate(state, "notRunning")
    expect(main).to_have_css("opacity", "1")
