"""What a comparison of variants yields."""

from __future__ import annotations

from dataclasses import dataclass

from solver.errors import NumberedWarning
from solver.study.figures_of_merit import AnyFigure, Readings
from solver.variant.analysis import SolvedStudy
from solver.variant.figure import Change, Reading
from solver.variant.results import UnsolvedVariant


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StudyResult(SolvedStudy):
    r"""A finished, or interrupted, comparison.

    Parameters
    ----------
    scenario, results, reference, outcomes : Scenario, tuple of VariantResult, str, tuple of object
        As of :class:`solver.variant.analysis.SolvedStudy`.
    figures : tuple of Figure
        The figures that the scenario has.
    readings : tuple of mapping
        Of every variant, by the figure's key.
    decision : str
        Which loop is smallest, and what it gains.
    warnings : tuple of NumberedWarning
        Those that concern the whole study.
    versions : tuple of (str, str)
        Program and library versions.
    unsolved : tuple of UnsolvedVariant
        Variants that could not be solved, with the reason.

    Examples
    --------
    >>> from geometries import read_builtin_scenario
    >>> from solver import run_study
    >>> study = run_study(read_builtin_scenario("garden-lamp"), workers=1)
    >>> study.complete, f"{study.reading('lamp', 'loop_inductance').value * 1e9:.1f} nH"
    (True, '3.0 nH')
    """

    figures: tuple[AnyFigure, ...]
    readings: tuple[Readings, ...]
    decision: str
    warnings: tuple[NumberedWarning, ...]
    versions: tuple[tuple[str, str], ...]
    unsolved: tuple[UnsolvedVariant, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether every variant of the scenario was solved."""
        return len(self.results) == len(self.scenario.variants)

    @property
    def headlines(self) -> tuple[AnyFigure, ...]:
        """The figures that tables show."""
        return tuple(figure for figure in self.figures if figure.headline)

    def reading(self, name: str, key: str) -> Reading:
        """One figure of one variant."""
        names = [result.variant.name for result in self.results]
        return self.readings[names.index(name)][key]

    def change(self, name: str, figure: AnyFigure) -> float:
        """A figure of a variant against the reference: ratio in decibels, or difference [SI], as the figure has it."""
        value, base = (self.reading(each, figure.key).value for each in (name, self.reference))
        return figure.decibels(value, base) if figure.change is Change.DECIBELS else value - base
