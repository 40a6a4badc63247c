"""What the command ``copperfield board`` does: read, find, solve, try changes, write, print."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from rich.console import Console

from geometries.board.stackup import Stackup
from geometries.drawn.loops import find_loops
from geometries.errors import GeometryError
from geometries.fabrication.connectivity import flood, net_differences
from geometries.fabrication.reading import read_board
from geometries.files.details_reading import NO_DETAILS, BoardDetails
from solver.board.as_drawn import LOOP_STEPS
from solver.board.edits import try_edits
from solver.board.feedback import NO_FEEDBACK, coupled_feedback
from solver.board.wanted import NOTHING_SOLVED, Wanted, same_loops, solve_wanted
from solver.report.board_cut import cut_lines, read_line, solve_cut
from solver.report.board_document import board_document
from solver.report.board_files import read_kept_board, write_board
from solver.report.board_text import board_lines, drawn_lines, edits_lines, feedback_lines, revision_lines
from solver.report.progress import told
from solver.report.terminal import print_document


def run_board(
    place: Path,
    wanted: Wanted | None,
    output: Path | None,
    stackup: Stackup | None = None,
    *,
    cut: str = "",
    against: Path | None = None,
    feedback: str = "",
    details: BoardDetails = NO_DETAILS,
    edits: bool,
    fresh: bool = False,
    as_json: bool,
) -> None:
    """Print what was found on a board and, if a converter, a capacitor and a frequency are wanted, the solved loops.

    Raises
    ------
    GeometryError, SolverError, ReportError
        If the files, a solution or the output is at fault.
    """
    across = read_line(cut) if cut else None
    if feedback and wanted and wanted.points:
        raise GeometryError("--feedback needs a converter by its name; leave it out where points name the loop")
    with Console(stderr=True).status("reading fabrication files"):
        read = read_kept_board(place, stackup, output, fresh=fresh)
        other = read_board(against, stackup) if against else None
        loops, differences = find_loops(read), net_differences(flood(read.layers, read.holes))
        for name in details.parts if wanted is None or wanted.points is None else ():
            read.pads_of(name)
    solved = before = NOTHING_SOLVED
    if wanted:
        with told("steps", LOOP_STEPS * (1 if wanted.one else len(loops))) as tell:
            solved = solve_wanted(read, loops, wanted, tell=tell)
    if other and wanted:
        with told(f"steps on {other.name}", LOOP_STEPS * len(solved.drawn)) as tell:
            before = same_loops(other, solved, wanted, tell=tell)
    with Console(stderr=True).status("solving section and feedback"):
        section = solve_cut(read, solved.worst, across, wanted.frequency) if cut and solved.worst and wanted else None
        coupled = NO_FEEDBACK if wanted and wanted.points else coupled_feedback(read, loops, solved.drawn, feedback)
    telling = partial(told, "changes")
    tried = try_edits(read, solved.worst, telling=telling) if edits and solved.worst else ()
    document = board_document(read, loops, differences, solved, tried, before, section, coupled, details.pickup)
    written = write_board(document, solved, tried, output, section) if output else ()
    if as_json:
        print_document(document)
        return
    lines = [*board_lines(read, loops, differences), *drawn_lines(solved)]
    lines += [*feedback_lines(coupled, details.pickup), *revision_lines(solved, before)]
    lines += cut_lines(section) if section else ()
    lines += edits_lines(solved.worst, tried) if tried and solved.worst else ()
    console = Console()
    for line in (*lines, *(f"written: {path}" for path in written)):
        console.print(line, markup=False, highlight=False)
