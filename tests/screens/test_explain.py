"""The Explain screen without a browser: every demo eye, way and step; what cannot be read or shown is said."""

import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from tissue.drawing.patient.language import LANGUAGES, unread, words
from tissue.drawing.patient.together import COLUMNS, by_name, column_name
from tissue.drawing.patient.words import STEPS, WAYS
from tissue.screens import frame
from tissue.screens.desk.link import NotMade
from tissue.screens.desk.state import FIRST_DEMO, Day, Desk, demo_files, open_demo
from tissue.screens.pages.explain import TOGETHER, columns_shown, handout_file

PAGE = words("en")["page"]


def screen():
    """The screen alone."""
    from tissue.screens.pages import explain

    explain.show()


def shown(on_desk, way="surface", step=0, **more):
    """The screen for a desk, a way, a step and what else is chosen."""
    app = AppTest.from_function(screen, default_timeout=60)
    app.session_state["day"] = Day.of(on_desk)
    app.session_state["explain"] = {"way": way, "step": step, **more}
    return app.run()


def desk_of(name=FIRST_DEMO):
    on_desk = Desk()
    open_demo(on_desk, name)
    return on_desk


def handouts(app):
    """How many buttons ask for the handout."""
    return sum(one.proto.id.endswith("hand-explain_page") for one in app.get("bidi_component"))


def pieces(app):
    """The HTML of every piece by its name."""
    found = [one.proto for one in app.get("bidi_component") if "-piece-" in one.proto.id]
    return {proto.id.rpartition("-piece-")[2]: proto.bytes.decode() for proto in found}


@pytest.mark.parametrize("name", list(demo_files()))
@pytest.mark.parametrize("way", WAYS)
def test_every_demo_eye_is_shown(name, way):
    on_desk = desk_of(name)
    app = shown(on_desk, way, STEPS.index("out"))
    assert not app.exception and handouts(app) == 1
    assert (
        f"Your {PAGE['eyes'][on_desk.side].split()[-2]} eye" in pieces(app)["explain_title"]
        and PAGE["unknown"] in pieces(app)["explain_known"]
    )


def test_a_wrong_number_is_said_in_a_plain_line_and_takes_the_handout():
    on_desk = desk_of()
    shown(on_desk)
    on_desk.texts["OD"]["zone_mm"] = "65"
    app = shown(on_desk)
    assert not app.exception
    assert PAGE["stale"] in pieces(app)["explain_stale"]
    with pytest.raises(NotMade, match="A number of the right eye cannot be read"):
        handout_file(on_desk)
    on_desk.look_at("OS")
    app = shown(on_desk)
    assert pieces(app)["explain_stale"] == ""


def test_an_eye_without_numbers_says_so():
    on_desk = desk_of()
    on_desk.texts, on_desk.last = {"OD": {}}, {}
    app = shown(on_desk)
    assert not app.exception and PAGE["empty"] in pieces(app)["explain_empty"]


def test_the_style_sheet_takes_every_colour_from_the_palette():
    """Source: rule of the pictures: contrast is tested on the palette, so no other colour may come in."""
    css = (Path(frame.__file__).parent / "styles" / "explain.css").read_text("utf-8")
    assert not re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsl", css)
    used = set(re.findall(r"--tissue-([a-z0-9]+)", css))
    assert used and used <= set(re.findall(r"--tissue-([a-z0-9]+)", frame.style("light")))


def test_the_sidebar_stays_empty():
    assert len(shown(desk_of()).sidebar) == 0


def test_a_made_up_eye_is_called_so():
    assert any(PAGE["invented"] in str(one.proto) for one in shown(desk_of()).get("html"))
    own = desk_of()
    own.invented = False
    assert not any(PAGE["invented"] in str(one.proto) for one in shown(own).get("html"))


def test_without_the_component_the_pictures_are_still_drawn():
    app = AppTest.from_function(screen, default_timeout=60)
    app.session_state["day"] = Day.of(desk_of())
    app.session_state["chart_component_failed"] = True
    app.run()
    assert not app.exception and len(app.get("plotly_chart")) == 4


@pytest.mark.parametrize("language", LANGUAGES)
def test_side_by_side_has_every_column_in_the_order_of_its_names(language):
    app = shown(desk_of(), TOGETHER, language=language)
    said = pieces(app)["explain_table"]
    assert not app.exception and f'lang="{language}"' in said
    names = [column_name(column, language) for column in by_name(COLUMNS, language)]
    assert names == sorted(names, key=lambda name: name.casefold().replace("à", "a"))
    places = [said.index(f'<th scope="col">{name}</th>') for name in names]
    assert places == sorted(places)
    assert "<b>" not in said and "style" not in said  # no weight and no colour prefers a way
    assert unread(language) in pieces(app)["explain_unread"]


def test_the_surgeon_sets_which_ways_stand_there_and_in_which_order():
    on_desk = desk_of()
    app = shown(on_desk, TOGETHER, columns=("flap", "surface"))
    assert columns_shown({"columns": ("flap", "surface"), "language": "en"}) == ("flap", "surface", "none")
    said = pieces(app)["explain_table"]
    assert "Through a small opening" not in said
    assert said.index("With a flap") < said.index("On the surface") < said.index("no surgery")


def test_the_page_is_in_the_language_that_was_chosen():
    for language in LANGUAGES:
        said = pieces(shown(desk_of(), language=language))
        assert words(language)["page"]["unknown"] in said["explain_known"]
        assert f'lang="{language}"' in said["explain_title"]
