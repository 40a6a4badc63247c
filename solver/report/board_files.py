"""A board's result as files: the data, the layout note, and pictures of every solved loop."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from solver import figures
from solver.board.as_drawn import DrawnLoop, SolvedLoops
from solver.board.edits import TriedEdit
from solver.board.regions import WORST, worst_regions
from solver.errors import system_failures_reported
from solver.report.board_text import change_sentence, drawn_sentence
from solver.variant.results import VariantResult

DATA_FILE, NOTE_FILE, SECTION_FILE = "board.json", "layout-note.md", "section.png"


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
        If the folder or a file cannot be written.
    """
    data = folder / DATA_FILE
    text = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)
    with system_failures_reported(f"cannot write the board's result into {folder}"):
        folder.mkdir(parents=True, exist_ok=True)
        data.write_text(text, encoding="utf-8")
    pictures = [path for one in solved.drawn for path in _pictures(one, folder)]
    note = folder / NOTE_FILE
    if solved.drawn:
        with system_failures_reported(f"cannot write the layout note into {folder}"):
            note.write_text("\n\n".join(layout_note(one, tried) for one in solved.drawn) + "\n", encoding="utf-8")
    if section:
        pictures.append(folder / SECTION_FILE)
        figures.save_figure(figures.section_figure(section), pictures[-1])
    return data, *((note,) if solved.drawn else ()), *pictures


def _pictures(drawn: DrawnLoop, folder: Path) -> tuple[Path, Path]:
    """The current over the copper, and the inductance with the worst places numbered."""
    current, note = (folder / f"{_name(drawn)}{ending}.png" for ending in ("", "-note"))
    figures.save_figure(figures.plan_figure(drawn.solution), current)
    marks = [(number, one.where, one.place) for number, one in enumerate(worst_regions(drawn)[:WORST], start=1)]
    title = f"{drawn.ends.name} with {drawn.ends.capacitor}"
    figures.save_figure(figures.board_figure(drawn.solution, drawn.energy, marks, title), note)
    return current, note


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
