"""The edge's waveform beside a circuit simulator: ngspice, which integrates the same circuit in time.

Skipped where ngspice is not installed (.ci/circuit-simulator installs it as root).
"""

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from solver.circuit.edge_response import Edge, edge_response
from solver.circuit.series_loop import SeriesLoop
from solver.switching.reading import peak_of

CELLS = ((2e-3, 20e-12), (30e-3, 60e-12), (0.2, 90e-12))
PLAIN = SeriesLoop(resistance=0.05, inductance=1.2e-9, capacitance=250e-12, cells=CELLS)
EDGE = Edge(height=24.0, duration=2e-9)


def deck(loop: SeriesLoop) -> str:
    """The circuit with skin effect as cells, a transient in steps of 5 ps, and the wanted values as measurements."""
    lines = ["edge", f"V1 n0 0 PWL(0 0 {EDGE.duration} {EDGE.height})", f"R0 n0 n1 {loop.resistance}"]
    lines.append(f"L0 n1 c0 {loop.inductance} IC=0")
    for index, (resistor, inductor) in enumerate(loop.cells):
        lines += [f"RC{index} c{index} c{index + 1} {resistor}", f"LC{index} c{index} c{index + 1} {inductor} IC=0"]
    node = f"c{len(loop.cells)}"
    lines.append(f"C0 {node} 0 {loop.capacitance} IC=0")
    if loop.snubber is not None:
        lines += [f"RS {node} s {loop.snubber.resistance}", f"CS s 0 {loop.snubber.capacitance} IC=0"]
    lines += [
        ".options reltol=1e-6 abstol=1e-12 method=trap",
        ".tran 5p 20n 0 5p uic",
        f".meas tran peak MAX v({node})",
        f".meas tran early FIND v({node}) AT=1.5n",
        f".meas tran late FIND v({node}) AT=9n",
        ".end",
    ]
    return "\n".join(lines) + "\n"


def simulated(loop: SeriesLoop, folder: Path) -> dict[str, float]:
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed; .ci/circuit-simulator installs it as root")
    (folder / "edge.cir").write_text(deck(loop), encoding="ascii")
    done = subprocess.run(
        ["ngspice", "-b", "edge.cir"], cwd=folder, capture_output=True, text=True, check=False, timeout=60
    )
    found = re.findall(r"^(peak|early|late)\s*=\s*(\S+)", done.stdout, flags=re.MULTILINE)
    assert len(found) == 3, done.stdout + done.stderr
    return {name: float(value) for name, value in found}


@pytest.mark.parametrize(
    ("name", "loop"), [("without snubber", PLAIN), ("with 2.1 ohm and 600 pF", PLAIN.with_snubber(2.1, 600e-12))]
)
def test_waveform_of_a_loop_with_skin_effect(references, tmp_path: Path, name: str, loop: SeriesLoop) -> None:
    response = edge_response(loop, EDGE)
    early, late = response.voltage(np.array([1.5e-9, 9e-9]))
    ours = {"peak": peak_of(response).voltage, "early": float(early), "late": float(late)}
    theirs = simulated(loop, tmp_path)
    for key, words in (("peak", "peak"), ("early", "voltage after 1.5 ns"), ("late", "voltage after 9 ns")):
        references.compare(
            found=ours[key],
            reference=theirs[key],
            rtol=2e-4,
            source="ngspice, transient analysis of the same circuit",
            item=f"24 V in 2 ns, 1.2 nH and three cells, 250 pF, {name}: {words}",
            unit="V",
            reason="trapezoidal rule with steps of 5 ps, about a thousandth of the ring's period",
            mark="computed independently",
        )
