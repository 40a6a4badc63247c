"""Published limits of radiated emission.

A limit in force is the standard's own text, in its current edition; these are copies for design. Where the text was not
at hand a line says that it is from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from geometries.errors import ScenarioError
from geometries.operation.limits import LimitBand, LimitLine

_HIGHEST = 40e9
_CONVERTIBLE = (3.0, 10.0)
_PER_CLASS = 6.0
"""Between two classes of CISPR 25 [dB] (from memory)."""


def _bands(*levels: tuple[float, float, float, str]) -> tuple[LimitBand, ...]:
    return tuple(LimitBand(start=a * 1e6, stop=b * 1e6, level=level, detector=name) for a, b, level, name in levels)


def _above_1_ghz(average: float) -> tuple[LimitBand, ...]:
    """CISPR 32 from 1 to 6 GHz at 3 m: average, 4 dB more above 3 GHz; peak 20 dB above the average."""
    return _bands(
        (1000, 3000, average, "average"),
        (1000, 3000, average + 20, "peak"),
        (3000, 6000, average + 4, "average"),
        (3000, 6000, average + 24, "peak"),
    )


def _anechoic(lowest: float) -> tuple[LimitBand, ...]:
    """CISPR 32 in a fully anechoic room: falling by 7 dB from 30 to 230 MHz, then as at 30 MHz."""
    slope = -7.0 / math.log10(230 / 30)
    return (
        LimitBand(start=30e6, stop=230e6, level=lowest, slope=slope),
        LimitBand(start=230e6, stop=1e9, level=lowest),
    )


def _fcc(*microvolts: float) -> tuple[LimitBand, ...]:
    """Levels of 47 CFR 15.109 from its field strengths [µV/m], in its four bands, and the peak above 1 GHz."""
    edges = (30e6, 88e6, 216e6, 960e6, _HIGHEST)
    detectors = ("quasi-peak", "quasi-peak", "quasi-peak", "average")
    bands = [
        LimitBand(start=edges[index], stop=edges[index + 1], level=20 * math.log10(value), detector=detectors[index])
        for index, value in enumerate(microvolts)
    ]
    return (*bands, LimitBand(start=1e9, stop=_HIGHEST, level=bands[-1].level + 20, detector="peak"))


# MHz, peak and average of class 5 [dBµV/m].
_VEHICLE_SERVICES = (
    (30, 54, 40, 20),
    (41, 88, 28, 18),
    (68, 87, 35, 15),
    (76, 108, 38, 18),
    (142, 175, 35, 15),
    (171, 245, 26, 16),
    (174, 230, 32, 22),
    (300, 330, 32, 18),
    (380, 512, 38, 18),
    (420, 450, 32, 18),
    (468, 944, 41, 31),
    (470, 770, 45, 35),
    (820, 960, 44, 24),
)


def _vehicle_lines() -> Iterator[LimitLine]:
    for number in range(1, 6):
        shift = _PER_CLASS * (5 - number)
        yield LimitLine(
            name=f"CISPR 25 class {number}",
            distance=1.0,
            bands=_bands(
                *(
                    (start, stop, level + shift, detector)
                    for start, stop, peak, average in _VEHICLE_SERVICES
                    for level, detector in ((average, "average"), (peak, "peak"))
                )
            ),
            source=f"CISPR 25, components of road vehicles in an absorber-lined enclosure, class {number}, 1 m, bands "
            "of services from 30 MHz to 960 MHz: from memory; look up the edition and the services that the "
            "customer names",
        )


PUBLISHED_LIMITS = (
    LimitLine(
        name="CISPR 32 class A",
        distance=3.0,
        bands=(*_bands((30, 230, 50, "quasi-peak"), (230, 1000, 57, "quasi-peak")), *_above_1_ghz(56)),
        source="CISPR 32, class A, 3 m: 50 and 57 dBµV/m below 1 GHz as printed in a published test report; above "
        "1 GHz average and peak from memory",
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
        bands=(*_bands((30, 230, 40, "quasi-peak"), (230, 1000, 47, "quasi-peak")), *_above_1_ghz(50)),
        source="CISPR 32:2012, tables A.4 and A.5, class B, 3 m; peak above 1 GHz from memory",
    ),
    LimitLine(
        name="CISPR 32 class B",
        distance=10.0,
        bands=_bands((30, 230, 30, "quasi-peak"), (230, 1000, 37, "quasi-peak")),
        source="CISPR 32:2012, table A.4, class B, 10 m",
    ),
    *(
        LimitLine(
            name=f"CISPR 32 class {name}, anechoic room",
            distance=distance,
            bands=_anechoic(level),
            source=f"CISPR 32:2015, class {name}, fully anechoic room, {distance:g} m: from memory",
        )
        for name, distance, level in (("A", 3.0, 52), ("A", 10.0, 42), ("B", 3.0, 42), ("B", 10.0, 32))
    ),
    LimitLine(
        name="FCC 15.109 class B",
        distance=3.0,
        bands=_fcc(100, 150, 200, 500),
        source="47 CFR 15.109(a): 100, 150, 200, 500 µV/m at 3 m; peak above 1 GHz: 47 CFR 15.35(b), from memory",
    ),
    LimitLine(
        name="FCC 15.109 class A",
        distance=10.0,
        bands=_fcc(90, 150, 210, 300),
        source="47 CFR 15.109(b): 90, 150, 210, 300 µV/m at 10 m; peak above 1 GHz: 47 CFR 15.35(b), from memory",
    ),
    *_vehicle_lines(),
)
"""Radiated limits at the distances they are printed for."""


def published_limit(name: str, distance: float) -> LimitLine:
    """A published limit line at a measuring distance.

    Parameters
    ----------
    name : str
        See :data:`PUBLISHED_LIMITS`.
    distance : float
        3 m or 10 m; 1 m for components of vehicles. Where the standard prints the other one of 3 m and 10 m only, the
        levels are converted in proportion to distance (20 dB per decade), and the source says so.

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
    for line in lines:
        if line.distance == distance:
            return line
    _require_convertible(name, lines[0].distance, distance)
    shift = 20 * math.log10(lines[0].distance / distance)
    return LimitLine(
        name=name,
        distance=distance,
        bands=tuple(replace(band, level=band.level + shift) for band in lines[0].bands),
        source=f"{lines[0].source}; converted to {distance:g} m by 20 dB per decade ({shift:+.2f} dB)",
    )


def _require_convertible(name: str, printed: float, distance: float) -> None:
    """Raise ScenarioError unless a limit may be converted from one distance to another."""
    if printed not in _CONVERTIBLE:
        raise ScenarioError(f"{name} is measured at {printed:g} m, not at {distance:g} m; set the distance to it")
    if distance not in _CONVERTIBLE:
        raise ScenarioError(
            f"the distance is {distance:g} m; published limits are known at 3 m and 10 m, others go into a limits_file"
        )
