"""The whole front door: whatever is put in the place of an argument, right figures come out or `EyeError`.

Source of the rule: a caller with a notebook passes what a table gave: any dtype, shape, masked, pandas, read-only.
"""

import dataclasses
import datetime
import decimal
import fractions
import json
import warnings

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays, scalar_dtypes

import tissue
from tissue import CapCut, Cornea, Errors, EyeError, FlapCut, Judgement, Pupil, Refraction, Treatment, compare, optics
from tissue.explore.tradeoffs import grid, seek, sweep
from tissue.eye.measured.own_map import OwnMap
from tissue.eye.measured.readings import Places, Sectors
from tissue.eye.measured.surface import measured_surface
from tissue.eye.reading import Reading
from tissue.followup.follow import follow
from tissue.followup.own import error_kinds, own_error
from tissue.mechanics import SLIDER, Choice, Setting, model, section_plan
from tissue.optics.sight.figures import sight_before, sight_of
from tissue.optics.sight.view import View
from tissue.report.contract import figures
from tissue.routes.enhancement import enhancement
from tissue.routes.rescue import rescue
from tissue.routes.reserve import reserves
from tissue.series.wrong import TableError

REFUSED = (EyeError, TableError)
PLAN = Refraction(-6.0, -1.25, 170.0)
ONE = compare(Cornea(548.0), Treatment(PLAN))
FLAP = ONE.results["flap"].option
VALUES = {"sphere_D": -6.0, "central_thickness_um": 548.0}
PLACES = np.arange(-4.0, 4.1, 1.0)
X_MM, Y_MM = (part.ravel() for part in np.meshgrid(PLACES, PLACES))
READ = Reading(90, "oct", thickness_um=462.0)


def frame(v):
    return pd.DataFrame({"sphere_D": v, "central_thickness_um": [548.0] * len(v)})


def plain(kind, **needed):
    """A constructor with every value it takes."""
    made = kind(**needed)
    return kind, needed | {one.name: getattr(made, one.name) for one in dataclasses.fields(kind) if one.init}


DOORS = {
    "Cornea": plain(Cornea, central_thickness_um=548.0),
    "Refraction": plain(Refraction, sphere_D=-6.0),
    "Treatment": plain(Treatment, refraction=PLAN),
    "FlapCut": plain(FlapCut),
    "CapCut": plain(CapCut),
    "Judgement": plain(Judgement),
    "Errors": plain(Errors),
    "Pupil": plain(Pupil),
    "View": plain(View),
    "Setting": plain(Setting),
    "OwnMap": plain(OwnMap),
    "Choice": (Choice, {"relationship": "reinstein2013", "law": "transverse", "shear_ratio": 47.0,
                        "shear_relationship": "petsche2012", "set": None}),
    "Reading": (Reading, {"days": 90, "method": "oct", "thickness_um": 460.0, "epithelium_um": 55.0, "cut_um": 110.0,
                          "bed_um": 300.0, "K_D": 40.0, "SE_D": -0.5, "sd_um": 2.0}),
    "compare": (compare, {"cornea": Cornea(548.0), "treatment": Treatment(PLAN), "measured": PLAN, "flap": FlapCut(),
                          "cap": CapCut(), "judgement": Judgement(), "errors": Errors(), "pupil": Pupil()}),
    "figures": (figures, {"result": ONE.under_flap}),
    "optics": (optics.optics, {"cornea": Cornea(548.0), "treatment": Treatment(PLAN), "option": FLAP,
                               "pupil": Pupil()}),
    "centred_at": (optics.centred_at, {"cornea": Cornea(548.0), "option": FLAP, "pupil": Pupil(), "x_mm": 0.5,
                                       "y_mm": 0.5}),
    "decentration": (optics.decentration, {"cornea": Cornea(548.0), "option": FLAP, "pupil": Pupil(),
                                           "shift_x_mm": 0.5, "shift_y_mm": 0.5}),
    "least_squares": (optics.least_squares, {"taken": FLAP.removal, "pupil": Pupil()}),
    "rotation_residual": (optics.rotation_residual, {"refraction": PLAN, "turn_deg": 4.0}),
    "residual_of": (optics.residual_of, {"measured": PLAN, "target_D": 0.5, "treated": Refraction(-6.0, -1.0, 10.0)}),
    "sight_of": (sight_of, {"cornea": Cornea(548.0), "taken": FLAP.removal, "pupil": Pupil(), "view": View()}),
    "sight_before": (sight_before, {"pupil": Pupil(), "view": View()}),
    "section_plan": (section_plan, {"comparison": ONE, "back": (6.5, -0.25)}),
    "model": (model, {"plan": section_plan(ONE), "setting": SLIDER, "flap_kept": 0.5}),
    "follow": (follow, {"comparison": ONE, "done": "lenticule", "readings": [READ], "before_by": "oct"}),
    "own_error": (own_error, {"values": np.linspace(-8.0, 8.0, 60), "patients": np.arange(60) // 2,
                              "kind": error_kinds()["cap"]}),
    "rescue": (rescue, {"comparison": ONE, "stage": "lenticule", "done": 0.5}),
    "enhancement": (enhancement, {"comparison": ONE, "residual": Refraction(-0.75), "ablation_blend_mm": 0.5,
                                  "lenticule_blend_mm": 0.25, "base_um": 15.0}),
    "reserves": (reserves, {"comparison": ONE, "ablation_blend_mm": 0.5}),
    "Places": (lambda **v: measured_surface(Places(**v)), {"x_mm": X_MM, "y_mm": Y_MM,
                                                           "value_um": 540.0 + 3.0 * (X_MM**2 + Y_MM**2)}),
    "Sectors": (lambda **v: measured_surface(Sectors(**v)), {
        "inner_mm": [0.0, 1.0], "outer_mm": [1.0, 3.0], "middle_deg": [0.0, 0.0], "width_deg": [360.0, 360.0],
        "value_um": [540.0, 560.0]}),
    "measured_surface": (measured_surface, {"readings": Places(X_MM, Y_MM, 540.0 + X_MM**2)}),
    "grid": (grid, {"values": VALUES, "option": "flap", "measure": "bed_min_um", "across": "zone_mm", "down": "cap_um",
                    "x": [6.0, 6.5], "y": [110.0, 120.0]}),
    "sweep": (sweep, {"values": VALUES, "measure": "bed_min_um", "field": "zone_mm", "x": [6.0, 6.5]}),
    "seek": (seek, {"values": VALUES, "option": "flap", "measure": "bed_central_um", "wanted": 300.0,
                    "field": "zone_mm"}),
    "series": (tissue.series, {"data": frame([-6.0, -4.0]), "mapping": {"sphere_D": "sphere_D"}, "optics": False}),
}  # fmt: skip
TAKEN = [(door, name) for door, (_, known) in DOORS.items() for name in known]


