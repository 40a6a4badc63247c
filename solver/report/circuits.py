"""A variant's loop of record as circuit files: subcircuit, test deck, Touchstone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from geometries.operation.switching import Switching
from geometries.study.scenario import Scenario
from solver.circuit.rl_network import RLNetwork
from solver.report import spice, touchstone
from solver.report.remarks import circuit_remarks
from solver.report.spice_edge import DrivenLoop
from solver.report.victim_circuit import VictimNodes, victim_nodes, with_victims
from solver.switching.circuit import as_built
from solver.variant.edge_circuit import drive, switched_loop, variant_loop
from solver.variant.results import VariantResult


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExportedCircuit:
    """What circuit files are written from.

    Parameters
    ----------
    network : RLNetwork
        The loop of record; with victims, their loops behind it.
    result : VariantResult
        Whose it is.
    victims : VictimNodes, optional
        Nodes and capacitors of the victims.
    remarks : tuple of str
        Where it comes from, where it is valid, and what is not in it.
    driven : DrivenLoop, optional
        The switching edge, where the scenario describes it.
    """

    network: RLNetwork
    result: VariantResult
    victims: VictimNodes | None
    remarks: tuple[str, ...]
    driven: DrivenLoop | None = None


def exported_circuit(result: VariantResult, scenario: Scenario) -> ExportedCircuit:
    """The circuit that a variant's files hold."""
    pickup = result.pickup
    network = result.loop.circuit if pickup is None else with_victims(result, pickup)
    return ExportedCircuit(
        network=network,
        result=result,
        victims=None if pickup is None else victim_nodes(pickup),
        remarks=circuit_remarks(network, result, scenario),
        driven=None if scenario.switching is None else _driven(scenario.switching, result),
    )


def _driven(switching: Switching, result: VariantResult) -> DrivenLoop:
    """The loop as the scenario builds it, at its edge."""
    built = as_built(switching, variant_loop(switching, result))
    return DrivenLoop(circuit=switched_loop(switching, built), edge=drive(switching))


def circuit_files(circuit: ExportedCircuit, scenario: Scenario, slug: str) -> Mapping[str, str]:
    """Contents of the circuit files of a variant, by name.

    Parameters
    ----------
    circuit : ExportedCircuit
        From :func:`exported_circuit`.
    scenario : Scenario
        Its report frequency is that of the test deck's ring where no switching edge is described.
    slug : str
        The variant's name as a file name.

    Returns
    -------
    mapping
    """
    network, variant, victims = circuit.network, circuit.result.variant, circuit.victims
    suffix = touchstone.touchstone_suffix(network)
    return {
        f"{slug}.sub": spice.subcircuit(network, variant, circuit.remarks, slug, victims),
        f"{slug}-test.cir": spice.deck(
            network, scenario.analysis.report_frequency, circuit.remarks, slug, victims, circuit.driven
        ),
        f"{slug}{suffix}": touchstone.touchstone(network, variant, circuit.remarks, victims),
    }
