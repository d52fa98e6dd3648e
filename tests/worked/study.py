# %% [markdown]
# # A study
# From a messy table to agreement of planned with measured, a comparison, and the folder that a paper needs.

# %%
import csv
import json
import tempfile
from pathlib import Path

import numpy as np

from tissue.command.command import main
from tissue.series.demo import demo_rows
from tissue.series.study.agreement import agreement

folder = Path(tempfile.mkdtemp())
rng = np.random.default_rng(7)
lines = [line.split(",") for line in demo_rows(200)]
rows = [[*lines[0], "Operation", "Cap OCT"]]
for line in lines[1:]:
    operation = str(rng.choice(["flap", "lenticule"]))
    rows.append([*line, operation, f"{118.0 + 5.0 * rng.normal():.0f}" if operation == "lenticule" else ""])
with open(folder / "eyes.csv", "w", newline="", encoding="utf-8") as file:
    csv.writer(file).writerows(rows)
(folder / "map.toml").write_text('procedure = "Operation"\n', encoding="utf-8")

# %% [markdown]
# One command: figures, groups, agreement, comparison, and everything in one folder.

# %%
code = main(
    ["series", str(folder / "eyes.csv"), str(folder / "out.csv"), "--columns", str(folder / "map.toml")]
    + ["--by", "Operation", "--agree", "own_cut_planned_um:Cap OCT", "--compare", "own_bed_min_um"]
    + ["--bundle", str(folder / "bundle")]
)
assert code == 0
print(*sorted(path.name for path in (folder / "bundle").iterdir()), sep="\n")

# %% [markdown]
# The paragraph for the methods, and what the manifest keeps.

# %%
print((folder / "bundle" / "methods.txt").read_text("utf-8")[:400], "…")
manifest = json.loads((folder / "bundle" / "manifest.json").read_text("utf-8"))
print(manifest["rows"], manifest["refused"], manifest["settings"])

# %% [markdown]
# The same from Python: the function that the command and the screen use.

# %%
cap = [(120.0, float(row[-1]), row[0]) for row in rows[1:] if row[-1]]
planned, measured, patients = zip(*cap, strict=True)
found = agreement(planned, measured, patients)
print(f"{found.eyes} eyes: bias {found.bias:.2f} ({found.bias_low:.2f} to {found.bias_high:.2f}) µm")
with open(folder / "bundle" / "agreement.csv", encoding="utf-8", newline="") as file:
    written = {row["group"]: row for row in csv.DictReader(file)}
assert abs(float(written["lenticule"]["bias"]) - found.bias) < 1e-9
