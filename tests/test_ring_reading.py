import math
from dataclasses import replace

import pytest
from scipy.optimize import brentq

from geometries.errors import ScenarioError
from geometries.operation.ring_measurement import LoadedRing, RingMeasurement
from geometries.operation.spans import Span, exactly, within
from solver.errors import SolutionError
from solver.formulas import ring_inductance, ring_pair_capacitance, two_branch_capacitance, two_branch_inductance
from solver.measurement.ring_reading import read_ring

NANO, PICO = 1e-9, 1e-12
LOOP, SWITCH, DIE, PROBE, ESL = 1.2 * NANO, 300 * PICO, 0.3 * NANO, 4 * PICO, 0.5 * NANO


def tank(added: float = 0.0, die: float = DIE, esl: float = ESL, probe: float = PROBE) -> float:
    """Lossless ring frequency, by the root of the susceptance at the tap."""

    def balance(frequency: float) -> float:
        x = (2 * math.pi * frequency) ** 2
        total = SWITCH / (1 - x * die * SWITCH) + probe + (added / (1 - x * esl * added) if added else 0.0)
        return x * total * (LOOP - die) - 1

    poles = [1 / math.sqrt(product) / (2 * math.pi) for product in (die * SWITCH, esl * added) if product > 0]
    return brentq(balance, 1e6, 0.999999 * min([*poles, 1e10]))


def exact(*added: float) -> RingMeasurement:
    """All that the tank has, told without span."""
    return RingMeasurement(
        frequency=tank(),
        loaded=tuple(LoadedRing(capacitance=each, frequency=tank(each)) for each in added),
        frequency_error=0.0,
        capacitance_error=0.0,
        added_inductance=exactly(ESL),
        tap_inductance=exactly(DIE),
        probe_capacitance=exactly(PROBE),
        swing=exactly(0.0),
    )


def test_two_branches_give_their_capacitance_back() -> None:
    found = two_branch_capacitance(tank(), tank(470 * PICO), 470 * PICO, DIE, ESL, PROBE)
    assert found == pytest.approx(SWITCH, rel=1e-9)


def test_two_branches_give_their_inductance_back() -> None:
    assert two_branch_inductance(tank(), SWITCH, DIE, PROBE) == pytest.approx(LOOP, rel=1e-9)


def test_simple_pair_reads_an_inductance_too_high_if_the_added_capacitor_has_its_own() -> None:
    bare, loaded = tank(die=0.0, probe=0.0), tank(1e-9, die=0.0, probe=0.0)
    assert ring_inductance(bare, ring_pair_capacitance(bare, loaded, 1e-9)) / LOOP == pytest.approx(1.34, abs=0.01)


def test_simple_pair_reads_an_inductance_too_low_from_a_tap_before_the_switch() -> None:
    bare, loaded = tank(probe=0.0, esl=0.0), tank(1e-9, probe=0.0, esl=0.0)
    assert ring_inductance(bare, ring_pair_capacitance(bare, loaded, 1e-9)) / LOOP == pytest.approx(0.69, abs=0.01)


def test_exact_readings_give_the_loop_without_any_interval() -> None:
    reading = read_ring(exact(470 * PICO))
    assert (reading.inductance.value, reading.capacitance.value) == pytest.approx((LOOP, SWITCH))
    assert reading.inductance.least == pytest.approx(reading.inductance.most)


def test_two_added_capacitors_find_their_own_inductance() -> None:
    typical = Span(value=0.3 * NANO, least=0.1 * NANO, most=1.0 * NANO, source="typical")
    measurement = replace(exact(300 * PICO, 900 * PICO), added_inductance=typical)
    assert read_ring(measurement).added_inductance.value == pytest.approx(ESL, rel=0.03)


def test_two_added_capacitors_narrow_the_interval() -> None:
    typical = Span(value=0.4 * NANO, least=0.1 * NANO, most=1.0 * NANO, source="typical")
    sharp = {"frequency_error": 2e-3, "capacitance_error": 0.01, "added_inductance": typical}
    one = read_ring(replace(exact(300 * PICO), **sharp)).inductance
    two = read_ring(replace(exact(300 * PICO, 900 * PICO), **sharp)).inductance
    assert two.most / two.least < one.most / one.least


def test_two_added_capacitors_that_contradict_their_typical_inductance_are_an_error() -> None:
    typical = Span(value=1.4 * NANO, least=1.2 * NANO, most=1.5 * NANO, source="typical")
    with pytest.raises(SolutionError, match="check their values"):
        read_ring(replace(exact(200 * PICO, 500 * PICO), added_inductance=typical))


def test_stated_capacitance_takes_the_place_of_an_added_capacitor() -> None:
    reading = read_ring(exact(), stated_capacitance=within(SWITCH, 0.1))
    assert reading.inductance.value == pytest.approx(LOOP)
    assert reading.inductance.influences[0].source == "stated capacitance"


def test_frequency_alone_is_an_error_that_says_what_to_add() -> None:
    with pytest.raises(SolutionError, match="add a capacitor"):
        read_ring(exact())


def test_every_span_is_counted() -> None:
    measurement = RingMeasurement(
        frequency=tank(),
        loaded=(LoadedRing(capacitance=470 * PICO, frequency=tank(470 * PICO)),),
        quality=within(9.0, 0.2),
    )
    influences = {each.source: each for each in read_ring(measurement).inductance.influences}
    silent = [name for name, each in influences.items() if not (abs(each.at_least) > 0 or abs(each.at_most) > 0)]
    assert len(influences) == 8
    assert silent == []


def test_ring_that_is_heavily_damped_lies_below_its_tank() -> None:
    def inductance(quality: float) -> float:
        return read_ring(replace(exact(470 * PICO), quality=exactly(quality))).inductance.value

    assert inductance(2.0) / inductance(1e6) == pytest.approx(1 - 1 / (4 * 2.0**2), rel=0.05)


def test_peak_behind_a_slow_probe_is_higher_than_it_looks() -> None:
    slow = replace(exact(470 * PICO), peak=34.0, probe_bandwidth=exactly(200e6))
    peak = read_ring(slow, final_voltage=24.0).peak
    assert peak is not None
    assert peak.value > 34.0


def test_peak_without_its_final_voltage_is_an_error() -> None:
    with pytest.raises(SolutionError, match="state the input voltage"):
        read_ring(replace(exact(470 * PICO), peak=34.0))


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"loaded": (LoadedRing(capacitance=470 * PICO, frequency=400e6),)}, "exchange the two frequencies"),
        ({"loaded": (LoadedRing(capacitance=1 * PICO, frequency=200e6),)}, "the probe alone has"),
        ({"quality": exactly(0.4)}, "nothing rings"),
        ({"frequency": 0.0}, "above zero"),
        ({"frequency_error": 0.6}, "between 0 and 50 %"),
        (
            {
                "loaded": (
                    LoadedRing(capacitance=900 * PICO, frequency=150e6),
                    LoadedRing(capacitance=300 * PICO, frequency=200e6),
                )
            },
            "the second is the larger",
        ),
        ({"added_inductance": Span(value=0.0, least=-1e-9, most=1e-9)}, "reaches below zero"),
    ],
)
def test_reading_that_no_ring_has_is_refused(changes: dict[str, object], message: str) -> None:
    with pytest.raises(ScenarioError, match=message):
        replace(exact(470 * PICO), **{"frequency": 300e6, **changes})


def test_value_outside_its_span_is_refused() -> None:
    with pytest.raises(ScenarioError, match="lies within its span"):
        Span(value=2.0, least=3.0, most=4.0)
