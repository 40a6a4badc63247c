"""Resistor and capacitor across the capacitor of a tank.

Sources: R. D. Middlebrook, "Design techniques for preventing input-filter oscillations in switched-mode regulators",
Proc. Powercon 5 (1978); R. W. Erickson, D. Maksimović, *Fundamentals of Power Electronics*, 2nd ed., 2001, ch. 10 (both
from memory) for the least peak of |Z|; the least overshoot of a step was computed independently from the cubic
n rho s^3 + (1 + n) s^2 + n rho s + 1.
"""

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from geometries.operation.capacitance import ConstantCapacitance
from solver.circuit.edge_response import Edge
from solver.circuit.nonlinear_edge import NonlinearLoop
from solver.circuit.series_loop import SeriesLoop
from solver.formulas import damper_peak_impedance, damper_resistance
from solver.switching.limits import peak_voltage
from solver.switching.snubber_search import least_peak_resistance

SOURCE = "R. D. Middlebrook, Proc. Powercon 5 (1978)"
CUBIC = "step of a lossless tank with R-C damper, cubic"
# n = Cs/C: R/R0 of least overshoot, its overshoot, R/R0 of least |Z| peak, that peak over R0.
TABLE = [
    (0.5, 2.5222914, 0.80042807, 2.4720662, 4.472136),
    (1.0, 1.6005521, 0.67600085, 1.4491377, 2.4494897),
    (2.0, 1.1256727, 0.52480659, 0.91287093, 1.4142136),
    (3.0, 0.95976329, 0.43402235, 0.71824301, 1.0540926),
    (4.0, 0.87318651, 0.37244569, 0.61237244, 0.8660254),
    (6.0, 0.78193817, 0.29305179, 0.49441323, 0.66666667),
    (10.0, 0.70240217, 0.20894596, 0.38172541, 0.48989795),
]
TANK = SeriesLoop(resistance=0.0, inductance=1.0, capacitance=1.0)
STEP = Edge(height=1.0, duration=0.0)


@pytest.mark.parametrize(("ratio", "resistance", "overshoot"), [row[:3] for row in TABLE])
def test_search_finds_the_resistance_of_least_overshoot(
    references, ratio: float, resistance: float, overshoot: float
) -> None:
    circuit = NonlinearLoop(loop=TANK, capacitance=ConstantCapacitance(value=1.0))
    found = least_peak_resistance(circuit, ratio, [STEP], (0.05, 20.0))
    for value, reference, item, rtol, reason in (
        (found, resistance, "R/R0", 1e-4, "a search for a flat minimum"),
        (peak_voltage(TANK.with_snubber(found, ratio), STEP) - 1, overshoot, "overshoot", 1e-7, "digits given"),
    ):
        references.compare(
            found=value,
            reference=reference,
            rtol=rtol,
            source=CUBIC,
            item=f"Cs/C = {ratio:g}: {item} of least overshoot",
            unit="1",
            reason=reason,
            mark="computed independently",
        )


@pytest.mark.parametrize(("ratio", "resistance", "peak"), [(row[0], *row[3:]) for row in TABLE])
def test_closed_form_of_the_least_impedance_peak(references, ratio: float, resistance: float, peak: float) -> None:
    for value, reference, item in (
        (damper_resistance(ratio), resistance, "R/R0"),
        (damper_peak_impedance(ratio), peak, "Zpk/R0"),
    ):
        references.compare(
            found=value,
            reference=reference,
            rtol=1e-7,
            source=SOURCE,
            item=f"Cs/C = {ratio:g}: {item} of least |Z| peak",
            unit="1",
            reason="digits given",
            mark="from memory",
        )


@pytest.mark.parametrize("ratio", [0.5, 2.0, 10.0])
def test_closed_form_is_the_least_peak_there_is(ratio: float) -> None:
    omega = np.linspace(0.2, 1.6, 40001)

    def peak(resistance: float) -> float:
        branch = 1 / (resistance + 1 / (1j * omega * ratio))
        return float(np.abs(1 / (1j * omega + 1 / (1j * omega) + branch)).max())

    best = minimize_scalar(peak, bounds=(0.1, 5.0), method="bounded", options={"xatol": 1e-6})
    assert best.x == pytest.approx(damper_resistance(ratio), rel=1e-3)
    assert best.fun == pytest.approx(damper_peak_impedance(ratio), rel=1e-6)
