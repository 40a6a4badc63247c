"""Parallel filaments and round bars of finite length: partial inductances, and loops made of them."""

import itertools
import math

from solver.constants import MU_0
from solver.formulas.ranges import require_finite, require_positive, require_within
from solver.formulas.rectangles import Rectangle, second_difference
from solver.formulas.round_wire import wire_dc_internal_inductance

# Thickest wire of a rectangular loop against its shorter side: what the thin-wire formulas drop is of the order r/side.
THICKEST_WIRE = 0.25


def _twice_integrated(offset: float, distance: float) -> float:
    """Second integral of 1/sqrt(offset^2 + distance^2) over the offset, but for |offset| ln(distance) on one line."""
    if distance == 0.0:
        return abs(offset) * (math.log(2.0 * abs(offset)) - 1.0) if offset else 0.0
    return offset * math.asinh(offset / distance) - math.hypot(offset, distance)


def filaments_partial_mutual(length: float, second_length: float, offset: float, distance: float) -> float:
    r"""Partial mutual inductance of two parallel filaments of finite length.

    .. math::
        M = \frac{\mu_0}{4\pi}\sum\pm\left[\zeta\,\mathrm{arsinh}\frac\zeta d - \sqrt{\zeta^2 + d^2}\right]

    over the four differences :math:`\zeta` of the ends' positions: + for unlike ends, - for like ends. Equal lengths
    side by side give :math:`(\mu_0/2\pi)[l\,\mathrm{arsinh}(l/d) - \sqrt{l^2 + d^2} + d]`.

    Parameters
    ----------
    length, second_length : float
        Their lengths [m], > 0.
    offset : float
        Start of the second beyond the start of the first along their direction [m].
    distance : float
        Distance of the two lines :math:`d` [m], >= 0; above 0 where the filaments overlap along their direction.

    Returns
    -------
    float
        Partial mutual inductance for currents of the same direction [H].

    Raises
    ------
    ValueError
        If a length is not positive, or the filaments coincide somewhere.

    Notes
    -----
    Range: conductors thin against their distance; for round bars with even current exact. Meaning only in a sum round
    a closed loop.

    References
    ----------
    .. [1] E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau of Standards 4
       (1908) 301-344 (from memory).
    .. [2] F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, ch. 6, unequal lengths (from memory).

    Examples
    --------
    >>> f"{filaments_partial_mutual(10e-3, 10e-3, 0.0, 1e-3) * 1e9:.9f}"
    '4.186470776'
    """
    require_positive(length, "length", "m")
    require_positive(second_length, "second length", "m")
    require_finite(offset, "offset", "m")
    overlap = offset < length and offset + second_length > 0.0
    smallest = math.nextafter(0.0, 1.0) if overlap else 0.0
    require_within(distance, smallest, math.inf, "distance of overlapping filaments" if overlap else "distance", "m")
    ends = second_difference(0.0, length, offset, second_length)
    return MU_0 / (4.0 * math.pi) * math.fsum(sign * _twice_integrated(gap, distance) for sign, gap in ends)


def round_bar_surface_partial_inductance(length: float, radius: float) -> float:
    r"""Partial self-inductance of a round bar, or a via, whose current flows on its surface.

    .. math::
        L = \frac{\mu_0}{2\pi}\left[l\ln\frac{l + \sqrt{l^2 + r^2}}r - \sqrt{l^2 + r^2} + r\right]

    Parameters
    ----------
    length : float
        Length :math:`l` [m], > 0.
    radius : float
        Outer radius :math:`r` [m], > 0.

    Returns
    -------
    float
        Partial inductance [H].

    Raises
    ------
    ValueError
        If an argument is not positive.

    Notes
    -----
    Range: current even around the bar and along it; the mutual inductance of the axis and a line on the surface, exact
    for l >> r and an estimate for bars as short as they are thick. Meaning only in a sum round a closed loop.

    References
    ----------
    .. [1] E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau of Standards 4
       (1908) 301-344 (from memory).

    Examples
    --------
    >>> f"{round_bar_surface_partial_inductance(1.6e-3, 150e-6) * 1e12:.4f} pH"
    '688.5843 pH'
    """
    require_positive(length, "length", "m")
    require_positive(radius, "radius", "m")
    return filaments_partial_mutual(length, length, 0.0, radius)


