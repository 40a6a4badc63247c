"""Conductors, each value beside its source."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.errors import GeometryError

REFERENCE_TEMPERATURE = 20.0
"""Temperature to which handbook conductivities refer [°C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """A non-magnetic metal (relative permeability 1) with a linear temperature law.

    Parameters
    ----------
    name : str
        What it is called in tables and figures.
    conductivity : float
        Electrical conductivity at 20 °C [S/m], > 0.
    temperature_coefficient : float
        Relative change of resistivity per kelvin, referred to 20 °C [1/K].

    Raises
    ------
    GeometryError
        If the conductivity is not positive.

    Examples
    --------
    >>> from geometries import Conductor
    >>> Conductor(name="aluminium", conductivity=37.7e6, temperature_coefficient=0.0039).at_temperature(85).name
    'aluminium at 85 °C'
    """

    name: str
    conductivity: float
    temperature_coefficient: float = 0.0

    def __post_init__(self) -> None:
        if not self.conductivity > 0:
            raise GeometryError(f"conductivity of {self.name!r} is {self.conductivity} S/m; it must be above 0")

    def at_temperature(self, temperature: float) -> Conductor:
        r"""Return the same metal at another temperature.

        .. math:: \sigma(T) = \sigma_{20} / [1 + \alpha (T - 20)]

        Parameters
        ----------
        temperature : float
            Metal temperature [°C]; the linear law holds for copper from about -50 to 200 °C.

        Returns
        -------
        Conductor
            Conductivity referred to `temperature`.

        Raises
        ------
        GeometryError
            If the temperature lies outside -50 to 200 °C.

        Examples
        --------
        Resistivity of annealed copper at 85 °C is 2.1646e-8 ohm m:

        >>> round(1e8 / COPPER.at_temperature(85).conductivity, 4)
        2.1646
        """
        if not -50 <= temperature <= 200:
            raise GeometryError(f"temperature is {temperature} °C; the linear law is used from -50 to 200 °C")
        factor = 1 + self.temperature_coefficient * (temperature - REFERENCE_TEMPERATURE)
        return Conductor(name=f"{self.name} at {temperature:g} °C", conductivity=self.conductivity / factor)


COPPER = Conductor(name="copper", conductivity=58e6, temperature_coefficient=0.00393)
"""Annealed copper at 20 °C: 1/58 ohm mm²/m and 0.393 %/K.

IEC 60028:1925, *International standard of resistance for copper*, clauses 1-3 (value taken from two
texts that quote it; the standard itself was not opened). Plated copper can be a few percent worse.
"""
