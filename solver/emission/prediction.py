"""From current, moment and ground inductance to levels and margins."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometries.operation.emission import Cable, Emission
from geometries.operation.limits import LimitLine
from solver.emission.cable import DrivingGround, current_for_field, node_driven_current, plane_driven_current
from solver.emission.current import LoopCurrent, RingCircuit, harmonic_numbers, root_mean_square
from solver.emission.results import CableBound, Margin
from solver.formulas import small_loop_electric_field, wire_far_field_bound

MICROVOLT = 1e-6
_LOWEST_LEVEL = 1e-12
"""Field strengths below this [V/m], which nothing receives, count as it."""


def loop_current(emission: Emission, ring: RingCircuit | None) -> LoopCurrent:
    """The current that a scenario describes, with the ring that its edges excite, if that is known."""
    return LoopCurrent(
        amplitude=emission.current,
        frequency=emission.frequency,
        duty=emission.duty,
        rise_time=emission.rise_time,
        fall_time=emission.fall_time,
        ring=ring,
    )


def level(field: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """Field strength, root mean square [V/m], as a level [dBµV/m].

    Examples
    --------
    >>> f"{level(100e-6):.1f}"
    '40.0'
    """
    return 20 * np.log10(np.maximum(field, _LOWEST_LEVEL) / MICROVOLT)


def line_frequencies(emission: Emission, current: LoopCurrent) -> NDArray[np.int64]:
    """Numbers of the lines between the limits' first frequency and the highest one asked for, (n,)."""
    return harmonic_numbers(current, *emission.spectrum)


def loop_levels(
    emission: Emission, current: LoopCurrent, moment: float | NDArray[np.float64], harmonics: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Levels that the loop alone gives at the antenna, for any duty and at the stated one.

    Parameters
    ----------
    emission : Emission
        Distance and site.
    current : LoopCurrent
        In the loop.
    moment : float or (n,) array
        Magnitude of the moment per ampere at the lines [m²].
    harmonics : (n,) array
        Numbers of the lines.

    Returns
    -------
    bound, lines : (n,) array
        [dBµV/m].
    """
    frequencies = (harmonics * current.frequency).astype(float)
    per_area = np.array([small_loop_electric_field(1.0, float(f), emission.distance) for f in frequencies])
    per_ampere = per_area * moment * emission.site.gain
    bound = root_mean_square(current.bounds(frequencies))
    lines = root_mean_square(np.abs(current.lines(harmonics)))
    return level(per_ampere * bound), level(per_ampere * lines)


def closest_margin(
    frequencies: NDArray[np.float64], levels: NDArray[np.float64], limits: Sequence[LimitLine]
) -> Margin:
    """Where levels come closest to any of the limits.

    Raises
    ------
    ValueError
        If no frequency lies within a limit line.
    """
    found = []
    for line in limits:
        allowed = np.array([line.level(float(each)) for each in frequencies])
        closest = int(np.argmin(allowed - levels))
        if math.isfinite(allowed[closest]):
            frequency, at, limit = (float(each[closest]) for each in (frequencies, levels, allowed))
            found.append(Margin(limit=line.name, frequency=frequency, level=at, limit_level=limit))
    if not found:
        raise ValueError("no frequency lies within a limit line; nothing can be compared")
    return min(found, key=lambda margin: margin.value)


def cable_bound(
    emission: Emission,
    cable: Cable,
    current: LoopCurrent,
    frequencies: NDArray[np.float64],
    ground: DrivingGround,
) -> CableBound:
    """Upper bound of the field of a cable that the board drives.

    Parameters
    ----------
    emission : Emission
        Distance, site, limits, stray capacitance.
    cable : Cable
        What is attached.
    current : LoopCurrent
        In the loop.
    frequencies : (n,) array
        Of the lines [Hz].
    ground : DrivingGround
        The conductor whose voltage drives it.

    Returns
    -------
    CableBound
    """
    gain, distance = emission.site.gain, emission.distance
    driven = root_mean_square(_driven_currents(emission, cable, current, frequencies, ground))
    per_ampere = [gain * wire_far_field_bound(1.0, cable.length, float(f), distance) for f in frequencies]
    levels = level(driven * np.array(per_ampere))
    allowed = [
        (current_for_field(_tightest(emission, float(f)) / gain, cable, float(f), distance), float(f))
        for f in frequencies
    ]
    smallest, where = min(allowed)
    return CableBound(
        levels=levels,
        ground=ground.copper,
        ground_inductance=ground.reported,
        closest=closest_margin(frequencies, levels, emission.limits),
        allowed_current=smallest,
        allowed_frequency=where,
    )


def _driven_currents(
    emission: Emission, cable: Cable, current: LoopCurrent, frequencies: NDArray[np.float64], ground: DrivingGround
) -> list[float]:
    """Peak common-mode currents, both mechanisms as if they added up [A]."""
    values = (frequencies, current.bounds(frequencies), current.node_voltage_bounds(frequencies))
    rows = np.stack([*values, ground.inductances(frequencies)], axis=1).tolist()
    by_ground = [plane_driven_current(drive, inductance, cable, f) for f, drive, _, inductance in rows]
    if emission.stray_capacitance == 0:
        return by_ground
    by_node = [node_driven_current(voltage, emission.stray_capacitance, cable, f) for f, _, voltage, _ in rows]
    return [ground_part + node_part for ground_part, node_part in zip(by_ground, by_node, strict=True)]


def _tightest(emission: Emission, frequency: float) -> float:
    """Smallest field strength that any limit allows at a frequency [V/m]."""
    return MICROVOLT * 10 ** (min(line.level(frequency) for line in emission.limits) / 20)
