"""One plan through screen, command, series and record, equal as printed; `hard/four_ways.py` takes a thousand.

The outside of each way are the other three: HTML is parsed, the PDF read by pypdf, CSV by the csv module.
"""

import csv
import random

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from four_ways_cases import differences, read_series, write_series
from four_ways_plans import SLIPS, plan_file, typed

from tissue.command.command import main
from tissue.series.run import run


@pytest.fixture(scope="module")
def worked(tmp_path_factory):
    """The plans, the series of all of them, and a folder; the last plans have one slip each."""
    folder, r = tmp_path_factory.mktemp("ways"), random.Random(40)
    sound = {"sphere_D": "-6.00", "central_thickness_um": "548"}
    plans = [typed(r) for _ in range(40)] + [{"OD": sound | slip} for slip in SLIPS]
    write_series(folder / "in.csv", plans)
    assert main(["series", str(folder / "in.csv"), str(folder / "out.csv"), "--optics"]) == 0
    return plans, read_series(folder / "out.csv"), folder


@pytest.mark.parametrize("number", range(40 + len(SLIPS)))
def test_four_ways_say_the_same(worked, number):
    plans, rows, folder = worked
    eyes, code = plans[number], f"harbour-{number}"
    text = plan_file(random.Random(number), code, eyes)
    assert differences(folder, number, eyes, code, text, rows) == []
    if number >= 40:
        assert rows[number, "OD"]["status"] == "refused"


def test_a_difference_is_found(worked):
    """The comparison itself: a figure of the series changed in its last printed digit is told, and which."""
    plans, rows, folder = worked
    number = next(number for number in range(40) if all(rows[number, side]["status"] == "ok" for side in plans[number]))
    side = next(iter(plans[number]))
    value = float(rows[number, side]["flap_bed_min_um"])
    changed = {**rows, (number, side): rows[number, side] | {"flap_bed_min_um": f"{value + 0.1:.1f}"}}
    eyes, code = plans[number], f"harbour-{number}"
    (said,) = differences(folder, number, eyes, code, plan_file(random.Random(1), code, eyes), changed)
    assert said.startswith(f"{side}: flap_bed_min_um: command {value:.1f}")


@pytest.mark.parametrize(
    "order", ["refraction,sphere_D,cylinder_D,axis_deg", "sphere_D,cylinder_D,axis_deg,refraction"]
)
def test_a_table_may_hold_both_spellings_of_a_refraction(order, tmp_path):
    """Row by row one of them, as in a plan file: equal figures; a row with both is refused as a plan is."""
    cells = {"refraction": ["-6.00 -1.25 x 170", "", "-6.00 -1.25 x 170", ""], "sphere_D": ["", "-6.00", "-6.00", ""]}
    cells |= {"cylinder_D": ["", "-1.25", "", ""], "axis_deg": ["", "170", "", ""]}
    names = order.split(",")
    lines = [",".join([*names, "central_thickness_um"])]
    lines += [",".join([*(cells[name][row] for name in names), "548"]) for row in range(4)]
    (tmp_path / "in.csv").write_text("\n".join(lines) + "\n")
    run(tmp_path / "in.csv", tmp_path / "out.csv")
    with open(tmp_path / "out.csv", newline="") as file:
        head, *rows = csv.reader(file)
    first = head.index("surface_available")
    assert [row[-2] for row in rows] == ["ok", "ok", "refused", "refused"] and rows[0][first:] == rows[1][first:]
    assert rows[2][-1] == "line 4: sphere_D: read a value, accepted either this or refraction, not both"
    assert rows[3][-1].startswith("line 5: sphere_D: read nothing")


def test_a_parquet_table_may_hold_both_spellings(tmp_path):
    table = {"refraction": ["-6.00 -1.25 x 170", None, "-6.00"], "sphere_D": [np.nan, -6.0, -6.0]}
    table |= {"cylinder_D": [None, -1.25, None], "axis_deg": [None, 170, None], "central_thickness_um": [548.0] * 3}
    for names in (list(table), list(reversed(table))):
        pq.write_table(pa.table({name: table[name] for name in names}), tmp_path / "in.parquet")
        run(tmp_path / "in.parquet", tmp_path / "out.parquet")
        found = pq.read_table(tmp_path / "out.parquet")
        assert found.column("status").to_pylist() == ["ok", "ok", "refused"]
        beds = found.column("flap_bed_min_um").to_pylist()
        assert beds[0] == beds[1] is not None and "not both" in found.column("reason")[2].as_py()
