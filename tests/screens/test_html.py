"""The HTML of the screens: columns under the sections, every input, typed text escaped, no colour of its own."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from markupsafe import escape

from tissue.budget.comparison import closed_interval
from tissue.drawing.section.section import option_domains
from tissue.entry.fields import fields
from tissue.entry.typed import read_fields
from tissue.report.measures import measures
from tissue.screens import frame
from tissue.screens.desk.reading import shown_eye
from tissue.screens.html import plain_table, put, tag
from tissue.screens.pages import evidence
from tissue.screens.parts.form.form import ELSEWHERE, form_html, help_text
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan import below, words
from tissue.screens.tables import options as table

SCREENS = Path(frame.__file__).parent
EYE = {
    "sphere_D": "-6.00",
    "cylinder_D": "-1.25",
    "axis_deg": "170",
    "central_thickness_um": "548",
    "thinnest_um": "543",
}
VERDICTS = r"\b(safe|unsafe|pass|passes|fail|fails|suitable|unsuitable|candidate|eligible|recommended?)\b"


@pytest.fixture(scope="module")
def shown():
    """Figures of one invented eye."""
    return shown_eye(EYE, "OD")[0]


class Balance(HTMLParser):
    """Notes a tag that is closed without having been opened, or the other way round."""

    def __init__(self):
        super().__init__()
        self.open, self.wrong, self.text = [], [], []

    def handle_starttag(self, tag, attrs):
        if tag not in ("br", "input", "col"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        self.text.append(data)


def parsed(html):
    """The parsed HTML, which must be balanced."""
    parser = Balance()
    parser.feed(html)
    assert not parser.wrong and not parser.open
    return parser


def said(shown):
    """Every piece of HTML with the words of the tool itself."""
    yield table.table(shown.comparison, "OD")
    yield table.table(shown.comparison, "OD", ("more",), narrow=True, kept=shown.comparison)
    yield table.pair_table({"OD": shown, "OS": shown}) + words.pair_footnotes([shown, shown])
    yield (
        words.eye_line(shown, "OD", "<b>code</b>")
        + words.footnotes(shown)
        + below.notices_part(shown)
        + below.costs(shown)
    )
    yield words.stale(shown, EYE | {"zone_mm": "65"}, read_fields(EYE | {"zone_mm": "65"})[1])
    yield from (make() for name, make in evidence.PARTS.items() if name not in ("Published eyes", "Checks"))
    yield form_html()


def test_every_piece_is_balanced_and_gives_no_verdict(shown):
    """Source: rule of the screens: figures and words, never a verdict; what others wrote of published eyes stays."""
    for html in said(shown):
        assert not re.findall(VERDICTS, " ".join(parsed(html).text), re.IGNORECASE)
    for name in ("Published eyes", "Checks"):
        parsed(evidence.PARTS[name]())


@pytest.mark.parametrize("narrow", [False, True])
def test_columns_of_the_table_begin_where_the_sections_begin(narrow):
    """Source: rule of the pictures: figure domains and columns from the same numbers."""
    widths = [float(w) for w in re.findall(r"width:([0-9.]+)%", table.colgroup(narrow))]
    starts = [100.0 * start for start, _ in option_domains(narrow).values()]
    assert [sum(widths[: i + 1]) for i in range(3)] == pytest.approx(starts, abs=0.01)
    assert sum(widths) == pytest.approx(100.0, abs=0.01)


def test_each_row_of_both_eyes_has_its_sides_at_its_ends_and_a_gap_between(shown):
    """Source: the document of the desk, 2. The sides are for the eye: the heads say them to a screen reader."""
    html = table.pair_table({"OD": shown, "OS": shown})
    rows = [row for row in re.findall(r"<tr.*?</tr>", html.partition("<tbody>")[2]) if "colgroup" not in row]
    options, columns = 3, html.count("<col ")
    assert rows and columns == 1 + 1 + options + 1 + options + 1
    for row in rows:
        kinds = re.findall(r'<td(?: class="(\w+)")?', row)
        assert kinds == ["end", *[""] * options, "gap", *[""] * options, "end"]
        assert re.findall(r'aria-hidden="true">(O[DS])</td>', row) == ["OD", "OS"]
    assert sum(float(width) for width in re.findall(r"width:([0-9.]+)%", html)) == pytest.approx(100.0, abs=0.02)


def test_the_head_of_an_eye_says_the_thinnest_place_as_it_was_typed(shown):
    """Source: the document of the desk, 5: the place of the reading with two decimals."""
    assert "(at " in words.eye_line(shown, "OD", "a") and re.search(
        r"\(at −?\d\.\d\d, −?\d\.\d\d: ", words.eye_line(shown, "OD", "a")
    )


def cells(html, label):
    """What stands beside the values of a row."""
    row = html.partition(f"{label}</summary>")[2].partition("</tr>")[0]
    return re.findall(r'<span class="beside">(.*?)</span>', row)


def test_both_eyes_show_exact_intervals_at_once_and_the_drawn_ones_when_they_are_there():
    """Source: rule of the screens: the bed's interval in the first paint; what needs draws stays empty until then."""
    right, left = (
        shown_eye(EYE | {"sphere_D": sphere}, side)[0] for sphere, side in (("-6.00", "OD"), ("-5.00", "OS"))
    )
    first = table.pair_table({"OD": right, "OS": left})
    beds = [f"{r.spread.bed_low_um:.0f}–{r.spread.bed_high_um:.0f}" for eye in (right, left) for r in results(eye)]
    assert cells(first, "Residual bed (RSB), centre") == beds
    assert cells(first, "Stromal share altered") == [""] * 6
    _ = right.drawn
    mixed = cells(table.pair_table({"OD": right, "OS": left}), "Stromal share altered")
    assert all(re.fullmatch(r"[\d.]+–[\d.]+", words) for words in mixed[:3]) and mixed[3:] == [""] * 3
    kept = cells(table.pair_table({"OD": right, "OS": left}, {"OS": right}), "Residual bed (RSB), centre")
    assert kept == [*beds[:3], *(f"kept {r.budget.bed_central_um:.0f}" for r in results(right))]
    alone = table.table(right.comparison, "OD", drawn=right.drawn_yet)
    assert mixed[:3] == cells(alone, "Stromal share altered")


