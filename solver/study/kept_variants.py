"""Variants of a comparison, each on the disk as soon as it is solved, and found again by what its numbers depend on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Collection, Iterator
from typing import Any

from geometries.study.fingerprint import computed_from
from geometries.study.scenario import Scenario, only_variant, scan_span
from solver.errors import ReportError
from solver.runs.checkpoint import Journal, described_points
from solver.runs.values import value_of, value_record
from solver.runs.workforce import Workforce
from solver.study.study import attempt_variants, library_versions
from solver.variant.results import UnsolvedVariant, VariantResult

HEADER = {"schema": "copperfield-variants/1"}
"""Of a journal of variants; the inputs stand in every record, since a changed variant leaves the others as they are."""


def kept_variants(scenario: Scenario, journal: Journal) -> tuple[VariantResult, ...]:
    """The variants of a scenario that are in a journal now; records of other inputs or versions are passed over.

    Raises
    ------
    ReportError
        If a record does not describe a variant.
    """
    wanted = {_inputs(scenario, variant.name): variant for variant in scenario.variants}
    found: dict[str, VariantResult] = {}
    with described_points(journal, "a variant"):
        for record in journal.records():
            variant = wanted.get(record["inputs"])
            if variant is not None:
                found[variant.name] = value_of(VariantResult, record["result"], variant=variant)
    return tuple(found.values())


def solve_missing(
    scenario: Scenario,
    journal: Journal,
    found: Collection[VariantResult],
    *,
    not_kept: Callable[[ReportError], object],
    workers: Workforce | int | None = None,
) -> Iterator[VariantResult | UnsolvedVariant]:
    """Solve the variants that a journal does not hold, and write each down as it is finished.

    Parameters
    ----------
    scenario : Scenario
        What to solve.
    journal : Journal
        Opened with :data:`HEADER`.
    found : collection of VariantResult
        What :func:`kept_variants` found.
    not_kept : callable
        Told why, once, if the journal cannot be written; what is solved is handed over all the same.
    workers : Workforce or int, optional
        An open executor, or processes.

    Yields
    ------
    VariantResult or UnsolvedVariant
        As they are finished. One that cannot be solved is not written down: the next run tries it again.
    """
    writable = True
    known = {each.variant.name for each in found}
    for outcome in attempt_variants(scenario, known=known, workers=workers):
        if writable and isinstance(outcome, VariantResult):
            try:
                journal.append(_record(scenario, outcome))
            except ReportError as failure:
                writable = False
                not_kept(failure)
        yield outcome


def _record(scenario: Scenario, result: VariantResult) -> dict[str, Any]:
    return {"inputs": _inputs(scenario, result.variant.name), "result": value_record(result, without=("variant",))}


def _inputs(scenario: Scenario, name: str) -> str:
    """Digest of all that the numbers of a variant depend on."""
    depends = (name, computed_from(only_variant(scenario, name)), scan_span(scenario.variants), library_versions())
    return hashlib.sha256(json.dumps(value_record(depends)).encode()).hexdigest()
