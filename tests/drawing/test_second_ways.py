"""Ways to an enhancement and what the cap decides, as pictures: tested as dictionaries, and their words."""

import json

import numpy as np
import pytest
from cut_pictures import CUT, DARK, LIGHT, RESIDUALS, WIDTHS, apart, hatched
from drawn_eyes import EYES, eye
from figures_read import all_words

from tissue import CapCut, compare
from tissue.drawing.charts import sweeps
from tissue.drawing.routes import second_ways
from tissue.drawing.routes.way_frame import NO_FIGURES
from tissue.routes.enhancement import enhancement
from tissue.screens.pages.enhancement import CAPS_UM, caps
from tissue.screens.tables import routes as route_tables

# --- ways to an enhancement --------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CUT)
@pytest.mark.parametrize("residual", RESIDUALS, ids=str)
@pytest.mark.parametrize("width", WIDTHS)
def test_no_label_of_a_second_way_covers_another(name, residual, width):
    plan = eye(name)
    found = enhancement(plan, residual)
    for routes in route_tables.rows_of(found.routes, 4 if width > 900 else 2):
        figure = second_ways.second_ways(plan, found, "OD", LIGHT, width, routes)
        json.dumps(figure, allow_nan=False)
        assert "nan" not in " ".join(all_words(figure)).lower()
        apart(*second_ways.labelled(plan, found, width, routes)[1:])


def test_layers_of_a_second_way_end_where_the_arithmetic_says():
    """Model: surface E + t; cap to flap C + r + t; new lenticule C + r + t + base; the rest is the bed."""
    plan = eye("usual")
    found = enhancement(plan, RESIDUALS[0])
    drawn = {one.route.way.id: one for one in second_ways.labelled(plan, found, 1076)[0]}
    C, r = 120.0, float(plan.results["lenticule"].option.removal.central_um)
    t = float(found.ablation.central_um)
    assert [layer.text.split()[0] for layer in drawn["surface"].layers] == ["epithelium", "removed", "primary"]
    assert drawn["surface"].layers[1].bottom_um == pytest.approx(53.0 + t)
    assert drawn["cap-to-flap"].layers[-1].bottom_um == pytest.approx(C + r + t)
    lowest = drawn["deeper-lenticule"].layers[-1].bottom_um
    assert 548.0 - lowest == pytest.approx(float(found.routes[3].bed_central_um), abs=1e-6)


def test_the_thin_flap_that_has_no_room_is_thin_and_has_its_clearance():
    plan = eye("usual")
    found = enhancement(plan, RESIDUALS[0])
    thin = second_ways.second_ways(plan, found, "OD", LIGHT, 1076, found.routes[1:2])
    words = all_words(thin)
    assert NO_FIGURES in words and "clearance <b>12</b>" in words
    assert not hatched(thin, LIGHT.option["flap"])
    roomy = compare(*EYES["usual"], cap=CapCut(cap_um=150.0))
    opened = enhancement(roomy, RESIDUALS[0])
    assert hatched(second_ways.second_ways(roomy, opened, "OD", LIGHT, 1076, opened.routes[1:2]), LIGHT.option["flap"])


def test_second_ways_in_words_with_their_numbers():
    plan = eye("usual")
    said = second_ways.describe_second_ways(plan, enhancement(plan, RESIDUALS[0]), "OD")
    assert "took 124" in said and "Cap turned into a flap: cut at 120, removed 18, bed 285" in said
    assert "Thin flap in the cap: cut at 90, removed 18, no figures, A flap of 90 µm has no room" in said


# --- what the cap decides ---------------------------------------------------------------------------------------------


def test_the_lines_of_the_cap_are_those_of_single_plans():
    """One array call against a plan worked out alone for each of three caps."""
    plan = eye("usual")
    trade = caps(plan, enhancement(plan, RESIDUALS[0]))
    for cap in (100.0, 140.0, 160.0):
        alone = compare(*EYES["usual"], cap=CapCut(cap_um=cap))
        found = enhancement(alone, RESIDUALS[0])
        i = int(np.flatnonzero(CAPS_UM == cap)[0])
        assert trade.reserve_um[i] == pytest.approx(float(found.reserve_um), abs=1e-6)
        assert trade.room_um[i] == pytest.approx(cap - float(found.cap_needed_um), abs=1e-6)


def test_a_micrometre_of_cap_costs_one_of_bed_and_gives_one_of_room():
    """C: bed = CCT − C − r; room = C − F2 − t − margin + bias − 1.96 SD."""
    plan = eye("usual")
    found = enhancement(plan, RESIDUALS[0])
    trade = caps(plan, found)
    np.testing.assert_allclose(np.diff(trade.reserve_um), -2.0)
    np.testing.assert_allclose(np.diff(trade.room_um), 2.0)
    by_hand = 90.0 + float(found.ablation.max_um) + 30.0 + 0.7 + 1.96 * 4.4
    assert trade.cap_needed_um == pytest.approx(by_hand, abs=1e-4)


@pytest.mark.parametrize("name", CUT)
@pytest.mark.parametrize("residual", RESIDUALS, ids=str)
@pytest.mark.parametrize("width", WIDTHS)
def test_the_cap_picture_is_strict_json_and_names_its_lines(name, residual, width):
    plan = eye(name)
    trade = caps(plan, enhancement(plan, residual))
    figure = sweeps.cap_lines(trade, DARK, width)
    json.dumps(figure, allow_nan=False)
    said = " ".join(all_words(figure))
    assert "nan" not in said.lower()
    assert (sweeps.ROOM in said) == (residual.sphere_D != 0.0 or residual.cylinder_D != 0.0)
    assert "nan" not in sweeps.describe_cap_lines(trade)


def test_the_cap_picture_marks_this_plan_and_where_the_room_begins():
    plan = eye("usual")
    words = all_words(sweeps.cap_lines(caps(plan, enhancement(plan, RESIDUALS[0])), LIGHT, 1076))
    assert "this plan <b>120</b>" in words and "a thin flap fits from <b>148</b>" in words
    assert "<b>54</b>" in words and any("135 to 145" in text for text in words)
