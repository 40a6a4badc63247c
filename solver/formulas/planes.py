"""A line current and a perfect plane of zero thickness: finite, infinite or slotted."""

import cmath
import math

from solver.constants import MU_0
from solver.formulas.ranges import require_above, require_finite, require_positive, require_within

# A wire thinner than this share of its distance from copper may be taken as a filament (0.1 % of the
# inductance).
THICKEST_WIRE = 0.1


def _edge_map(x: float, y: float, width: float) -> complex:
    """Point s, |s| >= 1, with z = (W/4)(s + 1/s): the plane becomes the unit circle."""
    scaled = complex(x, y) * 2.0 / width
    return scaled + cmath.sqrt(scaled - 1.0) * cmath.sqrt(scaled + 1.0)


def _require_line(height: float, width: float, offset: float) -> None:
    require_positive(height, "height", "m")
    require_positive(width, "width of the plane", "m")
    require_finite(offset, "offset", "m")


def finite_plane_loop_inductance(radius: float, height: float, width: float, offset: float = 0.0) -> float:
    r"""Loop inductance per metre of a thin wire over a plane of finite width that carries the return.

    .. math::
        L' = \frac{\mu_0}{2\pi}\ln\frac{|dz/ds|_0\,(|s_0|^2 - 1)}{r}, \qquad
        z = \frac W4\left(s + \frac1s\right)

    For a centred wire this is :math:`(\mu_0/2\pi)\ln(2h/r) + (\mu_0/4\pi)\ln[1 + (2h/W)^2]`.

    Parameters
    ----------
    radius : float
        Wire radius :math:`r` [m], > 0 and at most a tenth of the distance to the plane.
    height : float
        Height over the plane :math:`h` [m], > 0.
    width : float
        Plane width :math:`W` [m], > 0.
    offset : float
        Distance of the wire from the plane's middle line [m]; may lie beyond the edge.

    Returns
    -------
    float
        Inductance of wire and return [H/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: perfect plane without thickness, thin wire. Exact for a vanishing radius; at a tenth of the
    distance the error is 0.1 %.

    References
    ----------
    .. [1] The problem of M. Leone, "Design expressions for the trace-to-edge common-mode inductance of a
       printed circuit board", IEEE Transactions on Electromagnetic Compatibility 43 (2001) 667-671 (title
       from memory; the map is derived here).

    Examples
    --------
    >>> f"{finite_plane_loop_inductance(10e-6, 0.5e-3, 10e-3) * 1e9:.5f}"
    '922.02907'
    """
    _require_line(height, width, offset)
    distance = math.hypot(max(abs(offset) - 0.5 * width, 0.0), height)
    require_positive(radius, "radius", "m")
    require_within(radius, 0.0, THICKEST_WIRE * distance, "radius", "m")
    line = _edge_map(offset, height, width)
    stretch = 0.25 * width * abs(1.0 - 1.0 / line**2)
    return MU_0 / (2.0 * math.pi) * math.log(stretch * (abs(line) ** 2 - 1.0) / radius)


def net_plane_inductance(height: float, width: float, offset: float = 0.0) -> float:
    r"""Net partial inductance per metre of a plane of finite width that carries a wire's return.

    .. math:: L'_{pl} = \frac{\mu_0}{2\pi}\ln|s_0|
        \;=\; \frac{\mu_0}{2\pi}\,\mathrm{arsinh}\frac{2h}{W} \quad\text{(centred)}

    It is the flux per ampere that closes round the plane: what drives current on cables.

    Parameters
    ----------
    height : float
        Height of the line current :math:`h` [m], > 0.
    width : float
        Plane width :math:`W` [m], > 0.
    offset : float
        Distance of the line from the plane's middle line [m]; may lie beyond the edge.

    Returns
    -------
    float
        Net partial inductance of the plane [H/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: perfect plane without thickness, all of the return in it. Exact. The often quoted
    :math:`\mu_0 h/(\pi W)` is its limit for h << W.

    References
    ----------
    .. [1] The problem of M. Leone, "Design expressions for the trace-to-edge common-mode inductance of a
       printed circuit board", IEEE Transactions on Electromagnetic Compatibility 43 (2001) 667-671 (title
       from memory; the map is derived here).

    Examples
    --------
    >>> f"{net_plane_inductance(0.5e-3, 5e-3) * 1e9:.7f}"
    '39.7380221'
    """
    _require_line(height, width, offset)
    return MU_0 / (2.0 * math.pi) * math.log(abs(_edge_map(offset, height, width)))


