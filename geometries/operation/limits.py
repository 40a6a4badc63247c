"""Limits of radiated emission: a line over frequency, and the reader of a user's own from a CSV file.

Levels are in dB above 1 microvolt per metre, as receivers read them: root mean square of a sine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from geometries.errors import ScenarioError
from geometries.operation.comma_tables import read_comma_table, read_level
from geometries.quantities import Quantity, read_quantity

_HEADINGS = ("from", "to", "level")
_DETECTORS = ("quasi-peak", "average", "peak")


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitBand:
    """One level of a limit line.

    Parameters
    ----------
    start, stop : float
        First and last frequency [Hz]; both belong to it.
    level : float
        Limit [dBµV/m].
    detector : str
        "quasi-peak", "average" or "peak". All three read the same on a single steady line.
    slope : float
        Change of the limit over a decade of frequency [dB]; the level is that at `start` then.
    """

    start: float
    stop: float
    level: float
    detector: str = "quasi-peak"
    slope: float = 0.0

    def __post_init__(self) -> None:
        if not (0 < self.start < self.stop and math.isfinite(self.stop)):
            raise ScenarioError(f"a limit goes from {self.start:g} to {self.stop:g} Hz; write 0 < from < to")
        if not -100 < self.level < 200:
            raise ScenarioError(f"a limit is {self.level:g} dBµV/m; allowed: -100 to 200")

    def level_at(self, frequency: float) -> float:
        """Limit at a frequency of the band [dBµV/m], straight over the logarithm of frequency."""
        return self.level + self.slope * math.log10(frequency / self.start)


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitLine:
    """A limit over frequency.

    Parameters
    ----------
    name : str
        For instance "CISPR 32 class B".
    distance : float
        Measuring distance that the levels are for [m].
    bands : tuple of LimitBand
        In ascending order of frequency.
    source : str
        Where the levels stand, and how they were come by.

    Examples
    --------
    >>> from geometries import published_limit
    >>> line = published_limit("CISPR 32 class B", 10.0)
    >>> line.breakpoints, line.level(100e6)
    ((30000000.0, 230000000.0, 1000000000.0), 30.0)
    """

    name: str
    distance: float
    bands: tuple[LimitBand, ...]
    source: str

    def __str__(self) -> str:
        return f"{self.name} at {self.distance:g} m"

    def level(self, frequency: float) -> float:
        """Limit at a frequency [dBµV/m]: the tighter one at the edge of two bands; infinite where there is none."""
        inside = (band for band in self.bands if band.start <= frequency <= band.stop)
        return min((band.level_at(frequency) for band in inside), default=math.inf)

    @property
    def breakpoints(self) -> tuple[float, ...]:
        """First and last frequencies of all bands [Hz], ascending, each once."""
        return tuple(sorted({edge for band in self.bands for edge in (band.start, band.stop)}))


def read_limits(path: Path, distance: float) -> LimitLine:
    """Read a limit line from a CSV file.

    Parameters
    ----------
    path : Path
        Headings ``from,to,level`` and, if wanted, ``detector``; then one band per line, for instance
        ``30 MHz,230 MHz,40,quasi-peak``. Frequencies have units, levels are in dBµV/m at `distance`. Lines that start
        with # are remarks.
    distance : float
        Measuring distance [m].

    Returns
    -------
    LimitLine
        Named after the file.

    Raises
    ------
    ScenarioError
        If the file cannot be read or a line does not describe a band; the message names file and line.
    """
    rows = read_comma_table(path, _HEADINGS, optional=("detector",), what="limits")
    bands = [_read_band(cells, place) for place, cells in rows]
    return LimitLine(
        name=path.stem,
        distance=distance,
        bands=tuple(sorted(bands, key=lambda band: band.start)),
        source=f"the user's file {path.name}",
    )


def _read_band(cells: dict[str, str], place: str) -> LimitBand:
    detector = cells.get("detector", "quasi-peak").lower()
    if detector not in _DETECTORS:
        raise ScenarioError(f"{place}: detector is {detector!r}; it is one of {', '.join(_DETECTORS)}")
    level = read_level(cells["level"], place)
    try:
        start, stop = (read_quantity(cells[key], Quantity.FREQUENCY, key) for key in ("from", "to"))
        return LimitBand(start=start, stop=stop, level=level, detector=detector)
    except ValueError as error:
        raise ScenarioError(f"{place}: {error}") from error
