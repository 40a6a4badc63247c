"""What can go wrong after a valid cross-section.

::

    SolverError(RuntimeError)
    ├── SystemLibraryError   a shared library that the mesh generator needs is missing
    ├── MeshError            the section could not be meshed as described
    ├── SolutionError        the field solution is not to be trusted
    └── ReportError          a result could not be written
"""

from __future__ import annotations


class SolverError(RuntimeError):
    """Any failure after the description was accepted."""


class SystemLibraryError(SolverError):
    """A shared library that the mesh generator needs is missing; the message says how to install it."""


class MeshError(SolverError):
    """The section could not be meshed as described; the message names the region."""


class SolutionError(SolverError):
    """The field solution is not to be trusted: the residual or a balance is off."""


class ReportError(SolverError):
    """A result could not be written; nothing was left half-written."""
