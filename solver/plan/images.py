"""How deep the image of a current lies in a plane that is no perfect conductor."""

from __future__ import annotations

import cmath
import math

from geometries.layout.layout import MirrorPlane
from solver.formulas import MU_0, slab_excess_impedance


def image_shift(plane: MirrorPlane, height: float, frequency: float) -> complex:
    r"""Complex depth below the plane's face at which it would have to lie if it were a perfect conductor [m].

    .. math:: p = h\left[\exp\left(\frac{2\pi\,\Delta Z'}{j\omega\mu_0}\right) - 1\right]

    with :math:`\Delta Z'` the exact excess impedance of a line current at height h over the slab, from
    :func:`solver.formulas.slab_excess_impedance`. A line current at that height then has exactly the slab's impedance,
    loss included.

    Parameters
    ----------
    plane : MirrorPlane
        The plane; a perfect one has no shift.
    height : float
        Height of the current over the plane's face [m].
    frequency : float
        Frequency [Hz], above 0; infinite stands for a perfect conductor.

    Returns
    -------
    complex
        Tends to the skin depth over :math:`1 + j` for a thick plane at high frequency.

    Notes
    -----
    Range: exact for long straight currents at that height. For a loop of size D it is good where \|p\| is small
    beside h or D; below the frequency 2/(mu0 sigma t D) the plane is nearly
    transparent and the image loses its meaning.
    """
    if plane.material is None or math.isinf(frequency):
        return 0j
    excess = slab_excess_impedance(frequency, height, plane.thickness, plane.material.conductivity)
    return height * (cmath.exp(2 * math.pi * excess / (2j * math.pi * frequency * MU_0)) - 1)
