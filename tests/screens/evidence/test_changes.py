"""Evidence shows the changes of the README: headings, tables and points, and none of its marks."""

from html.parser import HTMLParser

from tissue.ground.sources import readme
from tissue.screens.evidence.changes import changes_part, readme_section


class Reader(HTMLParser):
    """Words by the element they stand in."""

    def __init__(self, html):
        super().__init__()
        self.open, self.words = [], {"h2": [], "th": [], "td": [], "p": []}
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.open.append(tag)
        if tag in self.words:
            self.words[tag].append("")

    def handle_endtag(self, tag):
        self.open.pop()

    def handle_data(self, data):
        for tag in reversed(self.open):
            if tag in self.words:
                self.words[tag][-1] += data
                return


def test_every_row_and_heading_of_the_readme_is_shown_as_one():
    section = readme().partition("\n## Changes\n")[2]
    rows = [line for line in section.splitlines() if line.startswith("|")]
    found = Reader(str(changes_part())).words
    assert found["th"] == ["figure", "why it changed", "example", "was", "is"]
    assert len(found["td"]) == 5 * (len(rows) - 2)
    assert [line.removeprefix("### ") for line in section.splitlines() if line.startswith("### ")] == found["h2"][3:]
    assert "348 µm" in found["td"] and "First version." in found["p"]


def test_no_mark_of_the_readme_is_left_in_the_words():
    words = [word for some in Reader(str(changes_part())).words.values() for word in some]
    assert all(words) and not [word for word in words if {"*", "`", "|", "#"} & set(word)]
    assert readme_section("What it does not know")[0].startswith("Corneal shape")
