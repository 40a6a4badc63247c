"""Fields of point dipoles in free space, with all near terms, and their images in a perfectly conducting plane."""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from solver.constants import EPSILON_0, ETA_0, SPEED_OF_LIGHT
from solver.formulas.ranges import require_positive, require_within

Points: TypeAlias = NDArray[np.float64]
Tensors: TypeAlias = NDArray[np.complex128]


def magnetic_dipole_tensor(displacements: Points, frequency: float) -> Tensors:
    r"""Electric field of a magnetic dipole, per unit of each component of its moment.

    .. math::
        \mathbf E = -\frac{\eta_0k^2}{4\pi r}\left(1 + \frac1{jkr}\right)e^{-jkr}\;\hat{\mathbf r}\times\mathbf m

    Parameters
    ----------
    displacements : (n, 3) array
        From the dipole to the points [m].
    frequency : float
        f [Hz], > 0.

    Returns
    -------
    (n, 3, 3) complex array
        Element (i, a, b): component a of the field at point i [V/m] per ampere square metre of component b.

    Raises
    ------
    ValueError
        If the frequency is not positive, or a point lies on the dipole.

    Notes
    -----
    Exact for a point dipole in free space, near and far; phasors with time factor exp(+jwt). For a real loop: small
    against the distance and the wavelength (a tenth, common practice).

    References
    ----------
    .. [1] J. D. Jackson, *Classical Electrodynamics*, 3rd ed., 1998, eq. 9.36 (from memory), with -i for j.

    Examples
    --------
    >>> field = magnetic_dipole_tensor(np.array([[3.0, 0.0, 0.0]]), 100e6)[0] @ [0.0, 0.0, 1e-7]
    >>> f"{20 * math.log10(abs(field[1]) / 1e-6):.2f} dBuV/m"
    '12.96 dBuV/m'
    """
    distance, direction, k = _geometry(displacements, frequency)
    scale = -ETA_0 * k**2 / (4.0 * math.pi * distance) * (1.0 + 1.0 / (1j * k * distance)) * np.exp(-1j * k * distance)
    return np.asarray(scale[:, None, None] * _cross_matrices(direction))


def electric_dipole_tensor(displacements: Points, frequency: float) -> Tensors:
    r"""Electric field of an electric dipole, per unit of each component of its moment.

    .. math::
        \mathbf E = \frac{e^{-jkr}}{4\pi\varepsilon_0}\left\{\frac{k^2}{r}
        \left[\mathbf p - \hat{\mathbf r}(\hat{\mathbf r}\cdot\mathbf p)\right] +
        \left(\frac1{r^3} + \frac{jk}{r^2}\right)
        \left[3\hat{\mathbf r}(\hat{\mathbf r}\cdot\mathbf p) - \mathbf p\right]\right\}

    Parameters
    ----------
    displacements : (n, 3) array
        From the dipole to the points [m].
    frequency : float
        f [Hz], > 0.

    Returns
    -------
    (n, 3, 3) complex array
        Element (i, a, b): component a of the field at point i [V/m] per coulomb metre of component b.

    Raises
    ------
    ValueError
        If the frequency is not positive, or a point lies on the dipole.

    Notes
    -----
    Exact for a point dipole in free space, near and far; phasors with time factor exp(+jwt). A short wire of length l
    that carries I has the moment I l / jw.

    References
    ----------
    .. [1] J. D. Jackson, *Classical Electrodynamics*, 3rd ed., 1998, eq. 9.18 (from memory), with -i for j.

    Examples
    --------
    >>> moment = 5e-6 / (2 * math.pi * 50e6)  # a wire of 1 m that carries 5 uA
    >>> field = electric_dipole_tensor(np.array([[300.0, 0.0, 0.0]]), 50e6)[0] @ [0.0, 0.0, moment]
    >>> f"{abs(field[2]) * 300.0 / 3.0 * 1e6:.2f} uV/m"
    '52.36 uV/m'
    """
    distance, direction, k = _geometry(displacements, frequency)
    along = direction[:, :, None] * direction[:, None, :]
    near = (1.0 / distance**3 + 1j * k / distance**2)[:, None, None] * (3.0 * along - np.eye(3))
    far = (k**2 / distance)[:, None, None] * (np.eye(3) - along)
    scale = np.exp(-1j * k * distance) / (4.0 * math.pi * EPSILON_0)
    return np.asarray(scale[:, None, None] * (near + far))


MAGNETIC_IMAGE = np.array([1.0, 1.0, -1.0])
"""What a perfectly conducting plane z = 0 makes of the components of a magnetic dipole in its image."""

ELECTRIC_IMAGE = np.array([-1.0, -1.0, 1.0])
"""What a perfectly conducting plane z = 0 makes of the components of an electric dipole in its image."""


def electric_dipole_largest_field(moment: float, frequency: float, distance: float) -> float:
    r"""Electric field strength of an electric dipole in the direction in which it is largest, across its axis.

    .. math:: |E| = \frac{k^2p}{4\pi\varepsilon_0r}\left|1 - \frac{j}{kr} - \frac1{(kr)^2}\right|

    Parameters
    ----------
    moment : float
        p [C m], >= 0.
    frequency : float
        f [Hz], > 0.
    distance : float
        r [m], > 0.

    Returns
    -------
    float
        Field strength [V/m], peak or root mean square as the moment is.

    Raises
    ------
    ValueError
        If an argument is out of its range.

    Notes
    -----
    Exact for a point dipole. Below kr = 1 the field along the axis is larger; an antenna beside the product does not
    receive it while the dipole stands upright, and the site's gain with the dipole lying counts it.

    References
    ----------
    .. [1] C. A. Balanis, *Antenna Theory*, 3rd ed., 2005, eq. 4-10 (from memory).

    Examples
    --------
    >>> f"{electric_dipole_largest_field(1e-15, 100e6, 3.0) * 1e6:.2f} uV/m"
    '13.00 uV/m'
    """
    require_within(moment, 0.0, math.inf, "moment", "C m")
    require_positive(distance, "distance", "m")
    tensor = electric_dipole_tensor(np.array([[distance, 0.0, 0.0]]), frequency)
    return moment * float(abs(tensor[0, 2, 2]))


def _geometry(displacements: Points, frequency: float) -> tuple[Points, Points, float]:
    """Distances (n,), directions (n, 3) and the wave number."""
    require_positive(frequency, "frequency", "Hz")
    distance = np.linalg.norm(displacements, axis=-1)
    require_positive(float(distance.min()), "distance", "m")
    return distance, displacements / distance[:, None], 2.0 * math.pi * frequency / SPEED_OF_LIGHT


def _cross_matrices(vectors: Points) -> Points:
    """Matrices (n, 3, 3) that take the cross product of each vector with another."""
    return np.asarray(np.cross(vectors[:, None, :], np.eye(3)[None, :, :]).transpose(0, 2, 1))
