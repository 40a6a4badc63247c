"""Vias: one to a ground plane, a pair, and fields of many with their currents."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from solver.constants import MU_0
from solver.formulas.filaments import filaments_partial_mutual, round_bar_surface_partial_inductance
from solver.formulas.ranges import require_positive
from solver.formulas.wire_pair import two_wires_perfect_inductance


def goldfarb_pucel_via_inductance(height: float, radius: float) -> float:
    r"""Inductance of one via from a microstrip to its ground plane.

    .. math::
        L = \frac{\mu_0}{2\pi}\left[h\ln\frac{h + \sqrt{r^2 + h^2}}r + \tfrac32\left(r - \sqrt{r^2 + h^2}\right)\right]

    Parameters
    ----------
    height : float
        Length of the via :math:`h` [m], > 0.
    radius : float
        Its radius :math:`r` [m], > 0.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is not positive.

    Notes
    -----
    Range: one via that ends a microstrip whose current returns in the plane; the factor 3/2 is empirical. It knows no
    second via: for a pair that carries go and return use :func:`via_pair_inductance`.

    References
    ----------
    .. [1] M. E. Goldfarb, R. A. Pucel, "Modeling via hole grounds in microstrip", IEEE Microwave and Guided Wave
       Letters 1 (1991) 135-137 (formula checked against published text).

    Examples
    --------
    >>> f"{goldfarb_pucel_via_inductance(1.6e-3, 150e-6) * 1e12:.4f} pH"
    '542.8827 pH'
    """
    require_positive(height, "height", "m")
    require_positive(radius, "radius", "m")
    slant = math.hypot(height, radius)
    return MU_0 / (2.0 * math.pi) * (height * math.log((height + slant) / radius) + 1.5 * (radius - slant))


def via_pair_inductance(height: float, radius: float, spacing: float) -> float:
    r"""Inductance of two vias that carry a current to and fro between two planes.

    .. math:: L = h\,(\mu_0/\pi)\,\mathrm{arcosh}(s/2r)

    Parameters
    ----------
    height : float
        Distance of the planes, or depth the pair passes :math:`h` [m], > 0.
    radius : float
        Radius of both :math:`r` [m], > 0.
    spacing : float
        Distance of the centres :math:`s` [m], > 2r.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is not positive or the vias touch.

    Notes
    -----
    Range: perfect conductors; exact between two perfect planes, where images make the vias endless. Without planes at
    its ends a pair is shorter of flux there: the value is too high by the order of s/h.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics*, the two-wire line
       (from memory).

    Examples
    --------
    >>> f"{via_pair_inductance(1.0e-3, 150e-6, 1e-3) * 1e9:.9f}"
    '0.749528097'
    """
    require_positive(height, "height", "m")
    return height * two_wires_perfect_inductance(radius, spacing)


def via_field_partial_matrix(height: float, radius: float, positions: ArrayLike) -> NDArray[np.float64]:
    """Partial inductances of a field of equal vias in free space.

    Parameters
    ----------
    height : float
        Length of the vias [m], > 0.
    radius : float
        Radius of the vias [m], > 0.
    positions : (n, 2) array
        Centres [m], more than 2r apart.

    Returns
    -------
    (n, n) array
        Partial inductances [H], all currents counted downwards (see :func:`filaments_partial_mutual`).

    Raises
    ------
    ValueError
        If an argument is not positive, or vias touch.

    Notes
    -----
    Range: current even around each via (centres a few radii apart), no planes near. Meaning only in a sum round a
    closed loop, with the copper above and below.

    References
    ----------
    .. [1] E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau of Standards 4
       (1908) 301-344 (from memory).
    .. [2] A. E. Ruehli, IBM Journal of Research and Development 16 (1972) 470-481 (from memory).

    Examples
    --------
    >>> field = via_field_partial_matrix(1.6e-3, 150e-6, [(0.0, 0.0), (1e-3, 0.0)])
    >>> f"{2 * (field[0, 0] - field[0, 1]) * 1e9:.4f} nH"
    '0.9325 nH'
    """
    distances = _distances(radius, positions)
    own = round_bar_surface_partial_inductance(height, radius)
    matrix = np.full(distances.shape, own)
    for row, column in zip(*np.nonzero(distances), strict=True):
        matrix[row, column] = filaments_partial_mutual(height, height, 0.0, float(distances[row, column]))
    return matrix


def via_field_plane_matrix(height: float, radius: float, positions: ArrayLike) -> NDArray[np.float64]:
    r"""Inductances of a field of equal vias between two planes, for currents that sum to zero.

    .. math:: L_{ik} = -h\,\frac{\mu_0}{2\pi}\ln\frac{d_{ik}}{r}, \qquad d_{ii} = r

    Parameters
    ----------
    height : float
        Distance of the planes [m], > 0.
    radius : float
        Radius of the vias :math:`r` [m], > 0.
    positions : (n, 2) array
        Centres [m], more than 2r apart.

    Returns
    -------
    (n, n) array
        Inductances [H]; only sums over currents that add up to zero mean anything.

    Raises
    ------
    ValueError
        If an argument is not positive, or vias touch.

    Notes
    -----
    Range: perfect planes at both ends, whose images make the vias endless; current even around each via: a pair comes
    out as ln(s/r) in place of arcosh(s/2r), 1.7 % high at s = 6 r and 14 % at 3 r.

    References
    ----------
    .. [1] S. Ramo, J. R. Whinnery, T. Van Duzer, *Fields and Waves in Communication Electronics* (from memory), with
       the method of images.

    Examples
    --------
    >>> field = via_field_plane_matrix(1.0e-3, 150e-6, [(0.0, 0.0), (1e-3, 0.0)])
    >>> f"{(field[0, 0] + field[1, 1] - 2 * field[0, 1]) * 1e9:.4f} nH"
    '0.7588 nH'
    """
    require_positive(height, "height", "m")
    distances = _distances(radius, positions)
    np.fill_diagonal(distances, radius)
    return np.asarray(-height * MU_0 / (2.0 * math.pi) * np.log(distances / radius))


def _distances(radius: float, positions: ArrayLike) -> NDArray[np.float64]:
    require_positive(radius, "radius", "m")
    centres = np.asarray(positions, dtype=np.float64)
    if centres.ndim != 2 or centres.shape[1] != 2:
        raise ValueError(f"positions have the shape {centres.shape}; allowed: (n, 2)")
    distances = np.hypot(*(centres[:, None] - centres[None]).transpose(2, 0, 1))
    nearest = distances[~np.eye(len(centres), dtype=bool)]
    if nearest.size and not nearest.min() > 2.0 * radius:
        raise ValueError(f"two vias are {nearest.min():g} m apart; allowed: above {2.0 * radius:g} m")
    return np.asarray(distances)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ViaField:
    """A field of vias: its inductance [H], and the current of each per ampere of the loop (n,) [1]."""

    inductance: float
    currents: NDArray[np.float64]


def via_field(matrix: ArrayLike, senses: ArrayLike) -> ViaField:
    r"""Inductance of a field of vias of which some carry the current down and the others carry it up.

    Vias of one sense are joined at both ends, so that their voltages are equal; with :math:`S` the vias of a sense

    .. math:: \min_i\ \tfrac12 i^T L\,i, \qquad \sum_{S_+} i = 1, \qquad \sum_{S_-} i = -1

    Parameters
    ----------
    matrix : (n, n) array
        Inductances of the vias [H], from :func:`via_field_partial_matrix` or :func:`via_field_plane_matrix`.
    senses : (n,) array
        +1 for down, -1 for up; both must occur.

    Returns
    -------
    ViaField

    Raises
    ------
    ValueError
        If a sense is neither +1 nor -1, or one of them is missing, or the sizes differ.

    Notes
    -----
    Range: that of the matrix; currents share by inductance alone (well above the frequency where a via's resistance
    equals its reactance: about 1 MHz for a via through a usual board).

    References
    ----------
    .. [1] Kelvin's theorem of minimum energy; no source needed.

    Examples
    --------
    >>> square = [(0.0, 0.0), (1e-3, 0.0), (0.0, 1e-3), (1e-3, 1e-3)]
    >>> field = via_field(via_field_plane_matrix(1e-3, 150e-6, square), [1, -1, -1, 1])
    >>> f"{field.inductance * 1e9:.4f} nH, {field.currents[0]:.3f} A/A"
    '0.3101 nH, 0.500 A/A'
    """
    inductances = np.asarray(matrix, dtype=np.float64)
    signs = np.asarray(senses, dtype=np.float64)
    if inductances.shape != (len(signs), len(signs)):
        raise ValueError(f"matrix has the shape {inductances.shape}; allowed: ({len(signs)}, {len(signs)})")
    if set(signs.tolist()) != {1.0, -1.0}:
        raise ValueError(f"senses are {sorted(set(signs.tolist()))}; allowed: +1 and -1, each at least once")
    groups = np.array([signs > 0, signs < 0], dtype=np.float64)
    scale = np.abs(inductances).max() or 1.0
    system: NDArray[np.float64] = np.block([[inductances / scale, groups.T], [groups, np.zeros((2, 2))]])
    found = np.linalg.solve(system, np.concatenate([np.zeros(len(signs)), [1.0, -1.0]]))
    currents = found[: len(signs)]
    return ViaField(inductance=float(currents @ inductances @ currents), currents=currents)
