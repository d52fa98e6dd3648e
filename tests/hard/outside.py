"""The tool against a second arithmetic written from the model alone: figures, spellings, refusals, notices, routes.

    python tests/hard/outside.py [eyes [first]]

Each seeded eye is written as a plan file in one of the spellings people use, given to `plan --json`, `rescue` at one
moment and `enhance`, and every figure is worked out again by tests/support/outside_model.py and outside_routes.py,
which share nothing with it. One eye in five is a mistake instead: exit 2, nothing printed, the field named. Prints
what differs and, at the end, how many figures, notices and routes were compared.
"""

import contextlib
import csv
import io
import json
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "support")]

from outside_eyes import STAGES, a_mistake, an_eye, lines_of  # noqa: E402
from outside_model import Plan, power_vector  # noqa: E402
from outside_routes import enhancement, notices, rescue  # noqa: E402

from tissue.__main__ import main  # noqa: E402

NEAR = {"um": 0.02, "percent": 0.02, "mm3": 0.002, "D": 0.001, "mm": 0.01, "s": 1e-6}
PARTS = ("refraction", "blend", "base")
RESIDUALS = ((-0.75, 0.0, 0.0), (-0.75, -0.25, 90.0), (0.5, 0.0, 0.0), (-1.5, -0.5, 10.0), (0.75, -1.25, 60.0))


def curves():
    """The 21 admissible curves: epithelium, then coefficients from the constant on."""
    with (ROOT / "tissue" / "data" / "admissible_curves.csv").open() as file:
        return [tuple(map(float, row)) for row in list(csv.reader(file))[1:]]


CURVES = curves()


def said(*arguments):
    """(exit, what was printed, what was said beside) of a command."""
    out, err = io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = main([str(one) for one in arguments])
        except SystemExit as end:
            code = end.code
    return code or 0, out.buffer.getvalue().decode(), err.getvalue()


class Tally:
    """Faults in words, and how much was compared."""

    def __init__(self):
        self.faults, self.counted = [], Counter()

    def same(self, where, got, wanted, name=""):
        """One figure beside the one worked out."""
        self.counted["figures"] += 1
        if wanted is None or got is None:
            if got is not wanted:
                self.faults.append(f"{where}: {got} for {wanted}")
            return
        near = NEAR.get((name or where).rsplit("_", 1)[-1], 0.02)
        if "_below_line_" in where or "altered_" in where and ("low" in where or "high" in where):
            near = 0.05
        if not abs(got - wanted) <= near:
            self.faults.append(f"{where}: {got:.4f} for {wanted:.4f}")


def refraction(tally, where, got, v):
    """Both cylinder forms and the power vector of what was read."""
    S, C, A = v["sphere_D"], v.get("cylinder_D", 0.0), v.get("axis_deg", 0.0)
    other = (S + C, -C, (A + 90.0) % 180.0)
    minus, plus = ((S, C, A), other) if C <= 0 else (other, (S, C, A))
    for form, found in ((minus, got), (plus, got["plus"])):
        tally.same(f"{where} sphere_D", found["sphere_D"], form[0])
        tally.same(f"{where} cylinder_D", found["cylinder_D"], form[1])
        tally.same(f"{where} axis_D", found["axis_deg"], (form[2] % 180.0 or 180.0) if C else None)
    for name, value in zip(("SE_D", "J0_D", "J45_D"), power_vector(S, C, A), strict=True):
        tally.same(f"{where} {name}", got[name], value)


def option(tally, where, got, wanted):
    """One option's figures."""
    if got["available"] != wanted["available"]:
        if wanted.get("certain", True):
            tally.faults.append(f"{where}: available {got['available']}, {got['why_not']}")
        return
    for name, value in wanted.items():
        if name in ("available", "certain", "off_centre", "taken", "cut_error"):
            continue
        if name in PARTS:
            tally.same(f"{where} {name}_um", got["removal_parts_um"][name], value)
        elif name.startswith("strength "):
            tally.same(f"{where} {name}_percent", got["strength_percent"][name[9:]], value)
        elif name == "far_mm":
            continue
        else:
            tally.same(f"{where} {name}", got[name], value)
    if not wanted["available"]:
        left = [n for n, v in got.items() if isinstance(v, float) and n not in ("cut_um", "cut_planned_um")]
        if left or not got["why_not"]:
            tally.faults.append(f"{where}: not available, with {left}")


def of_plan(tally, where, plan, file):
    """The plan and its notices; the options as worked out, None where the eye is refused alike."""
    code, out, err = said("plan", file, "--json")
    reason = refused(plan)
    if code or reason:
        if code != 2 or not reason or reason not in err or out:
            tally.faults.append(f"{where}: exit {code} {err.strip()}, {reason} by hand")
        tally.counted["refusals"] += 1
        return None
    eye = json.loads(out)["eyes"]["OD"]
    refraction(tally, f"{where} refraction", eye["refraction"], plan.v)
    corneal = sorted(plan.powers, reverse=True)
    for name, value in (("sphere", corneal[0]), ("cylinder", corneal[1] - corneal[0]), ("SE", sum(corneal) / 2)):
        tally.same(f"{where} corneal_{name}_D", eye["refraction"][f"corneal_{name}_D"], value)
    options = plan.options(CURVES)
    for name, wanted in options.items():
        option(tally, f"{where} {name}", eye["options"][name], wanted)
    found, near = notices(plan, options)
    got = {(one["id"], one["option"]) for one in eye["notices"]}
    tally.counted["notices"] += len(got | found)
    for one in sorted((got ^ found) - near, key=str):
        tally.faults.append(f"{where}: notice {one} {'not by hand' if one in got else 'missing'}")
    return options


