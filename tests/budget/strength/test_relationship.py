"""Depth relationships against the printed curve, and the laws of a density and its integral.

Sources stand in the tables of tests/published; what is not in a table is named beside the check.
"""

import numpy as np
import pytest
from helpers import is_itself_only
from printed import published

from tissue.budget.strength.relationship import Relationship, relationships

NAMES = list(relationships())


@pytest.mark.parametrize("row", [p for p in published("curve") if p.values[0]["quantity"] == "density"])
def test_published_curve(row):
    depth = 53.0 + 500.0 * float(row["stromal_fraction"])
    density = relationships()["reinstein2013"].density(depth, 553.0, 53.0)
    assert density == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]) + 1e-9)


def test_integral_of_the_printed_coefficients():
    (row,) = (p.values[0] for p in published("curve") if p.values[0]["quantity"] == "integral")
    (coefficients,) = relationships()["reinstein2013"].coefficients
    integral = sum(c / (k + 1) for k, c in enumerate(coefficients))
    assert integral == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("name", NAMES)
def test_share_is_the_integral_of_density(name):
    """Against a midpoint sum of 20,000 slices; a step between pieces costs at most a slice of its height."""
    model = relationships()[name]
    edges = np.linspace(53.0, 550.0, 20_001)
    slices = model.density((edges[1:] + edges[:-1]) / 2, 550.0, 53.0) * np.diff(edges) / 497.0
    assert np.abs(np.cumsum(slices) - model.share(edges[1:], 550.0, 53.0)).max() < 2e-4
    assert model.share(550.0, 550.0, 53.0) == 1.0


def stepped(**changed):
    """A relationship of two levels, 3 in front of 100 µm and 1 behind, over micrometres."""
    words = dict.fromkeys(("id", "label", "short", "property", "tissue", "plane", "source", "status", "assumed"), "")
    return Relationship(**{**words, "over": "um", "breaks": (0.0, 100.0), "coefficients": ((3.0,), (1.0,)), **changed})


def test_two_levels_by_hand():
    # C: over 500 µm of stroma ∫f = 3·100 + 1·400 = 700, its mean 1.4; at the step itself the piece behind it counts
    made = stepped()
    density = made.density(np.array([52.9, 53.0, 152.9, 153.0, 553.0, 553.1]), 553.0, 53.0)
    assert density == pytest.approx([0.0, 3.0 / 1.4, 3.0 / 1.4, 1.0 / 1.4, 1.0 / 1.4, 0.0])
    assert made.share(np.array([103.0, 153.0, 353.0]), 553.0, 53.0) == pytest.approx([150 / 700, 300 / 700, 500 / 700])
    as_fraction = stepped(over="fraction", breaks=(0.0, 0.2))
    assert as_fraction.share(353.0, 553.0, 53.0) == pytest.approx(500 / 700)


def test_a_relationship_cannot_be_changed_or_be_half_given():
    # Source: the rules of the house (frozen, read once); as many places where a piece begins as there are pieces
    assert is_itself_only(stepped()) and relationships() is relationships()
    with pytest.raises(ValueError, match="zip"):
        stepped(breaks=(0.0,)).share(100.0, 553.0, 53.0)


@pytest.mark.parametrize("name", NAMES)
def test_outside_the_stroma(name):
    model = relationships()[name]
    assert tuple(model.share(np.array([0.0, 53.0, 550.0, 600.0]), 550.0, 53.0)) == (0.0, 0.0, 1.0, 1.0)
    front, edge, back, beyond = model.density(np.array([30.0, 53.0, 550.0, 551.0]), 550.0, 53.0)
    assert front == beyond == 0.0 and edge >= back > 0.0


def test_printed_coefficients_take_the_place_of_the_reconstruction():
    model = relationships()["reinstein2013"]
    given_ones = {k: v for k, v in vars(model).items() if not k.startswith("_")}
    printed = Relationship(**{**given_ones, "printed_coefficients": (2.0, -2.0)})
    assert printed.share(303.0, 553.0, 53.0) == pytest.approx(0.75, abs=1e-12)  # C: 2x − x² at 0.5
    assert printed.density(303.0, 553.0, 53.0) == pytest.approx(1.0, abs=1e-12)


def test_order_and_labels():
    """The 2013 model is the default and stands first; its label must say what it is (evidence on the 2013 model)."""
    assert NAMES[0] == "reinstein2013" and len(NAMES) == 8
    note = relationships()["reinstein2013"].note
    assert note == "reconstructed from the published results; the printed coefficients were not available"
    assert relationships()["labate2015"].over == "um"
    assert {r.plane for r in relationships().values()} == {"in-plane", "out-of-plane", "none"}