def round_bar_uniform_partial_inductance(length: float, radius: float) -> float:
    r"""Partial self-inductance of a solid round bar with uniform current.

    .. math::
        L = \frac{\mu_0}{2\pi}\left[l\ln\frac{l + \sqrt{l^2 + r^2}}r - \sqrt{l^2 + r^2} + r + \frac l4\right]

    Parameters
    ----------
    length : float
        Length :math:`l` [m], > 0.
    radius : float
        Radius :math:`r` [m], > 0.

    Returns
    -------
    float
        Partial inductance [H].

    Raises
    ------
    ValueError
        If an argument is not positive.

    Notes
    -----
    Range: DC, solid bar, l >> r. Meaning only in a sum round a closed loop.

    References
    ----------
    .. [1] E. B. Rosa, "The self and mutual inductances of linear conductors", Bulletin of the Bureau of Standards 4
       (1908) 301-344 (from memory).

    Examples
    --------
    >>> f"{round_bar_uniform_partial_inductance(1.6e-3, 150e-6) * 1e12:.4f} pH"
    '768.5843 pH'
    """
    return round_bar_surface_partial_inductance(length, radius) + length * wire_dc_internal_inductance()


def _require_loop(length: float, width: float, radius: float) -> None:
    require_positive(length, "length", "m")
    require_positive(width, "width", "m")
    require_positive(radius, "radius", "m")
    require_within(radius / min(length, width), 0.0, THICKEST_WIRE, "radius over the shorter side", "(ratio)")


def rectangle_surface_inductance(length: float, width: float, radius: float) -> float:
    r"""Inductance of a rectangular loop of round wire with surface current.

    .. math::
        L = \frac{\mu_0}\pi\left[a\ln\frac{2a}r + b\ln\frac{2b}r + 2\sqrt{a^2 + b^2}
        - a\,\mathrm{arsinh}\frac ab - b\,\mathrm{arsinh}\frac ba - 2(a + b)\right]

    Parameters
    ----------
    length, width : float
        Sides between wire centres :math:`a, b` [m], > 0.
    radius : float
        Wire radius :math:`r` [m], > 0 and at most a quarter of the shorter side.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If a side or the radius is not positive, or the wire is too thick.

    Notes
    -----
    Range: thin skin, thin wire; terms of the order r/side are dropped, and the crowding of the current towards the
    inside of the loop is left out.

    References
    ----------
    .. [1] F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, p. 60 (from memory; surface current).

    Examples
    --------
    >>> f"{rectangle_surface_inductance(10e-3, 5e-3, 0.1e-3) * 1e9:.7f}"
    '20.6109162'
    """
    _require_loop(length, width, radius)
    own = length * math.log(2.0 * length / radius) + width * math.log(2.0 * width / radius)
    between = length * math.asinh(length / width) + width * math.asinh(width / length)
    return MU_0 / math.pi * (own + 2.0 * math.hypot(length, width) - between - 2.0 * (length + width))


def rectangle_uniform_inductance(length: float, width: float, radius: float) -> float:
    r"""Inductance of a rectangular loop of round wire with uniform current.

    .. math:: L = L_{surface} + (\mu_0/\pi)(a + b)/4

    Parameters
    ----------
    length, width : float
        Sides between wire centres :math:`a, b` [m], > 0.
    radius : float
        Wire radius :math:`r` [m], > 0 and at most a quarter of the shorter side.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If a side or the radius is not positive, or the wire is too thick.

    Notes
    -----
    Range: DC, thin wire; terms of the order r/side are dropped.

    References
    ----------
    .. [1] F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, p. 60 (from memory).

    Examples
    --------
    >>> f"{rectangle_uniform_inductance(10e-3, 5e-3, 0.1e-3) * 1e9:.7f}"
    '22.1109162'
    """
    surface = rectangle_surface_inductance(length, width, radius)
    return surface + 2.0 * (length + width) * wire_dc_internal_inductance()


