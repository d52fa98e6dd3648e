"""How a Parquet table goes out: in groups of rows that are few."""

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

from tissue.series.run import run


def test_parquet_goes_out_in_few_groups_of_rows(tmp_path):
    """What a writer keeps of every group it keeps until the end, so small groups make memory grow with the rows."""
    source, target = tmp_path / "in.parquet", tmp_path / "out.parquet"
    numbers = {"sphere_D": np.linspace(-9.0, -1.0, 70_000), "central_thickness_um": np.full(70_000, 550.0)}
    pq.write_table(pa.table(numbers), source)
    assert run(source, target).rows == 70_000
    groups = pq.ParquetFile(target).metadata
    sizes = [groups.row_group(i).num_rows for i in range(groups.num_row_groups)]
    assert len(sizes) <= 2 and sizes[0] >= 48_000
    assert pq.read_table(target, columns=["sphere_D"]).column(0).to_pylist() == numbers["sphere_D"].tolist()
