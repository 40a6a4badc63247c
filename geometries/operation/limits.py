"""Limits of radiated emission: the published lines, a user's own from a CSV file, and what holds at a frequency.

Levels are in dB above 1 microvolt per metre, as receivers read them: root mean square of a sine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

from geometries.errors import ScenarioError
from geometries.operation.comma_tables import read_comma_table, read_level
from geometries.quantities import Quantity, read_quantity

_HIGHEST = 40e9
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
    """

    start: float
    stop: float
    level: float
    detector: str = "quasi-peak"

    def __post_init__(self) -> None:
        if not (0 < self.start < self.stop and math.isfinite(self.stop)):
            raise ScenarioError(f"a limit goes from {self.start:g} to {self.stop:g} Hz; write 0 < from < to")
        if not -100 < self.level < 200:
            raise ScenarioError(f"a limit is {self.level:g} dBµV/m; allowed: -100 to 200")


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
    ((30000000.0, 230000000.0, 1000000000.0), 30)
    """

    name: str
    distance: float
    bands: tuple[LimitBand, ...]
    source: str

    def level(self, frequency: float) -> float:
        """Limit at a frequency [dBµV/m]: the tighter one at the edge of two bands; infinite where there is none."""
        return min((band.level for band in self.bands if band.start <= frequency <= band.stop), default=math.inf)

    @property
    def breakpoints(self) -> tuple[float, ...]:
        """First and last frequencies of all bands [Hz], ascending, each once."""
        return tuple(sorted({edge for band in self.bands for edge in (band.start, band.stop)}))


def _bands(*levels: tuple[float, float, float, str]) -> tuple[LimitBand, ...]:
    return tuple(LimitBand(start=a * 1e6, stop=b * 1e6, level=level, detector=name) for a, b, level, name in levels)


def _fcc(*microvolts: float) -> tuple[LimitBand, ...]:
    """Levels of 47 CFR 15.109 from its field strengths [µV/m], in its four bands."""
    edges = (30e6, 88e6, 216e6, 960e6, _HIGHEST)
    detectors = ("quasi-peak", "quasi-peak", "quasi-peak", "average")
    return tuple(
        LimitBand(start=edges[index], stop=edges[index + 1], level=20 * math.log10(value), detector=detectors[index])
        for index, value in enumerate(microvolts)
    )


PUBLISHED_LIMITS = (
    LimitLine(
        name="CISPR 32 class A",
        distance=3.0,
        bands=_bands(
            (30, 230, 50, "quasi-peak"),
            (230, 1000, 57, "quasi-peak"),
            (1000, 3000, 56, "average"),
            (3000, 6000, 60, "average"),
        ),
        source="CISPR 32, class A, 3 m: 50 and 57 dBµV/m below 1 GHz as printed in a published test report; 56 and "
        "60 above 1 GHz from memory",
    ),
    LimitLine(
        name="CISPR 32 class A",
        distance=10.0,
        bands=_bands((30, 230, 40, "quasi-peak"), (230, 1000, 47, "quasi-peak")),
        source="CISPR 32, class A, 10 m: 40 and 47 dBµV/m as printed in a published test report",
    ),
    LimitLine(
        name="CISPR 32 class B",
        distance=3.0,
        bands=_bands(
            (30, 230, 40, "quasi-peak"),
            (230, 1000, 47, "quasi-peak"),
            (1000, 3000, 50, "average"),
            (3000, 6000, 54, "average"),
        ),
        source="CISPR 32:2012, tables A.4 and A.5, class B, 3 m",
    ),
    LimitLine(
        name="CISPR 32 class B",
        distance=10.0,
        bands=_bands((30, 230, 30, "quasi-peak"), (230, 1000, 37, "quasi-peak")),
        source="CISPR 32:2012, table A.4, class B, 10 m",
    ),
    LimitLine(
        name="FCC 15.109 class B",
        distance=3.0,
        bands=_fcc(100, 150, 200, 500),
        source="47 CFR 15.109(a): 100, 150, 200, 500 µV/m at 3 m",
    ),
    LimitLine(
        name="FCC 15.109 class A",
        distance=10.0,
        bands=_fcc(90, 150, 210, 300),
        source="47 CFR 15.109(b): 90, 150, 210, 300 µV/m at 10 m",
    ),
)
"""Radiated limits of both standards, at the distances they are printed for. A limit in force is the standard's own
text, in its current edition; these are copies for design."""


def published_limit(name: str, distance: float) -> LimitLine:
    """A published limit line at a measuring distance.

    Parameters
    ----------
    name : str
        See :data:`PUBLISHED_LIMITS`.
    distance : float
        3 m or 10 m. Where the standard prints the other one only, the levels are converted in proportion to distance
        (20 dB per decade), and the source says so.

    Returns
    -------
    LimitLine

    Raises
    ------
    ScenarioError
        If there is no such limit, or the distance is another.

    Examples
    --------
    >>> published_limit("FCC 15.109 class B", 3.0).level(88e6)
    40.0
    """
    known = dict.fromkeys(line.name for line in PUBLISHED_LIMITS)
    lines = [line for line in PUBLISHED_LIMITS if line.name == name]
    if not lines:
        raise ScenarioError(f"no limit is called {name!r}; known are {', '.join(known)}; others as limits_file")
    if distance not in (3.0, 10.0):
        raise ScenarioError(
            f"the distance is {distance:g} m; published limits are known at 3 m and 10 m, others go into a limits_file"
        )
    for line in lines:
        if line.distance == distance:
            return line
    shift = 20 * math.log10(lines[0].distance / distance)
    return LimitLine(
        name=name,
        distance=distance,
        bands=tuple(replace(band, level=band.level + shift) for band in lines[0].bands),
        source=f"{lines[0].source}; converted to {distance:g} m by 20 dB per decade ({shift:+.2f} dB)",
    )


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
