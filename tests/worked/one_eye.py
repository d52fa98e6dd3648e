# %% [markdown]
# # One eye
# An invented eye of a harbour-town clinic: what three ways to one correction take and leave.

# %%
from tissue import CapCut, Cornea, EyeError, Judgement, Refraction, Treatment, compare

eye = Cornea(central_thickness_um=548.0, thinnest_um=543.0, thinnest_x_mm=-0.6, thinnest_y_mm=-0.5)
plan = compare(eye, Treatment(Refraction(-6.0, -1.25, 170.0)))
print(plan)

# %% [markdown]
# Every figure has a name; the name carries its unit.

# %%
lenticule = plan.results["lenticule"]
print(lenticule.budget.bed_min_um, lenticule.strength.strength_percent["reinstein2013"])

# %% [markdown]
# Another cap, and a line of one's own under which the chance of a bed is wanted.

# %%
deeper = compare(eye, plan.treatment, cap=CapCut(140.0), judgement=Judgement(bed_line_um=280.0))
cost = lenticule.budget.bed_central_um - deeper.results["lenticule"].budget.bed_central_um
print(f"20 µm of cap cost {cost:.1f} µm of bed")
assert abs(cost - 20.0) < 1e-9  # what lies above is not below

# %% [markdown]
# What no eye can have is refused, with its name and limit.

# %%
try:
    compare(eye, Treatment(Refraction(20.0, 12.0, 90.0), zone_mm=9.0))
except EyeError as error:
    print(error)
    assert error.field == "zone_mm"
else:
    raise AssertionError("a zone that no surface fills was taken")