def results(shown):
    return shown.comparison.results.values()


def test_every_row_of_the_tissue_has_an_interval_or_says_that_it_has_none():
    """Source: rule of the screens: a spread beside its value wherever one exists; no figure without one is silent."""
    shown = shown_eye(EYE, "OD")[0]
    _ = shown.drawn
    html = table.table(shown.comparison, "OD", ("depth", "shares", "stays", "more"), drawn=shown.drawn_yet)
    for measure in measures().values():
        label = measure.heading(shown.comparison.judgement)
        behind = html.partition(f"<summary>{label}</summary>")[2].partition("</details>")[0]
        said = "95 % under the errors" in behind, "without an interval" in behind
        assert sum(said) == 1 or measure.id == "below_line", measure.id
        assert all(words == "" for words in cells(html, label)) == said[1]
    low, high = closed_interval(shown.comparison, "flap", "removal_volume_mm3")
    assert cells(html, "Volume removed")[1] == f"{low:.2f}–{high:.2f}"


def test_every_measure_stands_in_a_table_once(shown):
    html = table.table(shown.comparison, "OD", ("depth", "shares", "stays", "more"))
    for measure in measures().values():
        assert html.count(f"<summary>{measure.heading(shown.comparison.judgement)}</summary>") == 1


def test_a_share_not_studied_for_a_way_carries_its_mark(shown):
    """Source: santhiago2014 studied flaps: surface ablation and extraction are marked, the flap is not."""
    row = table.table(shown.comparison, "OD").partition("Tissue altered, PTA</summary>")[2].partition("</tr>")[0]
    marks = ["†" in cell for cell in re.findall(r'<span class="value">(.*?)</span>', row)]
    assert marks == [True, False, True]
    assert "not validated for this procedure" in words.footnotes(shown)


