"""A board's result as files: the data, the layout note, pictures of every solved loop, and the reading kept."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from geometries.board.stackup import Stackup
from geometries.fabrication.board import Board
from geometries.fabrication.kept import kept_board, kept_reading, reading_key
from geometries.fabrication.reading import board_of_sources
from geometries.fabrication.sources import read_sources
from solver import figures
from solver.board.as_drawn import DrawnLoop
from solver.board.edits import TriedEdit
from solver.board.regions import WORST, worst_regions
from solver.board.wanted import SolvedLoops
from solver.errors import system_failures_reported
from solver.report.board_text import change_sentence, drawn_sentence
from solver.runs.folders import place_file, staging_folder
from solver.variant.results import VariantResult

DATA_FILE, NOTE_FILE, SECTION_FILE = "board.json", "layout-note.md", "section.png"
READING_FILE = "board.reading"
"""What was read from the fabrication files, kept for the next run."""


def read_kept_board(place: Path, stackup: Stackup | None, folder: Path | None, *, fresh: bool = False) -> Board:
    """Read a board, or take the reading of the same files that the folder of the result keeps; keep it there if new.

    Parameters
    ----------
    place, stackup
        As :func:`geometries.fabrication.reading.read_board`.
    folder : Path or None
        Of the result; without one nothing is kept.
    fresh : bool
        Read the files, whatever is kept.

    Raises
    ------
    FabricationError
        If the files are at fault.
    ReportError
        If the reading cannot be kept.
    """
    sources = read_sources(place)
    if folder is None:
        return board_of_sources(place, sources, stackup)
    key, file = reading_key(sources, place, stackup), folder / READING_FILE
    with system_failures_reported(f"cannot read {file}"):
        kept = file.read_bytes() if file.is_file() and not fresh else b""
    board = kept_board(kept, key)
    if board is None:
        board = board_of_sources(place, sources, stackup)
        with _placed_files(folder) as staged:
            (staged / READING_FILE).write_bytes(kept_reading(board, key))
    return board


@contextmanager
def _placed_files(folder: Path) -> Iterator[Path]:
    """Where to write files that then go to their places in a folder one by one, each whole, if all went well."""
    with system_failures_reported(f"cannot write the board's result into {folder}"):
        folder.mkdir(parents=True, exist_ok=True)
        with staging_folder(folder) as staged:
            yield staged
            for path in sorted(staged.iterdir()):
                place_file(path, folder / path.name)


def write_board(
    document: Mapping[str, Any],
    solved: SolvedLoops,
    tried: tuple[TriedEdit, ...],
    folder: Path,
    section: VariantResult | None = None,
) -> tuple[Path, ...]:
    """Write the data, the layout note and the pictures into a folder, which is made if need be.

    Raises
    ------
    ReportError
        If the folder or a file cannot be written; then none of them is.
    """
    with _placed_files(folder) as staged:
        text = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)
        (staged / DATA_FILE).write_text(text, encoding="utf-8")
        for one in solved.drawn:
            _pictures(one, staged)
        if solved.drawn:
            notes = "\n\n".join(layout_note(one, tried) for one in solved.drawn)
            (staged / NOTE_FILE).write_text(notes + "\n", encoding="utf-8")
        if section:
            figures.save_figure(figures.section_figure(section), staged / SECTION_FILE)
        written = sorted(path.name for path in staged.iterdir())
    return tuple(folder / name for name in written)


def _pictures(drawn: DrawnLoop, folder: Path) -> None:
    """The current over the copper, and the inductance with the worst places numbered."""
    current, note = (folder / f"{_name(drawn)}{ending}.png" for ending in ("", "-note"))
    figures.save_figure(figures.plan_figure(drawn.solution), current)
    marks = [(number, one.where, one.place) for number, one in enumerate(worst_regions(drawn)[:WORST], start=1)]
    title = f"{drawn.ends.name} with {drawn.ends.capacitor}"
    figures.save_figure(figures.board_figure(drawn.solution, drawn.energy, marks, title), note)


def _name(drawn: DrawnLoop) -> str:
    return f"{drawn.ends.name}-{'-'.join(drawn.ends.capacitors)}".replace("/", "-")


def layout_note(drawn: DrawnLoop, tried: tuple[TriedEdit, ...]) -> str:
    """What a layouter is told: the loop in a sentence, the worst places by the picture's numbers, what to change.

    Changes are those of the largest loop, and stand under that alone.
    """
    lines = [f"# {drawn.ends.name} with {drawn.ends.capacitor}", "", drawn_sentence(drawn), ""]
    lines += [f"![worst places]({_name(drawn)}-note.png)", ""]
    lines += [f"{number}. {one.sentence}" for number, one in enumerate(worst_regions(drawn)[:WORST], start=1)]
    changes = [one for one in tried if one.loop == (drawn.ends.name, drawn.ends.capacitor) and one.gain > one.error]
    if changes:
        lines += ["", "What to change first:", "", *(f"- {change_sentence(one)}" for one in changes)]
    return "\n".join(lines)
