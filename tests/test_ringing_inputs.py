import math

import pytest

from geometries.errors import ScenarioError
from geometries.operation.gate_edge import GateCurrent, GateResistor
from geometries.operation.recovery import RecoveredCharge, RecoveryCurrent
from geometries.operation.ringing import (
    Ringing,
    SwitchKind,
    quality_from_cycles,
    ringing_from_cycles,
    ringing_from_quality,
    typical_ringing,
)


def test_ring_falls_to_half_within_the_counted_cycles() -> None:
    quality, cycles = quality_from_cycles(4.0), 4.0
    rate = 1 / (2 * quality)
    per_cycle = 2 * math.pi / math.sqrt(1 - rate**2)
    assert math.exp(-rate * cycles * per_cycle) == pytest.approx(0.5)


def test_counted_cycles_have_a_span_round_them() -> None:
    ringing = ringing_from_cycles(4.0)
    assert ringing.least < ringing.quality < ringing.most


def test_resistance_gives_the_quality_back() -> None:
    resistance = ringing_from_quality(8.0).resistance(1e-9, 250e-12)
    assert math.sqrt(1e-9 / 250e-12) / resistance == pytest.approx(8.0)


@pytest.mark.parametrize("kind", SwitchKind)
def test_typical_quality_lies_within_its_span(kind: SwitchKind) -> None:
    ringing = typical_ringing(kind)
    assert ringing.least < ringing.quality < ringing.most


@pytest.mark.parametrize("quality", [0.4, 0.5, math.nan])
def test_quality_at_which_nothing_rings_is_refused(quality: float) -> None:
    with pytest.raises(ScenarioError, match="nothing rings"):
        ringing_from_quality(quality)


def test_no_cycles_are_refused() -> None:
    with pytest.raises(ScenarioError, match="count them"):
        ringing_from_cycles(0.0)


def test_quality_outside_its_span_is_refused() -> None:
    with pytest.raises(ScenarioError, match="within its span"):
        Ringing(quality=5.0, least=6.0, most=9.0, source="test")


def test_edge_of_a_gate_current_moves_the_gate_drain_charge() -> None:
    assert GateCurrent(current=0.5, gate_drain_charge=2e-9).edge().time == pytest.approx(4e-9)


def test_edge_of_a_gate_resistor_balances_the_flux_of_the_gate_loop() -> None:
    gate = GateResistor(
        drive_voltage=5.0,
        plateau_voltage=2.2,
        resistance=3.0,
        gate_drain_charge=2e-9,
        common_source_inductance=0.2e-9,
        moved_charge=10e-9,
    )
    time = gate.edge().time
    assert 2.8 * time == pytest.approx(3.0 * 2e-9 + 0.2e-9 * 10e-9 / time)


def test_common_source_inductance_slows_the_edge_down() -> None:
    def edge(inductance: float) -> float:
        return (
            GateResistor(
                drive_voltage=5.0,
                plateau_voltage=2.2,
                resistance=3.0,
                gate_drain_charge=2e-9,
                common_source_inductance=inductance,
                moved_charge=10e-9,
            )
            .edge()
            .time
        )

    assert edge(0.0) < edge(0.1e-9) < edge(0.5e-9)


def test_plateau_above_the_driver_is_refused() -> None:
    with pytest.raises(ScenarioError, match="plateau lies below"):
        GateResistor(drive_voltage=2.0, plateau_voltage=2.2, resistance=3.0, gate_drain_charge=2e-9)


@pytest.mark.parametrize("build", [lambda: RecoveredCharge(charge=0.0), lambda: RecoveryCurrent(current=-1.0)])
def test_recovery_of_nothing_is_refused_with_the_word_for_it(build: object) -> None:
    assert callable(build)
    with pytest.raises(ScenarioError, match='write "none"'):
        build()
