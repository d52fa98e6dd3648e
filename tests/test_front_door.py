"""The front door refuses: a value that no eye can have never gives a figure, alone or in a column."""

import dataclasses
import datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import tissue
from tissue import CapCut, Cornea, Errors, EyeError, FlapCut, Judgement, Pupil, Refraction, Treatment, compare
from tissue.entry.fields import fields
from tissue.eye.reading import Reading
from tissue.ground.limits import RANGES
from tissue.mechanics import Setting
from tissue.mechanics.laws.fibre import Fibre
from tissue.mechanics.shape import RANGES as SETTING_RANGES
from tissue.mechanics.shape import EyeShape, thickness_law

EYE, PLAN = Cornea(550.0), Refraction(-6.0, -1.0, 20.0)
MADE = {
    Cornea: lambda **v: Cornea(**{"central_thickness_um": 550.0} | v),
    Refraction: lambda **v: Refraction(**{"sphere_D": -6.0} | v),
    Treatment: lambda **v: Treatment(**{"refraction": PLAN} | v),
    FlapCut: FlapCut,
    CapCut: CapCut,
    Judgement: Judgement,
    Errors: Errors,
    Pupil: Pupil,
    Setting: Setting,
}
NOT_GIVEN_FROM_OUTSIDE = {"Budget", "Comparison", "EyeError", "Option", "Result"}  # what the arithmetic makes


def names_of(kind):
    """The numbers of a constructor."""
    known = SETTING_RANGES if kind is Setting else RANGES
    return [one.name for one in dataclasses.fields(kind) if one.init and one.name in known]


NUMBERS = [(kind, name) for kind in MADE for name in names_of(kind)]
COLUMNS = [pair for pair in NUMBERS if pair[0] is not Setting]


def range_of(kind, name):
    return SETTING_RANGES[name] if kind is Setting else RANGES[name]


def outside(kind, name):
    """Numbers outside the range, infinity among them."""
    low, high = range_of(kind, name)
    apart = max(1e-6, abs(low) * 1e-6), max(1e-6, abs(high) * 1e-6)
    below = st.floats(max_value=low - apart[0], allow_nan=False)
    return below | st.floats(min_value=high + apart[1], allow_nan=False)


def plan_with(kind, made):
    """A Comparison of which one part is the object made."""
    parts = {"cornea": EYE, "treatment": Treatment(PLAN)}
    names = {Cornea: "cornea", Treatment: "treatment", FlapCut: "flap", CapCut: "cap", Judgement: "judgement"}
    names |= {Errors: "errors", Pupil: "pupil"}
    parts |= {"treatment": Treatment(made)} if kind is Refraction else {names[kind]: made}
    return compare(**parts)


def figures(comparison):
    return {
        f"{way}.{one.name}": getattr(part, one.name)
        for way, result in comparison.results.items()
        for part in (result.budget, result.spread)
        for one in dataclasses.fields(part)
        if not one.name.startswith("cut_")
    }


def test_every_public_constructor_is_tried():
    public = {name for name in tissue.__all__ if isinstance(getattr(tissue, name), type)}
    assert public - NOT_GIVEN_FROM_OUTSIDE == {kind.__name__ for kind in MADE} - {"Setting"}
    plain = [
        (kind.__name__, one.name)
        for kind in MADE
        for one in dataclasses.fields(kind)
        if one.init and (kind, one.name) not in NUMBERS
    ]
    words = {"refraction", "profile", "relationship", "boundary", "own_map", "cut_order"}
    assert {name for _, name in plain} == words


@pytest.mark.parametrize(("kind", "name"), NUMBERS, ids=lambda part: getattr(part, "__name__", part))
@given(data=st.data())
@settings(max_examples=25, deadline=None)
def test_a_value_outside_its_range_is_refused_by_name(kind, name, data):
    value = data.draw(outside(kind, name))
    with pytest.raises(EyeError) as found:
        MADE[kind](**{name: value})
    assert found.value.field == name and found.value.limit and f"{value:g}" in str(found.value)


@pytest.mark.parametrize(("kind", "name"), COLUMNS, ids=lambda part: getattr(part, "__name__", part))
@given(data=st.data())
@settings(max_examples=6, deadline=None)
def test_in_a_column_the_row_has_no_figure_and_says_why_and_the_others_keep_every_digit(kind, name, data):
    low, high = fields()[name].low, fields()[name].high
    default = fields()[name].default
    sound = default if default is not None else min(max(low, 110.0), high) if name.endswith("_um") else low
    sound = {"central_thickness_um": 550.0, "thinnest_um": 540.0, "sphere_D": -6.0}.get(name, sound)
    sound = {"cap_diameter_mm": 8.0, "target_asphericity": -0.2, "ablation_blend_mm": 0.5}.get(name, sound)
    bad = data.draw(outside(kind, name))
    column = plan_with(kind, MADE[kind](**{name: np.array([sound, bad, sound])}))
    alone = figures(plan_with(kind, MADE[kind](**{name: np.array([sound, sound])})))
    for result in column.results.values():
        assert result.why_not[1].startswith(f"{name}: read ") and "accepted" in result.why_not[1]
        assert not np.broadcast_to(result.available, (3,))[1]
    for key, value in figures(column).items():
        value = np.broadcast_to(value, (3,))
        assert np.isnan(value[1]), key
        np.testing.assert_array_equal(value[[0, 2]], np.broadcast_to(alone[key], (2,)), key)