class NoArray:
    def __array__(self, *args, **more):
        raise RuntimeError("no array")


class NoSame:
    __hash__ = None

    def __eq__(self, other):
        raise ZeroDivisionError


STRANGE = [
    None, np.nan, np.inf, "x", "", b"5", "6", 1j, True, object(), NoArray(), NoSame(), {}, {"a": 1}, set(), [], [None],
    [[1, 2], [3]], [1, "a"], [None, 5.0], datetime.date(2026, 11, 29), np.datetime64("NaT"), np.timedelta64(3, "D"),
    pd.NaT, pd.NA, decimal.Decimal("6.5"), decimal.Decimal("sNaN"), fractions.Fraction(13, 2), 10**400, [10**400, 5],
    1e308, -1e308, 5e-324, np.longdouble(6.5), np.full((1,) * 20, 6.0), np.zeros((0, 3)), np.array([5, "a", None]),
    np.array([(1, 2.0)], dtype=[("a", int), ("b", float)]), np.ma.masked, np.ma.array(["a", "b"], mask=[0, 1]),
    pd.Series([5.0, 6.0], index=[1, 0]), pd.Series([5, None], dtype="Int64"), pd.Series([5, 6], dtype="category"),
    pd.Series(["a"], dtype="string"), pd.Series([True, None], dtype="boolean"), pd.DataFrame({"a": [5.0, 6.0]}),
    pd.DataFrame(), pd.Index([5.0, 6.0]), pd.interval_range(0, 2), pa.array([5.0, None]), pa.scalar(6.5),
    pa.chunked_array([[5.0, 6.0]]), pa.array([[1, 2], [3]]), pa.table({"a": [1]}), range(3), memoryview(b"12345678"),
    bytearray(b"ab"), len, int, Ellipsis, np, slice(1), Cornea(np.array([548.0, 520.0])), PLAN, ONE,
    Refraction(np.array([-6.0, -4.0, -2.0])), Treatment(Refraction(np.array([-6.0, -4.0]))),
    compare(Cornea(np.array([548.0, 520.0])), Treatment(PLAN)), Pupil(np.array([5.0, 6.0, 7.0])),
]  # fmt: skip
ANY_ARRAY = scalar_dtypes().flatmap(lambda kind: arrays(kind, array_shapes(min_dims=0, max_dims=4, max_side=4)))
ANYTHING = st.sampled_from(STRANGE) | ANY_ARRAY | st.floats() | st.integers() | st.text(max_size=8)