def test_a_figure_that_cannot_be_given_is_an_en_dash_with_a_notice():
    """Source: definition: no strength where the removal is deepest off the centre; the notice says why."""
    hyperopia, _ = shown_eye({"sphere_D": "+3.00", "central_thickness_um": "550"}, "OD")
    row = table.table(hyperopia.comparison, "OD").partition("Relative strength</summary>")[2].partition("</tr>")[0]
    assert re.findall(r'<span class="value">(.*?)</span>', row) == ["–"] * 3
    assert any(notice.id == "off-centre" for notice in hyperopia.notices)


def test_the_stale_strip_says_what_is_shown_and_what_the_field_holds(shown):
    texts = EYE | {"zone_mm": "65"}
    text = " ".join(parsed(words.stale(shown, texts, read_fields(texts)[1])).text)
    assert text == "Optical zone 6.5 mm is used: the field holds 65; 4 to 9 mm is accepted."


def test_every_input_has_its_field_with_label_limits_and_help():
    html = form_html()
    for name, field in fields().items():
        if field.group == ELSEWHERE:
            continue
        assert f'id="field-{name}"' in html and f'<label for="field-{name}">' in html
        assert field.meaning in help_text(field)
        if field.is_number:
            assert f'data-low="{field.low}" data-high="{field.high}"' in html


def test_what_was_typed_is_escaped():
    evil = '"><script>alert(1)</script>'
    assert "<script" not in plain_table(["a"], [[evil]])
    shown, _ = shown_eye(EYE, "OD")
    texts = EYE | {"zone_mm": evil}
    assert "<script" not in words.stale(shown, texts, read_fields(texts)[1])


def test_text_is_escaped_wherever_it_stands_and_markup_once():
    """Source: HTML Living Standard, 13.3: `&`, `<`, `>` and the quotes have a meaning of their own in HTML."""
    evil = """a < b & "c" > 'd'"""
    found = tag("p", evil, tag("b", evil), title=evil, hidden=True, id=None, data_for=evil)
    parser = parsed(found)
    assert parser.text == [evil, evil]
    assert found.count("<") == 4 and escape(evil) in found
    assert "hidden" in found and "id=" not in found and "data-for=" in found


def test_text_in_the_place_of_markup_is_refused():
    for show in (put, lambda html: piece("any", html)):
        with pytest.raises(TypeError, match="text where markup is meant"):
            show(f"{tag('p', 'one')}")


@pytest.mark.parametrize("name", ["styles/style.css", "parts/form/form.css"])
def test_style_sheets_take_every_colour_from_the_palette(name):
    """Source: rule of the pictures: contrast is tested on the palette, so no other colour may come in."""
    css = (SCREENS / name).read_text("utf-8")
    assert not re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsl", css)
    assert set(re.findall(r"--tissue-([a-z0-9]+)", css)) <= set(
        re.findall(r"--tissue-([a-z0-9]+)", frame.style("light"))
    )


def test_config_holds_the_colours_of_the_palette():
    """Source: rule of the pictures; the palette is the one place of a colour."""
    import tomllib

    from tissue.drawing.base.palette import look

    theme = tomllib.loads((SCREENS.parents[1] / ".streamlit" / "config.toml").read_text("utf-8"))["theme"]
    for name in ("light", "dark"):
        colours = look(name)
        found = theme[name]
        assert (found["backgroundColor"], found["secondaryBackgroundColor"]) == (colours.page, colours.panel)
        assert (found["textColor"], found["primaryColor"], found["borderColor"]) == (
            colours.ink,
            colours.link,
            colours.rule,
        )
        assert found["chartCategoricalColors"][:3] == list(colours.option.values())