def test_slips_that_were_let_in():
    """Each gave figures: a credit of 2.5, an epithelium of 600, a flap of 30, a thickness of 5480 or 0.548."""
    for make, field in (
        (lambda: Judgement(cap_credit=2.5), "cap_credit"),
        (lambda: Cornea(650.0, epithelium_um=600.0), "epithelium_um"),
        (lambda: FlapCut(30.0), "flap_um"),
        (lambda: Cornea(5480.0), "central_thickness_um"),
        (lambda: Judgement(relationship="nope"), "relationship"),
        (lambda: Setting(poisson=0.6), "poisson"),
        (lambda: Treatment(PLAN, zone_mm=-1.0), "zone_mm"),
        (lambda: Cornea(550.0, radius_mm=-5.0), "radius_mm"),
    ):
        with pytest.raises(EyeError) as found:
            make()
        assert found.value.field == field
    with pytest.raises(EyeError, match="in µm"):
        Cornea(0.548)
    with pytest.raises(EyeError, match="in mm"):
        Treatment(PLAN, zone_mm=6500.0)


def test_the_ranges_hold_those_of_the_plan_file():
    """What a plan may say is never refused by the arithmetic."""
    inside = [name for name in RANGES if name in fields()]
    assert len(inside) > 40
    for name in inside:
        low, high = RANGES[name]
        assert low <= fields()[name].low and fields()[name].high <= high, name


@pytest.mark.parametrize(
    "value",
    [
        np.datetime64("2026-11-25"),
        datetime.datetime(2026, 11, 25),
        np.array(["2026-11-25", "2026-11-26"], dtype="datetime64[D]"),
        np.timedelta64(5, "D"),
        "548",
        b"548",
        548.0 + 1.0j,
        ["548", "550"],
        pd.Series(pd.to_datetime(["2026-11-25"])),
        object(),
    ],
    ids=str,
)
def test_what_is_no_number_is_refused(value):
    with pytest.raises(EyeError, match="central_thickness_um.*a number"):
        Cornea(value)
    with pytest.raises(EyeError):
        Refraction(value)


def test_a_mask_is_kept_and_rows_are_not_matched_by_their_order():
    masked = np.ma.masked_equal([550.0, 999.0, 540.0], 999.0)
    bed = compare(Cornea(masked), Treatment(PLAN)).results["flap"].budget.bed_central_um
    whole = compare(Cornea(np.array([550.0, np.nan, 540.0])), Treatment(PLAN)).results["flap"].budget.bed_central_um
    np.testing.assert_array_equal(bed, whole)
    assert np.isnan(bed[1])
    ordered = pd.Series([550.0, 540.0])
    np.testing.assert_array_equal(Cornea(ordered).central_thickness_um, [550.0, 540.0])
    with pytest.raises(EyeError, match="rows in order from 0"):
        Cornea(ordered[::-1])
    with pytest.raises(EyeError, match="rows in order from 0"):
        Refraction(pd.Series([-6.0, -5.0], index=["b", "a"]))


def test_a_masked_or_missing_thickness_is_not_available_and_says_so():
    masked = compare(Cornea(np.ma.masked_equal([550.0, 999.0], 999.0)), Treatment(PLAN))
    for result in (*masked.results.values(), *compare(Cornea(np.nan), Treatment(PLAN)).results.values()):
        assert not np.atleast_1d(result.available)[-1]
        assert np.atleast_1d(result.why_not)[-1] == "a value that its bed needs is not given"
    assert all(result.available[0] for result in masked.results.values())


@pytest.mark.parametrize("make", [
    lambda words: {"treatment": Treatment(PLAN, profile=words)},
    lambda words: {"treatment": Treatment(PLAN), "judgement": Judgement(relationship=words)},
    lambda words: {"treatment": Treatment(PLAN), "judgement": Judgement(cut_order=words)},
], ids=["profile", "relationship", "cut_order"])  # fmt: skip
def test_an_unknown_word_in_a_column_refuses_its_row_alone(make):
    for known in ("munnerlyn", "reinstein2013", "cap-first"):
        try:
            make(known)
        except EyeError:
            continue
        column = compare(EYE, **make(np.array([known, "nope", known])))
        for result in column.results.values():
            assert result.why_not[1].split(":")[1].startswith(" read nope, accepted ")
            beds = np.broadcast_to(result.budget.bed_min_um, (3,))
            assert np.isnan(beds[1]) and np.isfinite(beds[[0, 2]]).all()
            assert np.array_equal(np.broadcast_to(result.available, (3,)), [True, False, True])


