"""Which currents of ports and posts add up to zero in every sheet: the loops of a layout."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometries.layout.layout import PlanLayout, Terminal

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Branches:
    """Independent combinations of port and post currents; the driven ones first.

    Parameters
    ----------
    loops : tuple of str
        Name of the port that carries one ampere in each driven combination, and in no other.
    port_currents : (ports with a cut, n) array
        Current of each port.
    post_currents : (posts, n) array
        Current down each post. Combinations after the driven ones shift current between posts only.
    terminal_currents : (terminals, n) array
        Current that leaves the copper at each terminal of the layout.
    """

    loops: tuple[str, ...]
    port_currents: Floats
    via_currents: Floats
    terminal_currents: Floats


def layout_branches(layout: PlanLayout) -> Branches:
    """Solve Kirchhoff's current law on the sheets, posts first, then the driven port, so that the others are free."""
    ports, vias = len(layout.cut_ports), len(layout.vias)
    order = np.concatenate([np.arange(ports, ports + vias), np.arange(ports)]).astype(int)
    free, basis = _null_space(layout.incidence()[:, order].astype(float))
    combinations = np.zeros((ports + vias, len(free)))
    combinations[order] = basis
    is_port = order[free] < ports
    arranged = combinations[:, np.concatenate([np.flatnonzero(is_port), np.flatnonzero(~is_port)])]
    return Branches(
        loops=tuple(layout.cut_ports[branch].name for branch in order[free][is_port]),
        port_currents=arranged[:ports],
        via_currents=arranged[ports:],
        terminal_currents=_terminal_matrix(layout) @ arranged,
    )


def carrying_terminals(layout: PlanLayout) -> list[tuple[int, Terminal]]:
    """Terminals that a current can pass, with their numbers in the layout's list.

    Where a tie stands idle, current goes on across its land and round its barrel: the copper is as good as whole there.
    """
    currents = layout_branches(layout).terminal_currents
    return [(number, end) for number, (_, end) in enumerate(layout.terminals()) if currents[number].any()]


def _terminal_matrix(layout: PlanLayout) -> Floats:
    """Current out of the copper at each terminal per ampere of each branch."""
    ports, ends = layout.cut_ports, [end for _, end in layout.terminals()]
    matrix, number = np.zeros((len(ends), len(ports) + len(layout.vias))), 0
    for column, port in enumerate(ports):
        for end in port.terminals():
            matrix[number, column] = -1.0 if end is port.entry else 1.0
            number += 1
    for column, via in enumerate(layout.vias, start=len(ports)):
        feet: tuple[Terminal, ...] = via.terminals()  # none where it stands on a mirror plane
        for foot, sign in zip(feet, (1.0, -1.0), strict=False):
            matrix[ends.index(foot, number), column] += sign
    return matrix


def _null_space(matrix: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Free columns of a small matrix of integers and the null vectors with a one in each (Gauss–Jordan elimination)."""
    reduced = matrix.copy()
    pivots: list[int] = []
    for column in range(matrix.shape[1]):
        row = len(pivots)
        below = np.flatnonzero(np.abs(reduced[row:, column]) > 1e-9)
        if not len(below):
            continue
        reduced[[row, row + below[0]]] = reduced[[row + below[0], row]]
        reduced[row] /= reduced[row, column]
        others = np.arange(len(reduced)) != row
        reduced[others] -= np.outer(reduced[others, column], reduced[row])
        pivots.append(column)
    free = np.setdiff1d(np.arange(matrix.shape[1]), pivots)
    basis = np.zeros((matrix.shape[1], len(free)))
    basis[free, np.arange(len(free))] = 1.0
    basis[pivots] = -reduced[: len(pivots), free]
    return free, basis
