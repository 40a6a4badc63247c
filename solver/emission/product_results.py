"""What is predicted of a product's emission, all sources together; frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.operation.sites import BoardAxis
from geometries.quantities import MHZ
from solver.emission.quantities import HighestLine, Margin
from solver.emission.total import Leader, SpreadChange, TotalLevels
from solver.notation import numbers

SUM = "sum"
"""Name of all sources together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceLine:
    """The highest line of one source, or of the sum.

    Parameters
    ----------
    name : str
        The source.
    highest : HighestLine
        Middle over the ways in which the board may stand.
    band : float
        What it is uncertain by, half of the spread over them included, to both sides [dB].
    """

    name: str
    highest: HighestLine
    band: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProductPrediction:
    """One variant's emission, all sources together.

    Parameters
    ----------
    name : str
        The variant.
    total : TotalLevels
        Middle over the ways in which the board may stand.
    lines : tuple of SourceLine
        Highest line of every source; the sum comes last.
    ceiling : float
        Highest line of the sum, were all sources in phase and the board stood as it emits most [dBµV/m].
    margin : Margin
        Where the sum comes closest to a limit.
    leader : Leader
        Which source leads at the sum's highest line.
    leaders : tuple of Leader
        Which source leads over which frequencies.
    gains : tuple of (BoardAxis, float)
        What the site adds to the loop's field in free space at the sum's highest line, by the axis that points up [dB];
        none for a loop without moment.
    changes : tuple of SpreadChange
        Of the highest lines against the reference; the sum comes last.
    study : bool
        Whether a ground layer of it is tied nowhere, so that nobody builds it.
    """

    name: str
    total: TotalLevels
    lines: tuple[SourceLine, ...]
    ceiling: float
    margin: Margin
    leader: Leader
    leaders: tuple[Leader, ...]
    gains: tuple[tuple[BoardAxis, float], ...]
    changes: tuple[SpreadChange, ...]
    study: bool

    @property
    def sum_line(self) -> SourceLine:
        """Highest line of the sum."""
        return self.lines[-1]

    @property
    def sum_change(self) -> SpreadChange:
        """Change of the sum's highest line against the reference."""
        return self.changes[-1]

    @property
    def margin_band(self) -> float:
        """What the margin is uncertain by, to both sides [dB]."""
        return float(self.total.bands[self.total.nearest(self.margin.frequency)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """What one change brings to the highest line of the sum.

    Parameters
    ----------
    name : str
        What is changed.
    change, band : float
        After less before, and what it is uncertain by, to both sides [dB]; negative is less emission.
    """

    name: str
    change: float
    band: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProductComparison:
    """All variants as products.

    Parameters
    ----------
    reference : str
        Variant that changes are against.
    predictions : tuple of ProductPrediction
        In the scenario's order.
    measures : tuple of Measure
        What single changes bring to the sum of the least emitting board.
    """

    reference: str
    predictions: tuple[ProductPrediction, ...]
    measures: tuple[Measure, ...] = ()

    @property
    def sentence(self) -> str:
        """What leads the least of the sums, and what it brings against the reference, if bands tell them apart."""
        least = self.least
        line, leader = least.sum_line, least.leader
        first = (
            f"All sources together: “{least.name}” has its highest line at {line.highest.frequency / MHZ:.0f} MHz, "
            f"{numbers.whole_decibels(line.highest.level, line.band)} dBµV/m, led by the {leader.name}"
            f"{'' if leader.decided else ' (within the bands)'}"
        )
        if least.name == self.reference:
            return f"{first}."
        change = least.sum_change
        size = numbers.whole_decibels(abs(change.change), change.band)
        told = f"{size} dB {'less' if change.change < 0 else 'more'}"
        equal = "" if abs(change.change) > change.band else ": equal within the band"
        return f"{first}; that is {told} than “{self.reference}”{equal}."

    @property
    def least(self) -> ProductPrediction:
        """The variant whose highest line is lowest; a study only where nothing else is there."""
        return min(self.predictions, key=lambda each: (each.study, each.sum_line.highest.level))
