"""`tissue letter` as a process of its own. Source: the interface of the command (exit codes, limits, faults)."""

import json

import pytest
from helpers import tissue

LETTER = "OD -4.50 -1.25 x 12\nOS -4.75 1.00 x 170\nCCT OD 548 µm\nKeratoconus in the family\n"


def run(tmp_path, data, *more):
    file = tmp_path / "letter.txt"
    file.write_bytes(data)
    return tissue("letter", file, *more)


def test_json_is_strict_and_whole(tmp_path):
    done = run(tmp_path, LETTER.encode(), "--json")
    letter = json.loads(done.stdout)
    assert done.returncode == 0 and list(letter) == ["schema", "eyes", "asks", "unused", "matters"]
    assert letter["eyes"]["OD"]["central_thickness_um"] == {
        "value": 548.0, "text": "548 µm", "line": 3, "start": 7, "end": 13, "also": []
    }  # fmt: skip
    assert [(ask["eye"], ask["field"], ask["why"]) for ask in letter["asks"]] == [("OS", "refraction", "sign")]
    assert letter["matters"] == [{"line": 4, "text": "Keratoconus in the family", "what": "cornea"}]


def test_the_text_says_what_was_read_asked_and_not_used(tmp_path):
    text = run(tmp_path, LETTER.encode() + b"age 31\n").stdout.decode()
    for words in ("OD (right eye)", "−4.50", "line 3: 548 µm", "plus or minus?", "cornea", "line 5: 31", "your own"):
        assert words in text


@pytest.mark.parametrize("data", [b"", b"\n", b"no numbers here", "\ufeffOD -4.50 DS".encode()])
def test_little_or_nothing_is_no_fault(tmp_path, data):
    assert run(tmp_path, data).returncode == 0


@pytest.mark.parametrize("data", [b"OD \xff", b"OD \0", b"x" * 20_001, "OD −4.50".encode("utf-16")])
def test_what_is_no_letter_is_refused_in_one_line(tmp_path, data):
    done = run(tmp_path, data)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.decode().count("\n") == 1 and "accepted UTF-8 text up to 20,000 bytes" in done.stderr.decode()


def test_twenty_thousand_bytes_are_read(tmp_path):
    assert run(tmp_path, b"OD -4.50 DS\n" * 1666).returncode == 0


def test_no_file(tmp_path):
    assert tissue("letter", tmp_path / "none.txt").returncode == 2