def finite_plane_return_density(x: float, height: float, width: float, offset: float = 0.0) -> float:
    r"""Share per metre of width of the return current in a plane of finite width.

    .. math::
        K(x) = \frac{P(\theta) + P(-\theta)}{\pi W\sin\theta}, \qquad
        P(\theta) = \frac{|s_0|^2 - 1}{|e^{j\theta} - s_0|^2}, \qquad x = \frac W2\cos\theta

    Both faces together; positive against the line current; its integral over the width is 1.

    Parameters
    ----------
    x : float
        Position on the plane from its middle line [m], \|x\| < W/2.
    height : float
        Height of the line current :math:`h` [m], > 0.
    width : float
        Plane width :math:`W` [m], > 0.
    offset : float
        Distance of the line from the plane's middle line [m].

    Returns
    -------
    float
        Return current per metre of width and per ampere [1/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: perfect plane without thickness; the density is infinite at the edges themselves. Exact.

    References
    ----------
    .. [1] The problem of M. Leone, "Design expressions for the trace-to-edge common-mode inductance of a
       printed circuit board", IEEE Transactions on Electromagnetic Compatibility 43 (2001) 667-671 (title
       from memory; the map is derived here).

    Examples
    --------
    >>> f"{finite_plane_return_density(0.0, 0.5e-3, 10e-3):.3f}"
    '639.795'
    """
    _require_line(height, width, offset)
    if not abs(x) < 0.5 * width:
        raise ValueError(f"position on the plane is {x:g} m; allowed: between {-0.5 * width:g} and {0.5 * width:g} m")
    line = _edge_map(offset, height, width)
    angle = math.acos(2.0 * x / width)
    faces = sum(1.0 / abs(cmath.rect(1.0, side * angle) - line) ** 2 for side in (1.0, -1.0))
    return (abs(line) ** 2 - 1.0) * faces / (math.pi * width * math.sin(angle))


def finite_plane_flux_density(
    x: float, y: float, *, height: float, width: float, offset: float = 0.0, plane_current: float = -1.0
) -> tuple[float, float]:
    r"""Flux density of one ampere along +z over a plane of finite width, at any point of the air.

    .. math::
        A = -\frac{\mu_0}{2\pi}\,\mathrm{Re}
            \left[\ln\frac{s - s_0}{s - 1/\bar s_0} + (1 + i_{pl})\ln s\right], \qquad
        B = \left(\frac{\partial A}{\partial y}, -\frac{\partial A}{\partial x}\right)

    Parameters
    ----------
    x, y : float
        Point of observation [m]; the plane lies on y = 0, its middle line at x = 0.
    height : float
        Height of the line current :math:`h` [m], > 0.
    width : float
        Plane width :math:`W` [m], > 0.
    offset : float
        Distance of the line from the plane's middle line [m].
    plane_current : float
        Net current of the plane :math:`i_{pl}` per ampere of the line [1]: -1 carries the return, 0 floats.

    Returns
    -------
    tuple of float
        :math:`(B_x, B_y)` [T per ampere].

    Raises
    ------
    ValueError
        If an argument is outside its range, or the point lies on the plane or on the line.

    Notes
    -----
    Range: perfect plane without thickness. Exact. A current other than -1 returns at infinity.

    References
    ----------
    .. [1] The problem of M. Leone, "Design expressions for the trace-to-edge common-mode inductance of a
       printed circuit board", IEEE Transactions on Electromagnetic Compatibility 43 (2001) 667-671 (title
       from memory; the map is derived here).

    Examples
    --------
    >>> bx, by = finite_plane_flux_density(0.0, -1e-3, height=0.5e-3, width=10e-3)
    >>> f"{bx * 1e6:.6f} {abs(by) * 1e6:.6f}"
    '-1.937149 0.000000'
    """
    _require_line(height, width, offset)
    require_finite(plane_current, "current of the plane", "A/A")
    if y == 0.0 and abs(x) <= 0.5 * width:
        raise ValueError(f"point is ({x:g}, {y:g}) m; allowed: any point not on the plane")
    require_positive(math.hypot(x - offset, y - height), "distance from the line", "m")
    line, point = _edge_map(offset, height, width), _edge_map(x, y, width)
    slope = 1.0 / (point - line) - 1.0 / (point - 1.0 / line.conjugate()) + (1.0 + plane_current) / point
    slope *= -MU_0 / (2.0 * math.pi) / (0.25 * width * (1.0 - 1.0 / point**2))
    return -slope.imag, -slope.real