def flat_rectangles_mutual(first: Rectangle, second: Rectangle, distance: float) -> float:
    r"""Mutual inductance of two rectangular filament loops that lie in parallel planes, sides parallel.

    Sum of the partial mutual inductances of their sides (see :func:`filaments_partial_mutual`), sides at right angles
    having none.

    Parameters
    ----------
    first, second : Rectangle
        The loops as seen along the planes' normal; both currents go round the same way.
    distance : float
        Distance of the planes [m]; not zero where sides would coincide.

    Returns
    -------
    float
        Mutual inductance [H].

    Raises
    ------
    ValueError
        If sides of the two coincide somewhere, or the distance is not finite.

    Notes
    -----
    Range: wires thin against the distance of the loops; exact for filaments.

    References
    ----------
    .. [1] F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, ch. 10 (from memory).

    Examples
    --------
    >>> source = Rectangle(left=0.0, bottom=0.0, width=5e-3, height=2e-3)
    >>> victim = Rectangle(left=8e-3, bottom=-2e-3, width=4e-3, height=6e-3)
    >>> f"{flat_rectangles_mutual(source, victim, 0.0) * 1e9:.6f}"
    '-0.077271'
    """
    require_finite(distance, "distance", "m")
    x, y = (first.left, second.left), (first.bottom, second.bottom)
    width, height = (first.width, second.width), (first.height, second.height)
    along_x = _parallel_sides(x, width, y, height, distance)
    along_y = _parallel_sides(y, height, x, width, distance)
    return along_x + along_y


def _parallel_sides(
    start: tuple[float, float],
    length: tuple[float, float],
    place: tuple[float, float],
    span: tuple[float, float],
    distance: float,
) -> float:
    """Sum over the two sides of each loop that run along one axis; opposite sides carry opposite currents."""
    total = 0.0
    for near, far in itertools.product((0, 1), (0, 1)):
        across = place[1] + far * span[1] - place[0] - near * span[0]
        sign = 1.0 if near == far else -1.0
        total += sign * filaments_partial_mutual(
            length[0], length[1], start[1] - start[0], math.hypot(across, distance)
        )
    return total


def rectangle_over_plane_inductance(length: float, width: float, radius: float, height: float) -> float:
    r"""Inductance of a rectangular loop of round wire that lies over an infinite perfect plane.

    .. math:: L = L_{surface} - M(2h)

    with the loop's image at twice its height.

    Parameters
    ----------
    length, width : float
        Sides between wire centres [m], > 0.
    radius : float
        Wire radius :math:`r` [m], > 0 and at most a quarter of the shorter side.
    height : float
        Height of the wires' centres over the plane :math:`h` [m], >= 2r.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin skin, thin wire, perfect plane; crowding towards the plane is left out (at h = 2r it lowers the value by
    about 5 % of the part per length: arcosh(h/r) against ln(2h/r)).

    References
    ----------
    .. [1] F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, p. 60 and ch. 10 (from memory), with the method
       of images.

    Examples
    --------
    >>> f"{rectangle_over_plane_inductance(10e-3, 5e-3, 0.1e-3, 0.2e-3) * 1e9:.8f}"
    '7.99430602'
    """
    alone = rectangle_surface_inductance(length, width, radius)
    require_within(height, 2.0 * radius, math.inf, "height of the wires' centres", "m")
    loop = Rectangle(left=0.0, bottom=0.0, width=length, height=width)
    return alone - flat_rectangles_mutual(loop, loop, 2.0 * height)


def upright_rectangle_inductance(length: float, height: float, radius: float) -> float:
    r"""Inductance of a wire over a perfect plane with a post of the same radius at either end.

    .. math:: L = \tfrac12 L_{surface}(l, 2h, r)

    half of the rectangular loop that wire, posts and their images form.

    Parameters
    ----------
    length : float
        Distance of the posts' centres :math:`l` [m], > 0.
    height : float
        Height of the wire's centre over the plane :math:`h` [m], > 0.
    radius : float
        Radius of wire and posts :math:`r` [m], > 0 and at most a quarter of the shorter of l and 2h.

    Returns
    -------
    float
        Inductance [H].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin skin, thin wire, perfect plane. A flat strip of width w counts as a wire of radius w/4 (far from other
    conductors; from memory).

    References
    ----------
    .. [1] F. W. Grover, *Inductance Calculations*, Van Nostrand 1946, p. 60 (from memory), with the method of images.

    Examples
    --------
    >>> f"{upright_rectangle_inductance(5e-3, 0.36e-3, 0.1e-3) * 1e9:.7f}"
    '2.0649823'
    """
    require_positive(height, "height", "m")
    return 0.5 * rectangle_surface_inductance(length, 2.0 * height, radius)
