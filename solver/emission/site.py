"""What antenna scan, turntable and ground make of a dipole's field in free space.

Axes of the site: x from the product to the antenna, z up; the dipole stands on the table over the origin. The antenna
receives the component across (horizontal polarisation) and the upright one (vertical polarisation); a receiver keeps
the largest over height, polarisation and turn of the table.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometries.operation.sites import TABLE_HEIGHT, BoardAxis, MeasuringSite
from solver.emission.dipole import DipoleKind
from solver.formulas import (
    ELECTRIC_IMAGE,
    MAGNETIC_IMAGE,
    electric_dipole_largest_field,
    electric_dipole_tensor,
    magnetic_dipole_tensor,
    small_loop_electric_field,
)

_TURNS = np.arange(0.0, 2 * math.pi, math.pi / 36)
"""Positions of the turntable [rad]; 5° miss the largest value by less than 0.01 dB."""


def received_field(site: MeasuringSite, kind: DipoleKind, moment: NDArray[np.complex128], frequency: float) -> float:
    """Largest field strength that a receiver finds of a dipole [V/m].

    Parameters
    ----------
    site : MeasuringSite
        Where the antenna stands.
    kind : DipoleKind
        Which dipole.
    moment : (3,) complex array
        Its components in the site's axes, z up [A m² or C m], in any position of the turntable.
    frequency : float
        [Hz].

    Returns
    -------
    float
        Largest over height, polarisation and turntable, peak or root mean square as the moment is.

    Notes
    -----
    Exact for a point dipole over a perfectly conducting plane. Range: product small against the distance.

    Examples
    --------
    >>> from geometries.operation.sites import anechoic_site, semi_anechoic_site
    >>> upright = np.array([0.0, 0.0, 1e-7 + 0.0j])
    >>> room = received_field(semi_anechoic_site(3.0), DipoleKind.MAGNETIC, upright, 30e6)
    >>> free = received_field(anechoic_site(3.0), DipoleKind.MAGNETIC, upright, 30e6)
    >>> f"{20 * math.log10(room / free):.1f} dB"
    '-6.8 dB'
    """
    cosine, sine = np.cos(_TURNS), np.sin(_TURNS)
    across, along = moment[0] * cosine - moment[1] * sine, moment[0] * sine + moment[1] * cosine
    turned = np.stack([across, along, np.full_like(across, moment[2])])
    return float(np.abs(np.einsum("rc,ct->rt", _transfer(site, kind, frequency), turned)).max())


def site_gain(
    site: MeasuringSite, kind: DipoleKind, moment: NDArray[np.complex128], frequency: float, upright: BoardAxis
) -> float:
    """Received field over the largest one of the same dipole in free space [1].

    Parameters
    ----------
    site, kind, frequency : MeasuringSite, DipoleKind, float
        As for :func:`received_field`.
    moment : (3,) complex array
        Its components in the board's axes (across, along, normal), in any unit, not all zero.
    upright : BoardAxis
        The board's axis that points up.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        If the moment is zero.

    Notes
    -----
    The field in free space is that of a dipole of the same magnitude, in the direction across its axis.
    """
    magnitude = float(np.linalg.norm(moment))
    if not magnitude > 0:
        raise ValueError("a moment of zero has no gain; leave its source out")
    free = free_space_field(kind, magnitude, frequency, site.distance)
    return received_field(site, kind, _stood_up(moment, upright), frequency) / free


def free_space_field(kind: DipoleKind, magnitude: float, frequency: float, distance: float) -> float:
    """Field strength of a dipole in free space across its axis [V/m]."""
    if kind is DipoleKind.MAGNETIC:
        return small_loop_electric_field(magnitude, frequency, distance)
    return electric_dipole_largest_field(magnitude, frequency, distance)


def _transfer(site: MeasuringSite, kind: DipoleKind, frequency: float) -> NDArray[np.complex128]:
    """Received components per unit moment, (heights × 2, 3)."""
    tensor, image = {
        DipoleKind.MAGNETIC: (magnetic_dipole_tensor, MAGNETIC_IMAGE),
        DipoleKind.ELECTRIC: (electric_dipole_tensor, ELECTRIC_IMAGE),
    }[kind]
    direct = tensor(_displacements(site, TABLE_HEIGHT), frequency)
    reflected = tensor(_displacements(site, -TABLE_HEIGHT), frequency) * image
    field = direct + site.reflection * reflected
    return np.asarray(field[:, 1:, :].reshape(-1, 3))


def _displacements(site: MeasuringSite, height: float) -> NDArray[np.float64]:
    """From a dipole at a height over the ground to the antenna's positions, (n, 3) [m]."""
    up = np.asarray(site.heights) - height
    return np.stack([np.full_like(up, site.distance), np.zeros_like(up), up], axis=1)


def _stood_up(moment: NDArray[np.complex128], upright: BoardAxis) -> NDArray[np.complex128]:
    """Components in the site's axes of a vector in the board's, that axis up."""
    return np.roll(moment, 2 - upright.value)