def infinite_plane_return_density(x: float, height: float) -> float:
    r"""Share per metre of width of the return current in an infinite plane.

    .. math:: J(x) = \frac{h}{\pi (h^2 + x^2)}

    Parameters
    ----------
    x : float
        Distance from the point below the line [m].
    height : float
        Height of the line current :math:`h` [m], > 0.

    Returns
    -------
    float
        Return current per metre of width and per ampere [1/m].

    Raises
    ------
    ValueError
        If the height is not positive or the position not finite.

    Notes
    -----
    Range: line current over an infinite perfect plane. Exact.

    References
    ----------
    .. [1] C. L. Holloway, E. F. Kuester, "Net and partial inductance of a microstrip ground plane", IEEE
       Transactions on Electromagnetic Compatibility 40 (1998) 33-46 (from memory).

    Examples
    --------
    >>> f"{infinite_plane_return_density(0.0, 0.5e-3):.4f}"
    '636.6198'
    """
    require_positive(height, "height", "m")
    require_finite(x, "position", "m")
    return height / (math.pi * (height**2 + x**2))


def infinite_plane_return_share(half_width: float, height: float) -> float:
    r"""Share of the return current that flows within a distance to either side of the line.

    .. math:: \frac2\pi\arctan\frac xh

    Parameters
    ----------
    half_width : float
        Distance to either side :math:`x` [m], >= 0.
    height : float
        Height of the line current :math:`h` [m], > 0.

    Returns
    -------
    float
        Share [1], 0 to 1.

    Raises
    ------
    ValueError
        If the height is not positive or the distance negative.

    Notes
    -----
    Range: line current over an infinite perfect plane. Exact; the integral of the density above.

    References
    ----------
    .. [1] C. L. Holloway, E. F. Kuester, "Net and partial inductance of a microstrip ground plane", IEEE
       Transactions on Electromagnetic Compatibility 40 (1998) 33-46 (from memory).

    Examples
    --------
    >>> f"{infinite_plane_return_share(3e-3, 1e-3):.6f}"
    '0.795167'
    """
    require_positive(height, "height", "m")
    require_within(half_width, 0.0, math.inf, "distance to either side", "m")
    return 2.0 / math.pi * math.atan(half_width / height)


