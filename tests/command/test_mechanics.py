"""The options of `tissue mechanics`: what they ask for, and one line for what cannot be."""

import json

import pytest
from helpers import ROOT

from tissue.command.command import main

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
        ("three_d", ("--law", "fibre", "--three-d")),
        ("mesh", ("--three-d", "--mesh", "finest")),
        ("mesh", ("--mesh", "fine")),
        ("states", ("--three-d", "--states", "surface,cap")),
        ("states", ("--states", "flap")),
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


def test_three_dimensions_are_there_only_when_asked_for(capfd):
    _, out = said(capfd, "--json", "--no-spread")
    assert "three_d" not in json.loads(out.out)
    _, out = said(capfd, "--json", "--no-spread", "--three-d", "--mesh", "coarse", "--states", "surface, flap")
    found = json.loads(out.out)["three_d"]
    assert set(found) == {"mesh", "law", "unknowns", "reaction_ratio", "centre_mm", "thinnest_mm", "states"}
    assert (found["mesh"], found["law"]) == ("coarse", "isotropic") and set(found["states"]) == {"surface", "flap"}
    flap = found["states"]["flap"]
    place = {"bed_stress_ratio", "bed_strain_ratio"}
    assert set(flap) == {"why_not", "centre", "thinnest", "worst", "map"} and flap["why_not"] is None
    assert set(flap["centre"]) == set(flap["thinnest"]) == place
    assert set(flap["worst"]) == place | {"x_mm", "y_mm", "strain_x_mm", "strain_y_mm"}
    assert set(flap["map"]) == place | {"x_mm", "y_mm"}
    x, rows = flap["map"]["x_mm"], flap["map"]["bed_stress_ratio"]
    assert x == flap["map"]["y_mm"] and x[0] == -4.0 and x[1] == -3.75 and len(rows) == len(rows[0]) == 33
    assert rows[0][0] is None and rows[16][16] > 1.0
    _, out = said(capfd, "--no-spread", "--three-d", "--mesh", "coarse", "--states", "surface")
    assert "coarse mesh" in out.out and "thinnest point" in out.out and "surface ablation" in out.out