def held(call):
    """What a call gives; None where it is refused. Any other exception is a fault."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return call()
        except REFUSED as error:
            assert str(error)
    return None


@pytest.mark.parametrize(("door", "name"), TAKEN)
def test_every_strange_thing_gives_figures_or_is_refused(door, name):
    call, known = DOORS[door]
    for strange in STRANGE if door != "model" else STRANGE[::5]:
        held(lambda strange=strange: call(**known | {name: strange}))


@pytest.mark.parametrize("door", [door for door in DOORS if door not in ("model", "series", "seek", "grid", "sweep")])
@given(data=st.data())
@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
def test_anything_in_any_place_gives_figures_or_is_refused(door, data):
    call, known = DOORS[door]
    name = data.draw(st.sampled_from(sorted(known)))
    strange = data.draw(ANYTHING)
    held(lambda: call(**known | {name: strange}))


def numbers(made):
    """Every number in what a door gave, as text that is the same where every digit is."""

    def part(value):
        if isinstance(value, np.ndarray | np.generic):
            return np.asarray(value, dtype=str if value.dtype.kind in "USO" else None).ravel().tolist()
        if dataclasses.is_dataclass(value):
            return {one.name: part(getattr(value, one.name)) for one in dataclasses.fields(value)}
        if isinstance(value, dict):
            return {str(key): part(one) for key, one in value.items()}
        if isinstance(value, tuple | list):
            return [part(one) for one in value]
        return [value] if isinstance(value, float | int) else str(value) if isinstance(value, str) else None

    return json.dumps(part(made))


def read_only(v):
    found = v.copy()
    found.flags.writeable = False
    return found


DRESSES = {
    "list": list,
    "float32": lambda v: v.astype(np.float32),
    "the other byte order": lambda v: v.astype(v.dtype.newbyteorder()),
    "objects": lambda v: v.astype(object),
    "decimals": lambda v: np.array([decimal.Decimal(float(one)) for one in v]),
    "long": lambda v: v.astype(np.longdouble),
    "read-only": read_only,
    "every second": lambda v: np.repeat(v, 2)[::2],
    "backwards": lambda v: v[::-1].copy()[::-1],
    "masked, none of them": np.ma.array,
    "pandas": pd.Series,
    "pandas, may be missing": lambda v: pd.Series(v, dtype="Float64"),
    "arrow": pa.array,
    "pandas of arrow": lambda v: pd.Series(v, dtype=pd.ArrowDtype(pa.float64())),
    "sparse": pd.arrays.SparseArray,
}


COLUMNS = {
    ("Cornea", "central_thickness_um"): [548.0, 520.0], ("Cornea", "radius_mm"): [7.5, 8.0],
    ("Refraction", "sphere_D"): [-6.0, -3.5], ("Refraction", "axis_deg"): [170.0, 20.0],
    ("Treatment", "zone_mm"): [6.5, 6.0], ("FlapCut", "flap_um"): [100.0, 120.0], ("CapCut", "cap_um"): [110.0, 130.0],
    ("Judgement", "cap_credit"): [0.5, 1.0], ("Errors", "thickness_sd_um"): [4.0, 5.0],
    ("Pupil", "pupil_mm"): [5.0, 6.5],
    ("Reading", "thickness_um"): [460.0, 455.5], ("rotation_residual", "turn_deg"): [4.0, -8.0],
    ("centred_at", "x_mm"): [0.5, -0.25], ("decentration", "shift_y_mm"): [0.5, -0.25],
    ("residual_of", "target_D"): [0.5, -1.5], ("grid", "x"): [6.0, 6.5], ("sweep", "x"): [6.0, 6.5],
    ("Places", "value_um"): (540.0 + 3.0 * (X_MM**2 + Y_MM**2)).tolist(), ("Places", "x_mm"): X_MM.tolist(),
    ("own_error", "values"): (np.arange(60.0) / 4.0).tolist(),
}  # fmt: skip


@pytest.mark.parametrize("dress", DRESSES)
@pytest.mark.parametrize(("door", "name"), COLUMNS, ids=str)
def test_the_same_numbers_in_another_dress_give_the_same_figures(door, name, dress):
    """Every value is one that single precision holds: what it gives is the same to the last digit."""
    call, known = DOORS[door]
    column = np.array(COLUMNS[door, name])
    expected = numbers(call(**known | {name: column}))
    assert numbers(call(**known | {name: DRESSES[dress](column)})) == expected
    assert "[" in expected


def test_columns_that_do_not_go_together_are_named():
    two, three = np.array([548.0, 520.0]), Refraction(np.array([-6.0, -4.0, -2.0]))
    for wrong in (
        lambda: compare(Cornea(two), Treatment(three)),
        lambda: optics.residual_of(three, two, three),
        lambda: optics.centred_at(Cornea(two), FLAP, Pupil(), np.zeros(3), 0.0),
    ):
        with pytest.raises(
            EyeError, match="rows: read (2 and 3|3 and 2); accepted columns with as many rows as each other"
        ):
            wrong()


@pytest.mark.parametrize("door", ["sight_of", "section_plan", "enhancement"])
def test_where_one_eye_is_asked_for_a_column_says_so(door):
    call, known = DOORS[door]
    column = Cornea(np.array([548.0, 520.0]))
    many = known | ({"cornea": column} if "cornea" in known else {"comparison": compare(column, Treatment(PLAN))})
    with pytest.raises(EyeError, match="eyes: read 2; accepted one eye"):
        call(**many)


def test_what_was_passed_in_is_not_changed():
    thick, ball = np.array([548.0, 5480.0, 520.0]), np.array([-6.0, -6.0, -4.0])
    before = thick.tolist(), ball.tolist()
    compare(Cornea(thick), Treatment(Refraction(ball)))
    assert (thick.tolist(), ball.tolist()) == before
