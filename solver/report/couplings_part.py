"""Several switched loops: their self and mutual inductances, and what each induces in the others."""

from __future__ import annotations

from solver.report.loop_part import report_frequency
from solver.report.part import Part
from solver.study.results import StudyResult
from solver.variant.couplings import LoopCouplings


def _coupled(study: StudyResult) -> list[tuple[str, LoopCouplings]]:
    """Variants with several switched loops."""
    return [(each.variant.name, each.couplings) for each in study.results if each.couplings is not None]


def _details(study: StudyResult) -> object:
    return [
        {
            "variant": name,
            "names": each.names,
            "loops": each.switched.loops,
            "victims": [{"name": victim, "length": length} for victim, length in each.switched.victims],
            "inductance_per_length": each.inductance_per_length,
            "inductance": each.inductance,
            "edge_voltages": each.voltages,
        }
        for name, each in _coupled(study)
    ]


COUPLINGS = Part(
    key="couplings",
    title="Switched loops",
    shown=lambda study: _coupled(study) or None,
    heading=lambda study: f"Several switched loops at {report_frequency(study)}",
    template="couplings.html.j2",
    details=_details,
)
