# %% [markdown]
# # Many eyes
# A DataFrame in, the same DataFrame with every figure out; then the same arithmetic on arrays.

# %%
import numpy as np
import pandas as pd

import tissue
from tissue import Cornea, Refraction, Treatment, compare

rng = np.random.default_rng(2013)
eyes = pd.DataFrame(
    {
        "sphere_D": -rng.gamma(4.0, 1.0, 500).round(2),
        "central_thickness_um": rng.normal(545.0, 33.0, 500).round(),
        "OZ": rng.choice([6.2, 6.5, 6.8], 500),
    },
    index=[f"harbour-{i:03d}" for i in range(500)],
)
found = tissue.series(eyes, mapping={"zone_mm": "OZ"})
print(found["status"].value_counts())

# %% [markdown]
# By zone, and the rows that were refused with their reasons.

# %%
print(found.groupby("OZ")[["flap_removal_central_um", "flap_bed_min_um"]].mean().round(1))
print(found.loc[found["status"] == "refused", "reason"].head())
assert found.groupby("OZ")["flap_um_per_D"].mean().is_monotonic_increasing  # a wider zone goes deeper a dioptre

# %% [markdown]
# The arithmetic itself takes arrays: one call, a column of eyes.

# %%
good = found[found["status"] == "ok"]
plan = compare(
    Cornea(good["central_thickness_um"].to_numpy()),
    Treatment(Refraction(good["sphere_D"].to_numpy()), zone_mm=good["OZ"].to_numpy()),
)
frame = plan.to_frame(index=good.index)
assert np.allclose(frame["flap_bed_min_um"], good["flap_bed_min_um"], equal_nan=True, rtol=1e-12)
print(plan)
