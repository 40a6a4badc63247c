"""The weak forms of the section view, one short function each.

In conductor k the current density is J = sigma (g_k - s A), with s = j omega and g_k the voltage drop
per metre of its group; everywhere -div(grad A / mu_0) = J. Tested with N this reads

    (reluctance + s eddy) A = drive g.
"""

from __future__ import annotations

from typing import Any

from skfem import BilinearForm, LinearForm
from skfem.helpers import dot, grad

from solver.formulas.constants import MU_0


@BilinearForm
def reluctance(u: Any, v: Any, w: Any) -> Any:
    """Twice the magnetic energy per metre: integral of grad A . grad N / mu_0."""
    return dot(grad(u), grad(v)) / MU_0


@BilinearForm
def eddy(u: Any, v: Any, w: Any) -> Any:
    """Induced current: integral of sigma A N over the conductors."""
    return w.conductivity * u * v


@LinearForm
def drive(v: Any, w: Any) -> Any:
    """Driven current per volt per metre: integral of sigma N over one group."""
    return w.conductivity * v


@LinearForm
def first_moment(v: Any, w: Any) -> Any:
    """Integral of N over the region, weighted by a given density."""
    return w.density * v


@BilinearForm
def stiffness(u: Any, v: Any, w: Any) -> Any:
    """Integral of grad u . grad v; with MU_0 in front, twice the energy of the field grad u."""
    return dot(grad(u), grad(v))


@LinearForm
def against_gradient(v: Any, w: Any) -> Any:
    """Integral of a given vector field times grad v."""
    return dot(w.given, grad(v))
