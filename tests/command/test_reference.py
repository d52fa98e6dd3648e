"""The reference: a page a room from its docstrings, whole, without links that lead nowhere or elsewhere."""

import re
from html.parser import HTMLParser

from tissue import __all__ as front_door
from tissue.command.reference import write_reference


class Links(HTMLParser):
    """Every address of a page."""

    def __init__(self, text):
        super().__init__()
        self.found = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.found += [value for name, value in attrs if name in ("href", "src")]


def test_it_is_made_twice_alike_and_every_link_holds(tmp_path):
    for name in ("one", "two"):
        assert write_reference([str(tmp_path / name)]) == 0
    first = {path.name: path.read_text("utf-8") for path in (tmp_path / "one").iterdir()}
    assert first == {path.name: path.read_text("utf-8") for path in (tmp_path / "two").iterdir()}
    assert {"index.html", "budget.html", "series.html", "ground.html"} <= set(first) and "screens.html" not in first
    for page in first.values():
        assert {link.partition("#")[0] for link in Links(page).found} <= set(first)
    for name in ("compare", "Cornea", "Treatment"):
        assert name in front_door and f'id="{name}"' in first["index.html"]
    assert "random intercept" in first["series.html"] and not re.search(r" at 0x[0-9a-f]{6}", "".join(first.values()))


def test_without_a_folder_it_says_so(tmp_path, capsys):
    assert write_reference([]) == 2 and "OUT_DIR" in capsys.readouterr().err
    file = tmp_path / "file"
    file.write_text("")
    assert write_reference([str(file)]) == 2 and "accepted a folder" in capsys.readouterr().err