IMPOSSIBLE = [
    ("zone_mm", lambda v: Treatment(PLAN, zone_mm=v), [6.5, 15.9, 6.0]),
    ("reported_ablation_um", lambda v: Treatment(Refraction([-6.0, 0.0, -3.0]), reported_ablation_um=v), [90.0] * 3),
    ("reported_lenticule_um", lambda v: Treatment(PLAN, reported_lenticule_um=v), [120.0, 14.0, np.nan]),
]


@pytest.mark.parametrize(("field", "make", "column"), IMPOSSIBLE, ids=[field for field, _, _ in IMPOSSIBLE])
def test_a_row_that_only_its_own_surfaces_refuse_is_refused_alone_in_the_words_of_the_single_eye(field, make, column):
    """A zone too large for its surfaces, a depth reported where nothing is treated or under the base."""
    found = compare(EYE, make(np.array(column)))
    powers = np.broadcast_to(make(90.0).refraction.sphere_D, (3,)) if field == "reported_ablation_um" else None
    alone = [_alone(field, value, None if powers is None else powers[row]) for row, value in enumerate(column)]
    assert [isinstance(one, EyeError) for one in alone] == [False, True, False]
    for name, result in found.results.items():
        assert result.why_not[1] == f"{field}: read {alone[1].value}, accepted {alone[1].limit}"
        assert np.array_equal(np.broadcast_to(result.available, (3,)), [True, False, True])
        for row in (0, 2):
            assert result.why_not[row] == ""
            assert result.budget.bed_min_um[row] == alone[row].results[name].budget.bed_min_um
    for key, value in figures(found).items():
        assert np.isnan(np.broadcast_to(value, (3,))[1]), key


def _alone(field, value, sphere_D):
    """The Comparison of one eye, or the error that refuses it."""
    refraction = PLAN if sphere_D is None else Refraction(sphere_D)
    try:
        return compare(EYE, Treatment(refraction, **{field: value}))
    except EyeError as error:
        return error


READ = {"days": 90, "method": "oct", "thickness_um": 460.0}


@pytest.mark.parametrize(("name", "value"), [
    ("days", np.nan), ("days", 1e9), ("days", "soon"), ("method", "nope"), ("thickness_um", 0.46),
    ("thickness_um", 4600.0),
    ("epithelium_um", 600.0), ("cut_um", 3.0), ("bed_um", -1.0), ("K_D", 430.0), ("SE_D", 600.0), ("sd_um", -1.0),
    ("thickness_um", datetime.date(2026, 11, 25)), ("thickness_um", "460"),
])  # fmt: skip
def test_a_reading_that_cannot_be_is_refused_by_name(name, value):
    with pytest.raises(EyeError) as found:
        Reading(**READ | {name: value})
    assert found.value.field == name


def test_a_row_of_readings_that_cannot_be_has_no_figure():
    one = Reading(90, "oct", thickness_um=np.array([460.0, 4600.0]))
    assert np.isnan(one.thickness_um[1]) and one.thickness_um[0] == 460.0
    assert one.reasons[0] == "" and one.reasons[1].startswith("thickness_um: read 4600")


@pytest.mark.parametrize("change", [
    {"radius_mm": -5.0}, {"radius_mm": np.nan}, {"asphericity": 50.0}, {"epithelium_mm": 53.0},
])  # fmt: skip
def test_a_shape_of_no_eye_is_refused(change):
    sound = {"radius_mm": 7.8, "asphericity": -0.2, "epithelium_mm": 0.053, "thickness_mm": thickness_law(0.55, 0.0088)}
    EyeShape(**sound)
    with pytest.raises(EyeError) as found:
        EyeShape(**sound | change)
    assert found.value.field in change


@pytest.mark.parametrize("name", [one.name for one in dataclasses.fields(Fibre) if one.name != "share"])
@pytest.mark.parametrize("value", [-1.0, np.inf, np.nan])
def test_fibres_of_no_stiffness_are_refused(name, value):
    numbers = {"ground_kPa": 20.0, "fibre_kPa": 1500.0, "stiffening": 400.0, "volume_kPa": 2e4, "sclera_ratio": 4.0}
    sound = {"share": lambda front: front} | numbers
    Fibre(**sound)
    with pytest.raises(EyeError) as found:
        Fibre(**sound | {name: value})
    assert found.value.field == name
