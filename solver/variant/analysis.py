"""The contract of every analysis: what it finds of one variant, which figures that gives, what it says of all."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from geometries.study.scenario import Scenario
from solver.errors import NumberedWarning
from solver.runs.workforce import Workforce
from solver.variant.figure import Figure
from solver.variant.needs import Needs
from solver.variant.results import VariantResult

F = TypeVar("F")
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolvedStudy:
    """Solved variants of a scenario, with what the analyses have concluded of them so far.

    Parameters
    ----------
    scenario : Scenario
        What was asked.
    results : tuple of VariantResult
        In the scenario's order, at least one.
    reference : str
        Variant that all are compared with.
    outcomes : tuple of object
        What each analysis that was asked for says of all variants, each of a class of its own.
    """

    scenario: Scenario
    results: tuple[VariantResult, ...]
    reference: str
    outcomes: tuple[object, ...] = ()

    def outcome(self, kind: type[T]) -> T | None:
        """What one analysis says, by the class of its outcome; None if it was not asked for or says nothing."""
        return next((each for each in self.outcomes if isinstance(each, kind)), None)

    def with_outcome(self, outcome: object | None) -> SolvedStudy:
        """The same with one outcome more, if there is one."""
        return self if outcome is None else replace(self, outcomes=(*self.outcomes, outcome))

    def result(self, name: str) -> VariantResult:
        """Of one variant."""
        return next(each for each in self.results if each.variant.name == name)

    @property
    def base(self) -> VariantResult:
        """Of the reference."""
        return self.result(self.reference)


def _nothing(scenario: Scenario) -> Needs:
    return frozenset()


def _says_nothing(study: SolvedStudy, workers: Workforce | int) -> None:
    return None


def _warns_of_nothing(study: SolvedStudy) -> Sequence[NumberedWarning]:
    return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis(Generic[F]):
    """One analysis.

    Parameters
    ----------
    key : str
        Its name; that of its table in a scenario file, if it has one.
    asked : callable
        Whether a scenario asks for it.
    find : callable
        What its figures are read from, of one solved variant.
    figures : tuple of Figure
        What it adds to the figures of merit.
    needs : callable
        What has to be solved for its figures in a scenario, beside what each of them names.
    compare : callable
        What it says of all variants, with workers for what takes long of each; None if nothing.
    warnings : callable
        Warnings that follow from that.
    """

    key: str
    asked: Callable[[Scenario], bool]
    find: Callable[[Scenario, VariantResult], F]
    figures: tuple[Figure[F], ...] = ()
    needs: Callable[[Scenario], Needs] = _nothing
    compare: Callable[[SolvedStudy, Workforce | int], object | None] = _says_nothing
    warnings: Callable[[SolvedStudy], Sequence[NumberedWarning]] = _warns_of_nothing


def concluded(study: SolvedStudy, analyses: Sequence[Analysis[Any]], workers: Workforce | int) -> SolvedStudy:
    """The study with what every analysis that is asked for says of it, one after the other."""
    for analysis in analyses:
        if analysis.asked(study.scenario):
            study = study.with_outcome(analysis.compare(study, workers))
    return study


def warnings_of(study: SolvedStudy, analyses: Sequence[Analysis[Any]]) -> Iterator[NumberedWarning]:
    """What the analyses that are asked for warn of."""
    for analysis in analyses:
        if analysis.asked(study.scenario):
            yield from analysis.warnings(study)
