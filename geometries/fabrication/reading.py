"""Read a board from the folder or zip archive of its fabrication files."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import chain
from pathlib import Path

import shapely
from shapely.geometry.base import BaseGeometry

from geometries.board.stackup import Stackup
from geometries.fabrication.board import Board, BoardLayer, Hole, Pad
from geometries.fabrication.checks import (
    reaching_over,
    require_aligned,
    require_fitting,
    require_over_holes,
    require_routed,
)
from geometries.fabrication.connectivity import flood
from geometries.fabrication.copper import copper_by_net, pads_of_file
from geometries.fabrication.drill import DrillFile, DrillHit
from geometries.fabrication.naming import name_by_flooding
from geometries.fabrication.profile import outline_of
from geometries.fabrication.roles import BoardFiles, sort_files
from geometries.fabrication.sources import SourceFile, read_sources
from geometries.fabrication.stack import board_stack, given_stack


def read_board(place: Path, stackup: Stackup | None = None) -> Board:
    """Read a board.

    Parameters
    ----------
    place : Path
        Folder or zip archive: Gerber copper layers and profile, drill files, job file, IPC-D-356A netlist.
    stackup : Stackup, optional
        The construction, if it is known better than the files say.

    Returns
    -------
    Board
        Where the files name no nets, those found by flooding, called by the netlist's names or numbered.

    Raises
    ------
    FabricationError
        If a file is missing, damaged, too large or contradicts another, or the board is not routed.
    """
    return board_of_sources(place, read_sources(place), stackup)


@lru_cache(maxsize=2)
def board_of_sources(place: Path, sources: tuple[SourceFile, ...], stackup: Stackup | None = None) -> Board:
    """The board that a folder's or an archive's files hold, as :func:`read_board`; the same files are read once."""
    files = sort_files(str(place), sources)
    layers = tuple(
        BoardLayer(number=number, name=f"L{number}", file=file.name, nets=copper_by_net(file))
        for number, file in files.copper
    )
    stack = given_stack(stackup, len(layers)) if stackup else board_stack(files.job, len(layers))
    extent = shapely.total_bounds([shape for layer in layers for shape in layer.nets.values()])
    outline, assumed = outline_of(files.profile, shapely.box(*extent))
    require_aligned(layers, files.drills, outline)
    require_over_holes(files.copper, files.drills)
    board = Board(
        name=place.stem,
        layers=layers,
        pads=tuple(chain.from_iterable(pads_of_file(file, number) for number, file in files.copper)),
        holes=holes_in_copper(files.drills, layers),
        stack=stack,
        outline=outline,
        remarks=(*files.remarks, *([assumed] if assumed else reaching_over(layers, outline))),
    )
    return _named(board, files)


def _named(board: Board, files: BoardFiles) -> Board:
    """The board with names for its nets, by flooding if the files give none."""
    require_routed(board)
    if board.net_names:
        return board
    islands = flood(board.layers, board.holes)
    layers, points = name_by_flooding(board.layers, islands, files.points)
    pads = tuple(replace(pad, net=_net_under(pad, layers)) for pad in board.pads)
    remark = f"the files name no nets; they were found by flooding and {points}"
    return replace(
        board, layers=layers, pads=pads, holes=holes_in_copper(files.drills, layers), remarks=(*board.remarks, remark)
    )


def _net_under(pad: Pad, layers: Sequence[BoardLayer]) -> str:
    spot = pad.shape.representative_point()
    return next((net for net, shape in layers[pad.layer - 1].nets.items() if shape.intersects(spot)), "")


def holes_in_copper(drills: Sequence[DrillFile], layers: Sequence[BoardLayer]) -> tuple[Hole, ...]:
    """Every hole with the net of the copper that its wall touches."""
    hits = [hit for file in drills for hit in file.hits]
    touched = [_touched(hits, layer) for layer in layers]
    holes = tuple(_hole(hit, [nets[index] for nets in touched], len(layers)) for index, hit in enumerate(hits))
    require_fitting(layers, holes, touched)
    return holes


def _touched(hits: Sequence[DrillHit], layer: BoardLayer) -> list[set[str]]:
    """Nets of a layer that each hole's edge reaches."""
    parts = [(net, part) for net, shape in layer.nets.items() for part in shapely.get_parts(shape)]
    found: list[set[str]] = [set() for _ in hits]
    if not parts or not hits:
        return found
    tree = shapely.STRtree([_drilled(hit) for hit in hits])
    for part, hit in tree.query([part for _, part in parts], predicate="intersects").T:
        found[hit].add(parts[part][0])
    return found


def _drilled(hit: DrillHit) -> BaseGeometry:
    middle = shapely.Point(hit.start) if hit.start == hit.end else shapely.LineString([hit.start, hit.end])
    return middle.buffer(hit.diameter / 2, quad_segs=4)


def _hole(hit: DrillHit, nets: Sequence[set[str]], copper_layers: int) -> Hole:
    first, last = hit.layers if hit.layers[1] else (1, copper_layers)
    within = {number: names for number, names in enumerate(nets, start=1) if first <= number <= last}
    counted = Counter(chain.from_iterable(names - {""} for names in within.values()))
    net = counted.most_common(1)[0][0] if counted and hit.plated else ""
    return Hole(
        start=hit.start, end=hit.end, diameter=hit.diameter, plated=hit.plated, function=hit.function,
        layers=(first, last), net=net,
        touched=tuple(number for number, names in within.items() if net and net in names),
    )  # fmt: skip
