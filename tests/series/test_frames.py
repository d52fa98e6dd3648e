"""A series in a notebook: the figures are those of the file, the index and the columns those that were given."""

import subprocess
import sys

import numpy as np
import pyarrow as pa
import pytest
from helpers import comparison_of

import tissue
from tissue import Cornea, Refraction, Treatment, compare
from tissue.series.names import figure_names
from tissue.series.wrong import TableError

pd = pytest.importorskip("pandas")


def eyes():
    return pd.DataFrame(
        {
            "sphere_D": [-4.0, -6.25, 2.0],
            "central_thickness_um": [548, 530, 999],
            "OZ": [6.5, 6.2, 6.5],
            "note": ["a", None, "=1+1"],
        },
        index=pd.Index(["x", "y", "z"], name="eye"),
    )


def test_a_frame_keeps_its_index_and_its_columns():
    given = eyes()
    found = tissue.series(given, mapping={"zone_mm": "OZ"})
    assert list(found.index) == ["x", "y", "z"] and found.index.name == "eye"
    pd.testing.assert_frame_equal(found[list(given.columns)], given)
    assert list(found.columns) == [*given.columns, *figure_names(), "status", "reason"]
    assert found["status"].tolist() == ["ok", "ok", "refused"] and "999" in found["reason"]["z"]
    one = comparison_of(sphere_D=-6.25, central_thickness_um=530.0, zone_mm=6.2)
    assert found.loc["y", "flap_bed_min_um"] == pytest.approx(float(one.results["flap"].budget.bed_min_um), rel=1e-12)


def test_a_table_of_arrow_comes_back_as_one():
    table = pa.table({"sphere_D": [-4.0], "central_thickness_um": [548]})
    found = tissue.series(table)
    assert isinstance(found, pa.Table) and found.column("status").to_pylist() == ["ok"]


def test_mixed_values_are_read_as_texts():
    found = tissue.series(
        pd.DataFrame({"sphere_D": ["-4.00", -5.0, "4.00"], "central_thickness_um": ["0.548", 550, 550]})
    )
    assert found["status"].tolist() == ["ok", "ok", "refused"] and "without a sign" in found["reason"][2]


@pytest.mark.parametrize("wrong", [[1, 2], {"sphere_D": [-4.0]}, "eyes.csv"])
def test_what_is_no_table_is_refused(wrong):
    with pytest.raises(TableError, match="accepted a pandas DataFrame or a pyarrow Table"):
        tissue.series(wrong)


def test_a_comparison_as_a_frame_has_the_names_of_a_series():
    plan = compare(Cornea(np.array([548.0, 500.0])), Treatment(Refraction(np.array([-6.0, -3.0]))))
    found = plan.to_frame(index=["first", "second"])
    assert list(found.columns) == list(figure_names()) and list(found.index) == ["first", "second"]
    assert found.loc["second", "flap_bed_min_um"] == plan.results["flap"].budget.bed_min_um[1]
    assert len(compare(Cornea(548.0), Treatment(Refraction(-6.0))).to_frame()) == 1


def test_a_comparison_prints_a_small_table():
    one = compare(Cornea(548.0), Treatment(Refraction(-6.0)))
    lines = repr(one).splitlines()
    assert len(lines) == 4 and lines[0].startswith("one eye") and max(map(len, lines)) <= 100
    assert f"{float(one.results['flap'].budget.bed_central_um):.1f}" in lines[2]
    assert repr(compare(Cornea(np.full(5, 548.0)), Treatment(Refraction(-6.0)))).startswith("5 eyes, medians")


def test_the_front_door_waits_for_no_table_library():
    """Import of `tissue` loads neither pandas nor pyarrow. Source: DEVELOPERS.md."""
    asked = "import sys, tissue; print(sorted({'pandas', 'pyarrow', 'scipy.stats'} & set(sys.modules)))"
    loaded = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout
    assert loaded.strip() == "[]"
