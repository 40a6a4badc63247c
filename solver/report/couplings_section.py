"""What the report and the result file say about several switched loops."""

from __future__ import annotations

from typing import Any

from solver.loop.couplings import LoopCouplings
from solver.study.results import StudyResult


def couplings_document(couplings: LoopCouplings) -> dict[str, Any]:
    """Matrices and voltages as plain values in SI units."""
    return {
        "loops": [
            {"name": loop.name, "length_m": loop.length, "current_A": loop.current, "edge_s": loop.edge}
            for loop in couplings.switched.loops
        ],
        "victims": [{"name": name, "length_m": length} for name, length in couplings.switched.victims],
        "names": list(couplings.names),
        "inductance_per_length_H_per_m": couplings.inductance_per_length.tolist(),
        "inductance_H": couplings.inductance.tolist(),
        "edge_voltages_V": couplings.voltages.tolist(),
    }


def coupled_variants(study: StudyResult) -> list[tuple[str, LoopCouplings]]:
    """Variants with several switched loops."""
    return [(each.variant.name, each.couplings) for each in study.results if each.couplings is not None]