def slot_inductance_increase(height: float, slot_width: float, offset: float = 0.0) -> float:
    r"""Increase of the inductance per metre of a wire over an infinite plane by a slot along it.

    .. math::
        \Delta L' = \frac{\mu_0}{2\pi}\ln\frac{S\,\cos(\mathrm{Re}\,w_0)\,|\cos w_0|}{2h}, \qquad
        w_0 = \arcsin\frac{2(x_0 + jh)}{S}

    Centred this is :math:`(\mu_0/4\pi)\ln[1 + (S/2h)^2]`.

    Parameters
    ----------
    height : float
        Height of the wire over the plane :math:`h` [m], > 0.
    slot_width : float
        Slot width :math:`S` [m], > 0.
    offset : float
        Distance of the wire from the slot's middle line :math:`x_0` [m].

    Returns
    -------
    float
        Increase of the inductance [H/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: thin wire, perfect plane without thickness, slot endless along the wire, both halves of the plane
    bonded to each other at the ends. Exact.

    References
    ----------
    .. [1] Derived here by the map w = arcsin(2z/S); no published values.

    Examples
    --------
    >>> f"{slot_inductance_increase(0.5e-3, 1e-3) * 1e9:.6f}"
    '69.314718'
    """
    _require_line(height, slot_width, offset)
    mapped = cmath.asin(2.0 * complex(offset, height) / slot_width)
    growth = 0.5 * slot_width * math.cos(mapped.real) * abs(cmath.cos(mapped)) / height
    return MU_0 / (2.0 * math.pi) * math.log(growth)


def slotted_plane_inductance(radius: float, height: float, slot_width: float, offset: float = 0.0) -> float:
    r"""Inductance per metre of a thin wire over an infinite plane with a slot along it.

    .. math:: L' = \frac{\mu_0}{2\pi}\ln\frac{2h}{r} + \Delta L'
        \;=\; \frac{\mu_0}{2\pi}\ln\frac{2\sqrt{h^2 + (S/2)^2}}{r} \quad\text{(centred)}

    Parameters
    ----------
    radius : float
        Wire radius :math:`r` [m], > 0 and at most h/10.
    height : float
        Height of the wire over the plane :math:`h` [m], > 0.
    slot_width : float
        Slot width :math:`S` [m], > 0.
    offset : float
        Distance of the wire from the slot's middle line [m].

    Returns
    -------
    float
        Inductance [H/m].

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: as for :func:`slot_inductance_increase`; the error of the thin wire is below 0.1 %.

    References
    ----------
    .. [1] Derived here by the map w = arcsin(2z/S); no published values.

    Examples
    --------
    >>> f"{slotted_plane_inductance(1e-6, 0.5e-3, 1e-3) * 1e9:.5f}"
    '1450.86577'
    """
    increase = slot_inductance_increase(height, slot_width, offset)
    require_above(radius, 0.0, "radius", "m")
    require_within(radius, 0.0, THICKEST_WIRE * height, "radius", "m")
    return MU_0 / (2.0 * math.pi) * math.log(2.0 * height / radius) + increase


def strip_shielding(height: float, half_width: float, offset: float = 0.0) -> float:
    r"""Moment of a long flat loop over a floating strip, relative to the same loop alone.

    .. math:: \frac{m'}{m_0'} = \mathrm{Re}\,\frac{z}{\sqrt{z^2 - b^2}}, \quad z = x + jh;
        \qquad \frac{h}{\sqrt{h^2 + b^2}} \quad\text{(centred)}

    The loop lies parallel to the strip and is narrow against its height. By reciprocity the ratio is the
    normal component of the field at the loop when the strip lies in a uniform normal field.

    Parameters
    ----------
    height : float
        Height of the loop over the strip :math:`h` [m], > 0.
    half_width : float
        Half of the strip's width :math:`b` [m], > 0.
    offset : float
        Distance of the loop from the strip's middle line :math:`x` [m].

    Returns
    -------
    float
        Ratio of the moments [1]; above 1 beside the strip, where the field crowds.

    Raises
    ------
    ValueError
        If an argument is outside its range.

    Notes
    -----
    Range: perfect strip without thickness and without net current. Exact.

    References
    ----------
    .. [1] Derived here. The field is that of flow across a flat plate: H. Lamb, *Hydrodynamics*, 6th ed.,
       Cambridge 1932, art. 71 (from memory).

    Examples
    --------
    >>> f"{strip_shielding(0.2e-3, 5e-3):.6f}"
    '0.039968'
    """
    _require_line(height, half_width, offset)
    point = complex(offset, height) / half_width
    return (point / (cmath.sqrt(point - 1.0) * cmath.sqrt(point + 1.0))).real
