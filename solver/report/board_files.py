"""A board's result as files: the data, and a picture of every solved loop's current over its copper."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from solver import figures
from solver.board.as_drawn import DrawnLoop, SolvedLoops
from solver.errors import system_failures_reported

DATA_FILE = "board.json"


def write_board(document: Mapping[str, Any], solved: SolvedLoops, folder: Path) -> tuple[Path, ...]:
    """Write the data and the pictures into a folder, which is made if need be.

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
    pictures = tuple(folder / _picture_name(one) for one in solved.drawn)
    for one, path in zip(solved.drawn, pictures, strict=True):
        figures.save_figure(figures.plan_figure(one.solution), path)
    return data, *pictures


def _picture_name(drawn: DrawnLoop) -> str:
    return f"{drawn.ends.name}-{drawn.ends.capacitor}.png".replace("/", "-")
