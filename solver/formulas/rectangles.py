"""Rectangular bars with uniform current, by exact mean logarithmic distances."""

import itertools
import math
import sys
from dataclasses import dataclass

from solver.constants import MU_0
from solver.formulas.ranges import require_finite, require_positive

# Largest rounding error of a mean logarithm that is let through.
ROUNDING_LIMIT = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectangle:
    """Cross-section of a bar, sides along x and y.

    Attributes
    ----------
    left, bottom : float
        Position of the lower left corner [m].
    width, height : float
        Side lengths [m], > 0.

    Raises
    ------
    ValueError
        If a side is not positive or a position not finite.

    Examples
    --------
    >>> Rectangle(left=0.0, bottom=0.0, width=2e-3, height=1e-3).area
    2e-06
    """

    left: float
    bottom: float
    width: float
    height: float

    def __post_init__(self) -> None:
        """Refuse what is not a rectangle."""
        require_finite(self.left, "left", "m")
        require_finite(self.bottom, "bottom", "m")
        require_positive(self.width, "width", "m")
        require_positive(self.height, "height", "m")

    @property
    def area(self) -> float:
        """Area [m^2]."""
        return self.width * self.height


def _kernel(x: float, y: float) -> float:
    """Fourth integral of ln(sqrt(x^2 + y^2)), twice over x and twice over y; even in both."""
    x, y = abs(x), abs(y)
    if x == 0.0 and y == 0.0:
        return 0.0
    square = (x * x * y * y / 4.0 - x**4 / 24.0 - y**4 / 24.0) * 0.5 * math.log(x * x + y * y)
    angles = x**3 * y / 6.0 * math.atan2(y, x) + x * y**3 / 6.0 * math.atan2(x, y)
    return square + angles - 25.0 / 48.0 * (x * y) ** 2


def second_difference(
    start: float, length: float, other_start: float, other_length: float
) -> list[tuple[float, float]]:
    """Signs and distances of the four end pairs of two intervals."""
    ends = [(-1.0, start), (1.0, start + length)]
    other_ends = [(-1.0, other_start), (1.0, other_start + other_length)]
    return [(-p * q, u - v) for (p, u), (q, v) in itertools.product(ends, other_ends)]


def mean_log_distance(first: Rectangle, second: Rectangle) -> float:
    r"""Mean natural logarithm of the distance between the points of two rectangles.

    .. math::
        \ln g = \frac1{A_1A_2}\iint\ln|r_1 - r_2|\,dA_1\,dA_2
        = \frac1{A_1A_2}\sum_{ik}\pm F(x_i, y_k)

    .. math::
        F = \left(\frac{x^2y^2}4 - \frac{x^4 + y^4}{24}\right)\frac{\ln(x^2+y^2)}2
          + \frac{x^3y}6\arctan\frac yx + \frac{xy^3}6\arctan\frac xy - \frac{25}{48}x^2y^2

    with the sixteen differences of the sides' positions. The distance :math:`g` is the geometric mean
    distance of the two sections; for a rectangle with itself it is its geometric mean radius.

    Parameters
    ----------
    first, second : Rectangle
        The sections; the same one twice gives the mean radius. They may overlap.

    Returns
    -------
    float
        Logarithm of the geometric mean distance in metres [1].

    Raises
    ------
    ValueError
        If the sections are so thin or far apart that rounding would spoil the seventh digit.

    Notes
    -----
    Range: about (extent)^4/(A1 A2) < 1e8; exact but for rounding. Lengths are scaled by the extent first.

    References
    ----------
    .. [1] J. C. Maxwell, *A Treatise on Electricity and Magnetism*, arts. 691-692 (from memory).
    .. [2] E. B. Rosa, F. W. Grover, "Formulas and tables for the calculation of mutual and self-inductance",
       Bulletin of the Bureau of Standards 8 (1912) 1-237, S169 (from memory).

    Examples
    --------
    >>> square = Rectangle(left=0.0, bottom=0.0, width=1.0, height=1.0)
    >>> f"{math.exp(mean_log_distance(square, square)):.9f}"
    '0.447049156'
    """
    across = second_difference(first.left, first.width, second.left, second.width)
    up = second_difference(first.bottom, first.height, second.bottom, second.height)
    extent = max(abs(distance) for _, distance in across + up)
    loss = sys.float_info.epsilon * extent**4 / (first.area * second.area)
    if loss > ROUNDING_LIMIT:
        raise ValueError(f"rounding error of the mean logarithm is {loss:.1g}; allowed: up to {ROUNDING_LIMIT:g}")
    total = math.fsum(p * q * _kernel(x / extent, y / extent) for (p, x), (q, y) in itertools.product(across, up))
    return math.log(extent) + total * extent**4 / (first.area * second.area)


def bars_dc_inductance(go: Rectangle, back: Rectangle) -> float:
    r"""Loop inductance per metre of two bars with uniform current.

    .. math:: L' = \frac{\mu_0}{2\pi}\,(2\ln g_{12} - \ln g_{11} - \ln g_{22})

    Parameters
    ----------
    go, back : Rectangle
        Sections of the conductor and of its return.

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If the sections are too thin or far apart (see :func:`mean_log_distance`).

    Notes
    -----
    Range: DC, non-magnetic bars. Exact.

    References
    ----------
    .. [1] E. B. Rosa, F. W. Grover, "Formulas and tables for the calculation of mutual and self-inductance",
       Bulletin of the Bureau of Standards 8 (1912) 1-237, S169 (from memory).

    Examples
    --------
    >>> trace = Rectangle(left=-0.5e-3, bottom=0.0, width=1e-3, height=35e-6)
    >>> plane = Rectangle(left=-5e-3, bottom=-235e-6, width=10e-3, height=35e-6)
    >>> f"{bars_dc_inductance(trace, plane) * 1e9:.6f}"
    '405.173401'
    """
    between = 2.0 * mean_log_distance(go, back)
    own = mean_log_distance(go, go) + mean_log_distance(back, back)
    return MU_0 / (2.0 * math.pi) * (between - own)


def bars_dc_resistance(go: Rectangle, back: Rectangle, conductivity: float) -> float:
    r"""Loop resistance per metre of two bars with uniform current.

    .. math:: R' = (1/A_1 + 1/A_2)/\sigma

    Parameters
    ----------
    go, back : Rectangle
        Sections of the conductor and of its return.
    conductivity : float
        Conductivity of both [S/m], > 0.

    Returns
    -------
    float
        Resistance [ohm/m].

    Raises
    ------
    ValueError
        If the conductivity is not positive.

    Notes
    -----
    Range: DC. Exact.

    References
    ----------
    .. [1] Definition of resistivity; no source needed.

    Examples
    --------
    >>> trace = Rectangle(left=-0.5e-3, bottom=0.0, width=1e-3, height=35e-6)
    >>> plane = Rectangle(left=-5e-3, bottom=-235e-6, width=10e-3, height=35e-6)
    >>> f"{bars_dc_resistance(trace, plane, 5.8e7):.10f}"
    '0.5418719212'
    """
    require_positive(conductivity, "conductivity", "S/m")
    return (1.0 / go.area + 1.0 / back.area) / conductivity
