"""The follow-up in print: a page an eye behind the record, its numbers those of the follow-up, own errors marked."""

import io
import re

import pytest
from pypdf import PdfReader

from tissue.command.command import main
from tissue.command.loading import load_plan
from tissue.report.followup.follow_json import followed
from tissue.screens.desk.state import demo_files

FOLLOWED = {name: path for name, path in demo_files().items() if "followed" in name}


def pages(plan, folder):
    target = folder / "page.pdf"
    assert main(["record", str(plan), str(target)]) == 0
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(target.read_bytes())).pages]


def test_three_invented_eyes_were_seen_again():
    assert len(FOLLOWED) == 3


@pytest.mark.parametrize("path", FOLLOWED.values(), ids=list(FOLLOWED))
def test_the_page_holds_the_follow_up(path, tmp_path):
    plan, eyes = load_plan(path)
    found, wrong = followed(plan.readings, eyes)
    (side, laid), text = next(iter(found.items())), pages(path, tmp_path)[-1]
    assert not wrong and "Follow-up" in text and f"{side} (" in text and laid.found.done.option.title in text
    for strips in laid.strips:
        for one in filter(None, strips.values()):
            assert f"{one.series} series" in text
    for ledger in filter(None, laid.found.ledgers):
        assert f"= measured {ledger.measured_um:.0f}." in text
    assert "It says where a reading lies, not why." in text and "fit for surgery" in text
    assert text.count("95 of 100 published readings of this kind") >= 1


def test_a_plan_without_readings_prints_as_before(tmp_path):
    text = pages(demo_files()["harbour-03_moderate_myopia"], tmp_path)
    assert not any("Follow-up" in page for page in text)


def test_many_readings_go_on_on_the_next_page(tmp_path):
    head = 'schema = 1\n[OD]\nrefraction = "-5.00"\ncentral_thickness_um = 548\ndone = "lenticule"\n'
    one = '[[OD.reading]]\ndays = {}\nmethod = "oct"\nthickness_um = 460\nepithelium_um = 57\nK_D = 39\nbed_um = 330\n'
    plan = tmp_path / "plan.toml"
    plan.write_text(head + "".join(one.format(30 * i) for i in range(1, 21)), "utf-8")
    text = pages(plan, tmp_path)
    assert sum("Follow-up" in page for page in text) > 1 and "Follow-up, continued" in text[-1]
    head = re.search(r"\S+ input [0-9a-f ]{14}", text[0]).group()
    assert all(head in page for page in text) and all("no code given" in page for page in text)
    assert all(any(f"Day {30 * i}," in page for page in text) for i in range(1, 21))


def test_own_errors_have_their_mark(tmp_path):
    own = 'schema = 1\nkind = "own errors"\nsource = "own series, 84 eyes"\n[errors]\ncap_sd_um = 3.1\n'
    (tmp_path / "own.toml").write_text(own, "utf-8")
    plan = tmp_path / "plan.toml"
    plan.write_text(
        'schema = 1\nerrors_from = "own.toml"\n[OD]\nrefraction = "-5.00"\ncentral_thickness_um = 548\n'
        'cap_bias_um = 1\ndone = "lenticule"\n[[OD.reading]]\ndays = 30\nmethod = "oct"\nthickness_um = 460\n',
        "utf-8",
    )
    first, *_, last = pages(plan, tmp_path)
    assert "cap 1 ± 3.1°" in first and "° Own errors: own series, 84 eyes." in first and "flap 4* ± 5*" in first
    assert "The errors of the plan are own ones: own series, 84 eyes." in last
