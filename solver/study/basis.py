"""What the loop values of a table stand for, in words."""

from __future__ import annotations

from collections.abc import Iterable

from geometries.section.section import View
from geometries.study.scenario import Variant
from solver.variant.loop_of_record import Basis
from solver.variant.results import VariantResult


def solved_basis(results: Iterable[VariantResult]) -> str:
    """The basis of every solved variant, each once."""
    return _listed(result.basis for result in results)


def described_basis(variants: Iterable[Variant]) -> str:
    """The basis that variants have once their loops of record are solved."""
    return _listed(map(expected_basis, variants))


def expected_basis(variant: Variant) -> Basis:
    """The basis that a variant has once its loop of record is solved."""
    if variant.placed is not None or (variant.laid_out is not None and variant.laid_out.parts):
        return Basis.WHOLE_LOOP
    if variant.plan is not None or variant.laid_out is not None:
        return Basis.COPPER_LOOP
    return Basis.TURN if variant.view is View.AXISYMMETRIC else Basis.SECTION


def _listed(bases: Iterable[Basis]) -> str:
    return "; ".join(dict.fromkeys(basis.value for basis in bases))
