"""A stray quote swallows no eye: the file is refused with its lines, and a text in quotes goes through as it is."""

import csv

import pytest

from tissue.command.command import main
from tissue.series.tables.cells import unguard

HEAD = "sphere_D,cylinder_D,axis_deg,central_thickness_um"


@pytest.mark.parametrize(
    "lines, words",
    [
        ({500: '"15 mm ring'}, "line 501: read a quote that is never closed"),
        ({100: '"15 mm ring', 600: 'end"'}, "line 101: note: read a quote that opens here and closes in line 601"),
    ],
)
def test_a_stray_quote_swallows_no_eye(tmp_path, capsys, lines, words):
    """1,000 rows of which a quote would hold hundreds: the file is refused, with the lines."""
    source = tmp_path / "in.csv"
    rows = [f"-4.00,,,550,{lines.get(i, 'good')}" for i in range(1, 1001)]
    source.write_text("\n".join([f"{HEAD},note", *rows]) + "\n")
    assert main(["series", str(source), str(tmp_path / "out.csv")]) == 2
    assert words in capsys.readouterr().err and not (tmp_path / "out.csv").exists()


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_a_quote_from_one_row_into_the_next_swallows_no_eye(tmp_path, capsys, sign):
    """Both rows together are one as wide as the header: it would come back as one eye."""
    source = tmp_path / "in.csv"
    rows = ["-4.00,good,,,550", '-4.00,"15 mm ring,,,550', '-4.25,end",,,548', "-4.00,good,,,550"]
    text = "\n".join(["sphere_D,note,cylinder_D,axis_deg,central_thickness_um", *rows]) + "\n"
    source.write_text(text.replace(",", sign))
    assert main(["series", str(source), str(tmp_path / "out.csv")]) == 2
    assert "line 3: note: read a quote that opens here and closes in line 4" in capsys.readouterr().err


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\n\n", "\x0b", "\u2028"])
@pytest.mark.parametrize("written", ["good", ""])
def test_a_text_that_ends_with_a_line_end_is_no_stray_quote(tmp_path, written, end):
    """As many programs write a text: with the line end that was typed last."""
    text = f'{HEAD},note\n-4.00,,,550,"{written}{end}"\n-4.25,,,550,next\n'
    (tmp_path / "in.csv").write_bytes(text.encode())
    assert main(["series", str(tmp_path / "in.csv"), str(tmp_path / "out.csv")]) == 0
    with (tmp_path / "out.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [unguard(row["note"]) for row in rows] == [f"{written}{end}", "next"]
    assert [row["status"] for row in rows] == ["ok", "ok"]
