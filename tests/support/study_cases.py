"""A messy table of an invented clinic for studies: names of its own, millimetres, gaps, groups without a name."""

import csv

import numpy as np

from tissue.series.demo import demo_rows

MAP = """
central_thickness_um = {name = "Pachy mm", factor = 1000}
patient = "Record"
procedure = "Operation"
[outcomes]
UDVA_logMAR = {name = "UDVA", written = "20/x"}
achieved_SE_D = "SE after"
complication = "Events"
"""


def messy(eyes=120, seed=3):
    """Rows of an invented clinic's table: names of its own, mm for µm, gaps, groups without a name."""
    rng, lines = np.random.default_rng(seed), [line.split(",") for line in demo_rows(eyes, seed)]
    head = [{"central_thickness_um": "Pachy mm", "patient": "Record"}.get(name, name) for name in lines[0]]
    rows = [[*head, "Operation", "Cut OCT", "SE after", "UDVA", "Events", "age"]]
    for i, line in enumerate(lines[1:]):
        line[head.index("Pachy mm")] = f"{float(line[head.index('Pachy mm')]) / 1000:.3f}"
        operation = ["surface", "flap", "lenticule", ""][int(rng.choice(4, p=[0.3, 0.3, 0.35, 0.05]))]
        cut = f"{115 + 4 * rng.normal():.0f}" if operation in ("flap", "lenticule") and rng.random() < 0.9 else ""
        after = f"{0.3 * rng.normal():+.2f}" if rng.random() < 0.9 else ""
        sight, event = ["20/16", "20/20", "20/25"][int(rng.integers(3))], "haze" if rng.random() < 0.05 else ""
        rows.append([*line, operation, cut, after, sight, event, str(18 + i // 2 % 30)])
    return rows


def written(folder, rows, map_text=MAP):
    """The table and its map in a folder."""
    with open(folder / "eyes.csv", "w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    (folder / "map.toml").write_text(map_text)
    return folder / "eyes.csv"
