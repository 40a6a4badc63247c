"""The moment over frequency: lines over the skin depth, sampled where it bends, and against the chain solved anew."""

from dataclasses import replace

import numpy as np
import pytest

from geometries import read_scenario
from geometries.study.scenario import Scenario
from solver.variant.needs import Need
from solver.variant.skin_curves import SkinCurve, skin_curves
from solver.variant.solve import solve_variant

NEEDS = frozenset({Need.BROADBAND, Need.WHOLE_LOOP, Need.MOMENT})


CLOSE = 0.05


def skin(frequencies, *, bend: float = 0.0) -> list[tuple[np.ndarray]]:
    """Areas that fall with the skin depth to 2 and 1 mm², with a part that falls with its square."""
    depths = [(1e7 / each) ** 0.5 for each in frequencies]
    return [(np.array([2e-6 * (1 + d + bend * d**2), 1e-6 * (1 + d)]),) for d in depths]


def test_a_moment_that_follows_the_skin_depth_needs_three_samples_and_misses_nothing() -> None:
    (curve,) = skin_curves(skin, [30e6, 100e6, 300e6], [CLOSE])
    assert curve.frequencies.tolist() == [30e6, 100e6, 300e6]
    assert curve.missed == pytest.approx(0.0, abs=1e-9)
    assert curve.at(np.array([50e6, 1e9])) == pytest.approx(
        np.array([each for (each,) in skin([50e6, 1e9])]), rel=1e-12, abs=0
    )


@pytest.mark.parametrize("middle", [40e6, 100e6, 250e6])
def test_a_bend_is_sampled_until_what_is_missed_is_small_and_it_is_not_more_than_stated(middle: float) -> None:
    (curve,) = skin_curves(lambda asked: skin(asked, bend=3.0), [30e6, middle, 300e6], [CLOSE])
    frequencies = np.geomspace(30e6, 300e6, 200)
    exact = np.array([each for (each,) in skin(frequencies, bend=3.0)])
    missed = 20 * np.log10(np.linalg.norm(curve.at(frequencies), axis=1) / np.linalg.norm(exact, axis=1))
    assert len(curve.frequencies) > 3
    assert np.abs(missed).max() < 1.1 * curve.missed < 0.1


def test_samples_end_at_nine_and_then_what_is_missed_is_stated() -> None:
    rng = np.random.default_rng(1)
    (curve,) = skin_curves(lambda asked: [(rng.uniform(1, 2, size=1),) for _ in asked], [1, 2, 4], [CLOSE])
    assert len(curve.frequencies) == 9
    assert curve.missed > 0.1


def test_below_the_lowest_sample_it_stays_and_nothing_falls_below_zero() -> None:
    curve = SkinCurve(frequencies=np.array([1e8, 4e8]), values=np.array([[2.0, 1.0], [0.9, 1.0]]), missed=0.0)
    assert curve.at(np.array([1e7]))[0].tolist() == [2.0, 1.0]
    assert curve.at(np.array([1e12]))[0].tolist() == [0.0, 1.0]


def test_the_curve_that_bends_most_for_what_it_may_miss_asks_for_more() -> None:
    def both(asked):
        return [(straight, curved) for (straight,), (curved,) in zip(skin(asked), skin(asked, bend=3.0), strict=True)]

    assert [len(each.frequencies) for each in skin_curves(both, [30e6, 100e6, 300e6], [CLOSE, 10.0])] == [3, 3]
    assert len(skin_curves(both, [30e6, 100e6, 300e6], [10.0, CLOSE])[0].frequencies) > 3


@pytest.fixture(scope="module")
def described() -> Scenario:
    return read_scenario("""
title = "moments"
stackup = "4L-7628"
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
planes = { L2 = { tie = "both ends", width = "40 mm" } }
analysis = { frequencies = { from = "1 MHz", to = "300 MHz", per_decade = 2 }, report_frequency = "100 MHz" }
[emission]
current = "4 A"
frequency = "1 MHz"
rise_time = "2 ns"
fall_time = "2 ns"
limits = ["CISPR 32 class B"]
""")


def test_the_curve_of_a_variant_is_what_its_chain_finds_when_it_is_solved_there(described: Scenario) -> None:
    # Beyond the analysis, at 900 MHz, too; the mesh of a moment is good for 0.1 dB.
    found = solve_variant(described.variants[0], described.analysis, NEEDS)
    assert found.moments is not None
    assert found.moments.missed < 0.05
    for frequency, highest in ((30e6, 300e6), (160e6, 300e6), (900e6, 1e9)):
        asked = replace(described.analysis, frequencies=(1e6, frequency, highest), report_frequency=frequency)
        exact = solve_variant(found.variant, asked, NEEDS - {Need.MOMENT})
        parts = exact.moment_parts
        at = found.moments.at(np.array([frequency]))[0]
        assert at == pytest.approx([parts.lying, parts.standing], rel=0.012, abs=0)
        drop = found.ground_inductances.at(np.array([frequency]))[0, 0]
        assert drop == pytest.approx(exact.ground[1], rel=0.015, abs=0)
        assert exact.moments is None


def test_the_frequencies_of_an_emission_reach_the_variant(described: Scenario) -> None:
    assert described.variants[0].radiated == (30e6, 1e9)
    assert replace(described.variants[0], radiated=None) != described.variants[0]
