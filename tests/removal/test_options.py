"""The three options in one shape: what lies above the removal, what stays, errors and diameters."""

import inspect
import math

import numpy as np
import pytest
from helpers import is_itself_only

from tissue import Cornea, Refraction, Treatment, compare
from tissue.ground.errors import EyeError
from tissue.removal.options import HINGE_INSIDE_MM, CapCut, Errors, FlapCut, Judgement, Option, Setting, options_of

EYE = Cornea(550.0)
PLAN = Treatment(Refraction(-6.0, -1.25, 170.0))


def options(eye=EYE, plan=PLAN, flap=FlapCut(), cap=CapCut(), judgement=Judgement(), errors=Errors()):
    return {option.name: option for option in options_of(Setting(eye, plan, flap, cap, judgement, errors))}


def test_order_and_titles():
    # Source: the names of the interface and the trade
    found = options()
    assert list(found) == ["surface", "flap", "lenticule"]
    assert [o.title for o in found.values()] == ["surface ablation", "flap ablation", "lenticule extraction"]


def test_what_lies_above_and_what_counts():
    # Source: the model's table of the three options; default flap 110, cap 120, epithelium 53; credits 0 and 1
    found = options()
    assert [float(o.cut_um) for o in found.values()] == [53.0, 110.0, 120.0]
    assert [float(o.credit) for o in found.values()] == [0.0, 0.0, 1.0]
    assert [float(o.spared_um) for o in found.values()] == [53.0, 110.0, 53.0]
    assert [o.share_validated for o in found.values()] == [False, True, False]
    assert [o.ablates for o in found.values()] == [True, True, False]
    assert [float(o.removal.base_um) for o in found.values()] == [0.0, 0.0, 15.0]
    assert found["surface"].removal is found["flap"].removal


def test_the_hinge_of_a_usual_flap_is_about_four_millimetres_wide():
    # Source: common practice, from memory: hinges of 3.5 to 5 mm under flaps of 9 mm; the chord is 2·√(r² − (r − h)²)
    radius = float(options()["flap"].cut_diameter_mm) / 2.0
    assert 3.5 <= 2.0 * math.sqrt(radius**2 - (radius - HINGE_INSIDE_MM) ** 2) <= 5.0


def test_the_figures_of_an_option_are_given_by_name():
    # Source: a rule of the project: no figure is taken for another by its place
    of_its_own = [inspect.signature(Option).parameters[name] for name in Option.__annotations__]
    assert len(of_its_own) > 8 and {one.kind for one in of_its_own} == {inspect.Parameter.KEYWORD_ONLY}


def test_default_diameters():
    # Source: the model: flap 9.0; cap is zone + 2·blend + 1.0; room: flap less 0.3, cap less 0.2
    found = options(plan=Treatment(Refraction(-6.0), 6.4, lenticule_blend_mm=0.3))
    assert math.isnan(found["surface"].cut_diameter_mm)
    assert (found["flap"].cut_diameter_mm, found["flap"].largest_zone_in_cut_mm) == (9.0, pytest.approx(8.7))
    assert found["lenticule"].cut_diameter_mm == pytest.approx(8.0)
    assert found["lenticule"].largest_zone_in_cut_mm == pytest.approx(7.8)
    assert options(cap=CapCut(cap_diameter_mm=7.9))["lenticule"].cut_diameter_mm == 7.9


def test_errors_of_each_option():
    # Source: the model's defaults: epithelium 4.6; flap +4, 5; cap −0.7, 4.4; ablation 0, 11.2; extraction −12.1, 9.8
    found = options()
    assert [tuple(map(float, o.cut_error)) for o in found.values()] == [(0.0, 4.6), (4.0, 5.0), (-0.7, 4.4)]
    assert [tuple(map(float, o.removal_error)) for o in found.values()] == [(0.0, 11.2), (0.0, 11.2), (-12.1, 9.8)]
    assert [float(o.cut_planned_bias_um) for o in found.values()] == [0.0, 4.0, -0.7]


def test_a_measured_cut_is_the_cut_and_has_no_bias():
    # Source: the model: bias becomes 0, the SD stays, the planned cut stands beside
    found = options(flap=FlapCut(flap_measured_um=124.0), cap=CapCut(cap_measured_um=118.0))
    assert (found["flap"].cut_um, found["flap"].cut_planned_um) == (124.0, 110.0)
    assert (found["lenticule"].cut_um, found["lenticule"].cut_planned_um) == (118.0, 120.0)
    assert tuple(map(float, found["flap"].cut_error)) == (0.0, 5.0)
    assert tuple(map(float, found["lenticule"].cut_error)) == (0.0, 4.4)
    assert [bool(o.cut_is_measured) for o in found.values()] == [False, True, True]
    assert [float(o.cut_planned_bias_um) for o in found.values()] == [0.0, 4.0, -0.7]
    assert not any(o.cut_is_measured for o in options().values())
    plan = compare(EYE, PLAN, flap=FlapCut(flap_measured_um=124.0)).results["flap"].budget
    assert plan.bed_planned_um - plan.bed_central_um == pytest.approx(14.0)


def test_a_measured_cut_in_one_row_only():
    found = options(
        flap=FlapCut([110.0, 105.0], flap_measured_um=[np.nan, 120.0]), cap=CapCut(cap_measured_um=[np.nan, 118.0])
    )
    assert found["flap"].cut_um.tolist() == [110.0, 120.0]
    assert found["flap"].cut_error.bias_um.tolist() == [4.0, 0.0]
    assert found["lenticule"].cut_um.tolist() == [120.0, 118.0]
    assert found["lenticule"].cut_error.bias_um.tolist() == [-0.7, 0.0]
    assert found["flap"].cut_is_measured.tolist() == found["lenticule"].cut_is_measured.tolist() == [False, True]


def test_nothing_can_be_set_afterwards():
    # Source: the rule of the house: values that travel together are frozen, and columns are not compared by value
    setting = Setting(EYE, PLAN, FlapCut(), CapCut(), Judgement(), Errors())
    for made in (FlapCut(), CapCut(), Judgement(), Errors(), setting, *options().values()):
        assert is_itself_only(made)


@pytest.mark.parametrize("word", ["anywhere", "zero"])
@pytest.mark.parametrize("name", ["relationship", "cut_order"])
def test_a_word_that_is_none_of_those_known_is_refused(name, word):
    # Source: the accepted words of the interface
    with pytest.raises(EyeError, match=f"^{name}: read {word}; accepted"):
        Judgement(**{name: word})
    reasons = Judgement(**{name: [getattr(Judgement(), name), word]}).reasons
    assert [bool(reason) for reason in reasons] == [False, True]


def test_fields_that_set_an_option_are_those_of_the_form():
    from tissue.entry.fields import fields

    for option in options().values():
        for name in (option.blend_field, option.cut_field, option.diameter_field):
            assert name is None or name in fields()
        if option.cut_field:
            assert option.least_cut_um == fields()[option.cut_field].low
    for kind in (FlapCut(), CapCut(), Judgement(), Errors()):
        for name, value in vars(kind).items():
            default = fields()[name].default
            assert value == default if default is not None else value is None
