"""Rectangular bars of finite length with uniform current: partial inductances."""

import itertools
import math
import sys
from dataclasses import dataclass

import numpy as np

from solver.constants import MU_0
from solver.formulas.filaments import filaments_partial_mutual
from solver.formulas.ranges import require_finite, require_positive, require_within
from solver.formulas.rectangles import Rectangle, second_difference

# Largest relative rounding error of the 64 terms that is let through.
ROUNDING_LIMIT = 1e-6
# The terms cancel for bars farther apart than so many of their sides; four Gauss points a side give 1e-7 there.
FAR = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A bar of rectangular section along z.

    Attributes
    ----------
    section : Rectangle
        Its cross-section.
    start : float
        Where it starts along z [m].
    length : float
        Its length along the current [m], > 0.

    Raises
    ------
    ValueError
        If the length is not positive or the start not finite.
    """

    section: Rectangle
    start: float
    length: float

    def __post_init__(self) -> None:
        """Refuse what is not a bar."""
        require_finite(self.start, "start", "m")
        require_positive(self.length, "length", "m")


def _kernel(x: float, y: float, z: float) -> float:
    """Sixth integral of 1/r, twice over each coordinate; even in all three."""
    x, y, z = abs(x), abs(y), abs(z)
    r = math.sqrt(x * x + y * y + z * z)
    if r == 0.0:
        return 0.0
    total = (x**4 + y**4 + z**4 - 3.0 * (x * x * y * y + y * y * z * z + z * z * x * x)) * r / 60.0
    for u, v, w in ((x, y, z), (y, z, x), (z, x, y)):
        across = math.hypot(v, w)
        if u > 0.0 and across > 0.0:
            total += (v * v * w * w / 4.0 - v**4 / 24.0 - w**4 / 24.0) * u * math.asinh(u / across)
        if u > 0.0:
            total -= u**3 * v * w / 6.0 * math.atan2(v * w, u * r)
    return total


def bars_partial_inductance(first: Bar, second: Bar) -> float:
    r"""Partial inductance of two parallel rectangular bars; of one bar with itself if it is given twice.

    .. math::
        M = \frac{\mu_0}{4\pi}\frac1{A_1A_2}\int\!\!\int\frac{dV_1\,dV_2}{|r_1 - r_2|}
          = \frac{\mu_0}{4\pi}\frac1{A_1A_2}\sum_{ijk}\pm f(x_i, y_j, z_k)

    .. math::
        f = \left(\frac{y^2z^2}4 - \frac{y^4 + z^4}{24}\right)x\,\mathrm{arsinh}\frac x{\sqrt{y^2 + z^2}} + \ldots
          + \frac{x^4 + y^4 + z^4 - 3x^2y^2 - 3y^2z^2 - 3z^2x^2}{60}\,r
          - \frac{xyz^3}6\arctan\frac{xy}{zr} - \ldots

    with the sixty-four differences of the faces' positions; the dots are the terms with x, y and z exchanged in turn.

    Parameters
    ----------
    first, second : Bar
        The bars; the same one twice gives its partial self-inductance. They may overlap.

    Returns
    -------
    float
        Partial inductance for currents of the same direction [H].

    Raises
    ------
    ValueError
        If the bars are so thin against their length that rounding would spoil the sixth digit.

    Notes
    -----
    Range: uniform current, non-magnetic bars; exact but for rounding. Lengths are scaled by the extent first. Where the
    bars are far apart the terms cancel; there the mean over filaments is taken by quadrature, to 1e-7. Meaning only in
    a sum round a closed loop.

    References
    ----------
    .. [1] C. Hoer, C. Love, "Exact inductance equations for rectangular conductors with applications to more
       complicated geometries", Journal of Research of the National Bureau of Standards 69C (1965) 127-137 (from
       memory).
    .. [2] A. E. Ruehli, "Inductance calculations in a complex integrated circuit environment", IBM Journal of Research
       and Development 16 (1972) 470-481, the concept of partial inductance (from memory).

    Examples
    --------
    >>> trace = Rectangle(left=0.0, bottom=0.0, width=1e-3, height=35e-6)
    >>> bar = Bar(section=trace, start=0.0, length=10e-3)
    >>> f"{bars_partial_inductance(bar, bar) * 1e9:.6f}"
    '6.986382'
    """
    one, other = first.section, second.section
    if _gap(first, second) > FAR * max(one.width, one.height, other.width, other.height):
        return _mean_over_filaments(first, second)
    across = second_difference(one.left, one.width, other.left, other.width)
    up = second_difference(one.bottom, one.height, other.bottom, other.height)
    along = second_difference(first.start, first.length, second.start, second.length)
    extent = max(abs(gap) for _, gap in across + up + along)
    terms = [
        p * q * s * _kernel(x / extent, y / extent, z / extent)
        for (p, x), (q, y), (s, z) in itertools.product(across, up, along)
    ]
    total = math.fsum(terms)
    loss = sys.float_info.epsilon * max(map(abs, terms)) / abs(total) if total else math.inf
    if loss > ROUNDING_LIMIT:
        raise ValueError(f"rounding error of the partial inductance is {loss:.1g}; allowed: up to {ROUNDING_LIMIT:g}")
    return MU_0 / (4.0 * math.pi) * total * extent**5 / (one.area * other.area)


def _gap(first: Bar, second: Bar) -> float:
    """Shortest distance of two bars."""
    one, other = first.section, second.section
    return math.hypot(
        max(0.0, other.left - one.left - one.width, one.left - other.left - other.width),
        max(0.0, other.bottom - one.bottom - one.height, one.bottom - other.bottom - other.height),
        max(0.0, second.start - first.start - first.length, first.start - second.start - second.length),
    )


def _mean_over_filaments(first: Bar, second: Bar) -> float:
    """Partial mutual inductance as the mean over four by four Gauss points of each section."""
    points, weights = np.polynomial.legendre.leggauss(4)
    grid = itertools.product(zip(points, weights, strict=True), repeat=2)
    nodes = [(0.5 + 0.5 * x, 0.5 + 0.5 * y, 0.25 * p * q) for (x, p), (y, q) in grid]
    one, other = first.section, second.section
    return math.fsum(
        p
        * q
        * filaments_partial_mutual(
            first.length,
            second.length,
            second.start - first.start,
            math.hypot(
                other.left + u * other.width - one.left - x * one.width,
                other.bottom + v * other.height - one.bottom - y * one.height,
            ),
        )
        for (x, y, p), (u, v, q) in itertools.product(nodes, nodes)
    )


def rosa_bar_partial_inductance(length: float, width: float, thickness: float) -> float:
    r"""Partial self-inductance of a long rectangular bar, by its geometric mean distance.

    .. math:: L = \frac{\mu_0 l}{2\pi}\left[\ln\frac{2l}{w + t} + \frac12 + 0.2235\,\frac{w + t}l\right]

    Parameters
    ----------
    length : float
        Length :math:`l` [m], at least the perimeter's half w + t.
    width, thickness : float
        Sides of the section :math:`w, t` [m], > 0.

    Returns
    -------
    float
        Partial inductance [H].

    Raises
    ------
    ValueError
        If an argument is not positive, or the bar too short.

    Notes
    -----
    Range: uniform current, l >= w + t: below the exact value by up to 0.3 % for l = 10 (w + t), 2 % for
    2 (w + t) and 5 % for w + t, most for thin bars.

    References
    ----------
    .. [1] E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau of Standards 4
       (1908) 301-344 (from memory).

    Examples
    --------
    >>> f"{rosa_bar_partial_inductance(10e-3, 1e-3, 35e-6) * 1e9:.6f}"
    '6.968926'
    """
    require_positive(width, "width", "m")
    require_positive(thickness, "thickness", "m")
    require_positive(length, "length", "m")
    around = width + thickness
    require_within(length, around, math.inf, "length", "m")
    bracket = math.log(2.0 * length / around) + 0.5 + 0.2235 * around / length
    return MU_0 * length / (2.0 * math.pi) * bracket


def bars_rectangle_inductance(length: float, width: float, strip_width: float, thickness: float) -> float:
    r"""Inductance of a rectangular loop of flat bars with uniform current, by their partial inductances.

    .. math:: L = 2\,(L_a - M_a) + 2\,(L_b - M_b)

    Parameters
    ----------
    length, width : float
        Sides between the bars' middles :math:`a, b` [m], > the bars' width.
    strip_width : float
        Width of the bars in the loop's plane [m], > 0.
    thickness : float
        Thickness of the bars at right angles to it [m], > 0.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is not positive, or the bars meet.

    Notes
    -----
    Range: DC in bars narrow against the sides. Each bar runs from middle to middle, and the current's turn
    in the corners is left out: an error of the order of the bars' width over the side. At high frequency the current
    crowds to the inside, which lowers the value; the plan view is the tool for that.

    References
    ----------
    .. [1] A. E. Ruehli, "Inductance calculations in a complex integrated circuit environment", IBM Journal of Research
       and Development 16 (1972) 470-481 (from memory).

    Examples
    --------
    >>> f"{bars_rectangle_inductance(10e-3, 5e-3, 0.2e-3, 35e-6) * 1e9:.3f}"
    '24.524'
    """
    require_positive(strip_width, "width of the bars", "m")
    require_positive(thickness, "thickness", "m")
    total = 0.0
    for along, across in ((length, width), (width, length)):
        require_within(across, math.nextafter(strip_width, math.inf), math.inf, "side between the bars' middles", "m")
        near = Rectangle(left=0.0, bottom=0.0, width=strip_width, height=thickness)
        far = Rectangle(left=across, bottom=0.0, width=strip_width, height=thickness)
        bar, opposite = (Bar(section=section, start=0.0, length=along) for section in (near, far))
        total += 2.0 * (bars_partial_inductance(bar, bar) - bars_partial_inductance(bar, opposite))
    return total