def refused(plan):
    """The field that the model refuses of an eye whose values lie in their ranges; None where it takes it."""
    v = plan.v
    if v["zone_mm"] / 2.0 >= plan.surfaces.reach_mm():
        return "zone_mm"
    for name in ("flap_um", "flap_measured_um", "cap_um", "cap_measured_um"):
        if name in plan.given and v[name] <= v["epithelium_um"]:
            return name
    for name, base in (("reported_ablation_um", 0.0), ("reported_lenticule_um", plan.base)):
        if name in plan.given and (v[name] <= base or max(map(abs, plan.powers)) < 1e-9):
            return name
    return None


def route(tally, where, got, wanted):
    """One route's figures."""
    tally.counted["routes"] += 1
    if got["available"] != wanted["available"]:
        tally.faults.append(f"{where}: available {got['available']}, {got['why_not']}")
        return
    if not wanted["available"]:
        left = [n for n in ("bed_central_um", "bed_min_um", "altered_percent") if got[n] is not None]
        if left or not got["why_not"]:
            tally.faults.append(f"{where}: not available, with {left}")
    for name, value in wanted.items():
        if name == "available":
            continue
        if name.startswith("strength "):
            tally.same(f"{where} {name}_percent", got["strength_percent"][name[9:]], value)
        else:
            tally.same(f"{where} {name}", got[name], value)


def of_routes(tally, where, plan, file, rng):
    """Rescue at one moment, an enhancement."""
    stage, done = rng.choice(STAGES), round(rng.random() ** 2 if rng.random() < 0.3 else rng.random(), 3)
    code, out, err = said("rescue", file, "--eye", "OD", "--stage", stage, "--done", done, "--json")
    wanted, reached, seconds, thickest = rescue(plan, stage, done)
    if code:
        tally.faults.append(f"{where} rescue: {err.strip()}")
    else:
        found = json.loads(out)
        place = f"{where} {stage} {done}"
        tally.same(f"{place} cut_radius_mm", found["cut_radius_mm"], reached)
        tally.same(f"{place} seconds_s", found["seconds"], seconds)
        tally.same(f"{place} thickest_flap_um", found["thickest_flap_um"], thickest)
        _routes(tally, place, found["routes"], wanted)
        _order(tally, place, plan, stage, found)
    S, C, A = rng.choice(RESIDUALS)
    text = f"{S:+.2f}" + (f" {C:+.2f} x {A:g}" if C else "")
    code, out, err = said("enhance", file, "--eye", "OD", f"--residual={text}", "--json")
    wanted, reserve = enhancement(plan, S, C, A)
    if code:
        tally.faults.append(f"{where} enhance: {err.strip()}")
        return
    found = json.loads(out)
    if reserve is not None:
        tally.same(f"{where} reserve_um", found["reserve_um"], reserve)
    _routes(tally, f"{where} enhance {text}", found["routes"], wanted)


def _order(tally, where, plan, stage, found):
    """That the order of the cuts is told, and that nobody describes the ways of the one with the cap first."""
    cap_first = plan.v["cut_order"] == "cap-first"
    unknown = cap_first and stage != "incision"
    tally.counted["cap first"] += unknown
    told = found.get("cut_order", "lenticule-first") == plan.v["cut_order"]
    if not told or unknown != ("cut-order" in [one["id"] for one in found["notices"]]):
        tally.faults.append(f"{where}: order {found.get('cut_order')}, notices {found['notices']}")


def _routes(tally, where, got, wanted):
    ids = [one["id"] for one in got]
    if sorted(wanted) != sorted(ids):
        tally.faults.append(f"{where}: routes {ids}, by hand {list(wanted)}")
    for one in got:
        if one["id"] in wanted:
            route(tally, f"{where} {one['id']}", one, wanted[one["id"]])


def of_a_mistake(tally, number):
    """An eye with one mistake: it is refused by the name of its field, and nothing is printed."""
    lines, field = a_mistake(number)
    with plan_file(lines) as file:
        code, out, err = said("plan", file, "--json")
    tally.counted["mistakes"] += 1
    if code != 2 or out or field not in err or "OD" not in err or "Traceback" in err:
        tally.faults.append(f"mistake {number}: exit {code}, {field} not named: {err.strip()}")


def of_an_eye(tally, seed):
    """An eye, what it prints, a rescue and an enhancement."""
    plan = Plan(an_eye(seed))
    tally.counted["eyes"] += 1
    with plan_file(lines_of(plan.given, seed)) as file:
        if of_plan(tally, str(seed), plan, file) is not None:
            of_routes(tally, str(seed), plan, file, random.Random(seed + 7))


@contextlib.contextmanager
def plan_file(lines):
    """A plan file with the lines of a right eye."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "eye.toml"
        file.write_text("\n".join(["schema = 1", "[OD]", *lines]) + "\n", encoding="utf-8")
        yield file


def run(eyes, first=0):
    """The Tally of so many eyes; what differs is printed as it is found."""
    tally = Tally()
    for seed in range(first, first + eyes):
        before = len(tally.faults)
        if seed % 5 == 4:
            of_a_mistake(tally, seed // 5)
        else:
            of_an_eye(tally, seed)
        print(*tally.faults[before:], sep="\n", end="\n" * (len(tally.faults) > before), flush=True)
    return tally


if __name__ == "__main__":
    numbers = [int(one) for one in sys.argv[1:]]
    done = run(*(numbers or [625]))
    print(dict(done.counted), f"{len(done.faults)} differ")
    sys.exit(bool(done.faults))
