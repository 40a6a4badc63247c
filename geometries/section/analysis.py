"""What is solved of every cross-section: frequencies, scan lines, and how closely."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.errors import ScenarioError


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """What to compute for every variant.

    Parameters
    ----------
    frequencies : tuple of float
        Where impedance is computed [Hz], ascending; the report frequency is one of them.
    report_frequency : float
        Frequency of all tables, fields and shares [Hz].
    heights_above, heights_below : tuple of float
        Distances of the scan lines from the board's upper and lower surface [m].
    tolerance : float
        Largest relative gap between the bounds of the inductance, at DC and for perfect conductors.
    axisymmetric_view : bool
        Whether loops that have a round counterpart are shown in the axisymmetric view too.

    Examples
    --------
    >>> from geometries import Analysis
    >>> asked = Analysis(
    ...     frequencies=(1e6, 100e6), report_frequency=100e6, heights_above=(3e-3,), heights_below=(3e-3,)
    ... )
    >>> asked.tolerance
    0.001
    """

    frequencies: tuple[float, ...]
    report_frequency: float
    heights_above: tuple[float, ...]
    heights_below: tuple[float, ...]
    tolerance: float = 1e-3
    axisymmetric_view: bool = True

    def __post_init__(self) -> None:
        if self.report_frequency not in self.frequencies:
            raise ScenarioError("the report frequency must be one of the frequencies")
        if list(self.frequencies) != sorted(set(self.frequencies)) or self.frequencies[0] <= 0:
            raise ScenarioError("frequencies must be above zero, ascending and different from each other")
