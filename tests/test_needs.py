"""A variant is solved as far as it is asked for, and what is left out says so."""

from __future__ import annotations

import pytest

from geometries.files.reading import parse_scenario
from solver.variant.loop_of_record import Basis
from solver.variant.needs import EVERYTHING, Need
from solver.variant.results import VariantResult
from solver.variant.solve import solve_variant

BOARD = """
title = "board"
stackup = "4L-7628"
planes = { L2 = { tie = "both ends", width = "20 mm" } }
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
analysis = { frequencies = ["10 MHz", "100 MHz"], tolerance = "1 %" }
"""


@pytest.fixture(scope="module")
def bare() -> VariantResult:
    scenario = parse_scenario(BOARD)
    return solve_variant(scenario.variants[0], scenario.analysis, frozenset())


@pytest.fixture(scope="module")
def whole() -> VariantResult:
    scenario = parse_scenario(BOARD)
    return solve_variant(scenario.variants[0], scenario.analysis, EVERYTHING)


def test_nothing_is_solved_that_was_not_asked_for(bare: VariantResult) -> None:
    assert (bare.field_map, bare.axisymmetric_view, bare.pickup, bare.section_loop, bare.benefit) == (
        *(None, None, None, None),
        (),
    )


def test_a_circuit_that_was_not_asked_for_is_refused(bare: VariantResult) -> None:
    with pytest.raises(ValueError, match="solved without its impedance over frequency; ask for it"):
        bare.loop  # noqa: B018 - the access is the test


def test_a_field_map_that_was_not_asked_for_is_refused(bare: VariantResult) -> None:
    with pytest.raises(ValueError, match="without its field map; ask for it"):
        bare.sampled_field  # noqa: B018 - the access is the test


def test_what_is_solved_does_not_depend_on_what_else_is_asked(bare: VariantResult, whole: VariantResult) -> None:
    assert bare.perfect_limits == whole.perfect_limits
    # Without anything over frequency the field is solved directly, with it through the same solution's vectors.
    assert [line.peak for line in bare.lines] == pytest.approx([line.peak for line in whole.lines], rel=1e-9)
    assert bare.moment == pytest.approx(whole.moment, rel=1e-9)


def test_a_section_is_a_loop_of_copper_with_its_ends(whole: VariantResult) -> None:
    assert whole.section_loop is not None
    assert whole.loop.basis is Basis.COPPER_LOOP
    assert whole.loop.inductance == pytest.approx(whole.section_loop.inductance, rel=1e-12)
    assert whole.loop.inductance_uncertainty == whole.section_loop.uncertainty


def test_the_circuit_of_the_loop_has_its_inductance(whole: VariantResult) -> None:
    omega = 2 * 3.141592653589793 * 100e6
    found = float(whole.loop.circuit.impedance(100e6)[0, 0].imag) / omega
    assert found == pytest.approx(whole.loop.inductance, rel=1e-12)


def test_needs_are_parts_with_words() -> None:
    assert all(need.value for need in Need)
