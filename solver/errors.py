"""What can go wrong after a valid cross-section, and what a result warns of.

::

    SolverError(RuntimeError)
    ├── SystemLibraryError   a shared library that the mesh generator needs is missing
    ├── MeshError            the section could not be meshed as described
    ├── SolutionError        the field solution is not to be trusted
    └── ReportError          a result could not be written
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass


class SolverError(RuntimeError):
    """Any failure after the description was accepted.

    Examples
    --------
    >>> from solver import SolverError
    >>> try:
    ...     raise SolverError("the mesh generator gave no triangles")
    ... except RuntimeError as error:
    ...     error
    SolverError('the mesh generator gave no triangles')
    """


class SystemLibraryError(SolverError, ImportError):
    """A shared library that the mesh generator needs is missing; the message says how to install it.

    To who imports ahead of need it is an import that failed.
    """


class MeshError(SolverError):
    """The section could not be meshed as described; the message names the region.

    Examples
    --------
    >>> from solver import MeshError, SolverError
    >>> issubclass(MeshError, SolverError)
    True
    """


class SolutionError(SolverError):
    """The field solution is not to be trusted: the residual or a balance is off.

    Examples
    --------
    >>> from solver import SolutionError, SolverError
    >>> issubclass(SolutionError, SolverError)
    True
    """


class ReportError(SolverError):
    """A result could not be written; nothing was left half-written.

    Examples
    --------
    >>> from solver import ReportError, SolverError
    >>> issubclass(ReportError, SolverError)
    True
    """


@contextmanager
def system_failures_reported(
    refusal: str, remedy: str = "name a folder that you may write to, on a disk with space left"
) -> Iterator[None]:
    """Translate what the system says about a file into a ReportError: what was refused, why, and how to fix it."""
    try:
        yield
    except OSError as failure:
        raise ReportError(f"{refusal}: {failure.strerror or failure}; {remedy}") from failure


@contextmanager
def memory_failures_reported() -> Iterator[None]:
    """Translate a want of memory into a SolverError."""
    try:
        yield
    except MemoryError as failure:
        raise SolverError(
            "there is not enough memory for it; try again with fewer --workers, a wider tolerance, lower frequencies "
            "or simpler outlines"
        ) from failure


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedWarning:
    """A numbered warning of a result, for instance W-PORTS, with its sentence."""

    code: str
    text: str
