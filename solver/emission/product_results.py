"""What is predicted of a product's emission, all sources together; frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.operation.sites import BoardAxis
from solver.emission.quantities import HighestLine, Margin
from solver.emission.total import Leader, SpreadChange, TotalLevels

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

    @property
    def sum_line(self) -> SourceLine:
        """Highest line of the sum."""
        return self.lines[-1]

    @property
    def sum_change(self) -> SpreadChange:
        """Change of the sum's highest line against the reference."""
        return self.changes[-1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProductComparison:
    """All variants as products.

    Parameters
    ----------
    reference : str
        Variant that changes are against.
    predictions : tuple of ProductPrediction
        In the scenario's order.
    sentence : str
        What leads, and what the least of them brings.
    """

    reference: str
    predictions: tuple[ProductPrediction, ...]
    sentence: str
