"""The options of `tissue mechanics`: what they ask for, and one line for what cannot be."""

import pytest
from helpers import ROOT

from tissue.command import main

PLAN = str(next((ROOT / "demo_profiles").glob("harbour-03*")))


def said(capfd, *options):
    """Exit code and what stood on standard error."""
    code = main(["mechanics", PLAN, "--eye", "OD", *options])
    return code, capfd.readouterr()


@pytest.mark.parametrize(
    ("field", "options"),
    [
        ("law", ("--law", "orthotropic")),
        ("relationship", ("--relationship", "nambiar")),
        ("shear_ratio", ("--law", "transverse", "--shear-ratio", "2.9")),
        ("shear_ratio", ("--law", "transverse", "--shear-ratio", "nan")),
        ("shear_ratio", ("--law", "transverse", "--shear-ratio", "stiff")),
        ("shear_ratio", ("--shear-ratio", "47")),
        ("shear_relationship", ("--law", "transverse", "--shear-relationship", "dias2013")),
        ("shear_relationship", ("--shear-relationship", "same")),
        ("pressure_mmHg", ("--pressure", "0.4")),
        ("pressure_mmHg", ("--pressure", "inf")),
    ],
)
def test_what_cannot_be_is_one_line(capfd, field, options):
    code, out = said(capfd, *options)
    assert code == 2 and out.out == ""
    assert out.err.startswith(f"mechanics: {field}: read ") and ", accepted " in out.err
    assert out.err.count("\n") == 1


def test_the_options_reach_the_figures(capfd):
    code, out = said(capfd, "--law", "transverse", "--shear-ratio", "100", "--pressure", "20", "--no-spread")
    assert code == 0
    assert "law transverse   shear_ratio 100   shear_relationship petsche2012" in out.out and "20 mmHg" in out.out
