import pytest

from geometries.board.materials import COPPER, Conductor


def test_a_conductor_must_conduct():
    with pytest.raises(ValueError, match="must be above 0"):
        Conductor(name="glass", conductivity=0.0)


def test_copper_at_its_reference_temperature_is_unchanged():
    assert COPPER.at_temperature(20).conductivity == COPPER.conductivity


def test_the_linear_law_is_refused_outside_its_range():
    with pytest.raises(ValueError, match="-50 to 200"):
        COPPER.at_temperature(300)
