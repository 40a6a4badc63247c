"""From the `[emission]` table of a scenario file to :class:`~geometries.operation.emission.Emission`."""

from __future__ import annotations

from pathlib import Path
from typing import Self

from pydantic import model_validator

from geometries.files.switching_reading import own_or_of_edge
from geometries.files.tables import Capacitance, Current, Decibel, Fraction, Frequency, Length, Table, Time
from geometries.operation.emission import BAND, Cable, Emission, Site
from geometries.operation.limits import LimitLine, read_limits
from geometries.operation.published_limits import published_limit
from geometries.operation.switching import Switching


class EmissionTable(Table):
    """The loop's current, the test site, cables and limits."""

    current: Current
    frequency: Frequency | None = None
    duty: Fraction = 0.5
    rise_time: Time | None = None
    fall_time: Time | None = None
    distance: Length = 3.0
    site: Site = Site.OPEN_AREA_MAXIMUM
    limits: list[str] = []
    limits_file: str = ""
    highest_frequency: Frequency = 1e9
    band: Decibel = BAND
    upright_height: Length = 0.0
    upright_length: Length = 0.0
    cable_length: Length | None = None
    cable_diameter: Length = 4e-3
    stray_capacitance: Capacitance = 0.0

    @model_validator(mode="after")
    def _some_limit(self) -> Self:
        if not self.limits and not self.limits_file:
            raise ValueError('give limits = ["CISPR 32 class B"], or limits_file = "my-limits.csv", or both')
        return self


def build_emission(table: EmissionTable, folder: Path, switching: Switching | None) -> Emission:
    """Build what a scenario says about emission.

    Parameters
    ----------
    table : EmissionTable
        As read.
    folder : Path
        Where a file of limits is looked for.
    switching : Switching, optional
        The switching edge; frequency and edge are taken from it where the table does not give them.

    Raises
    ------
    ScenarioError
        If a value is impossible or missing, or a limit is not known.
    """
    of_edge = (None, None) if switching is None else (switching.frequency, switching.full_edge)
    frequency = own_or_of_edge("emission", "frequency", table.frequency, of_edge[0], "1.2 MHz")
    rise_time = own_or_of_edge("emission", "rise_time", table.rise_time, of_edge[1], "2 ns")
    return Emission(
        current=table.current,
        frequency=frequency,
        duty=table.duty,
        rise_time=rise_time,
        fall_time=rise_time if table.fall_time is None else table.fall_time,
        distance=table.distance,
        site=table.site,
        limits=_limits(table, folder),
        highest_frequency=table.highest_frequency,
        band=table.band,
        upright_height=table.upright_height,
        upright_length=table.upright_length,
        cable=None if table.cable_length is None else Cable(length=table.cable_length, diameter=table.cable_diameter),
        stray_capacitance=table.stray_capacitance,
        switching=switching,
    )


def _limits(table: EmissionTable, folder: Path) -> tuple[LimitLine, ...]:
    named = [published_limit(name, table.distance) for name in table.limits]
    own = [read_limits(folder / table.limits_file, table.distance)] if table.limits_file else []
    return (*named, *own)
