"""The folder of a computation of many points: its journal while it runs, its results beside it when it is done."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from solver.errors import ReportError, system_failures_reported
from solver.figures import save_figure
from solver.report.drawings import Drawing

JOURNAL_FILE = "points.jsonl"
"""The file by which such a folder is known."""


def prepare_folder(folder: Path, what: str) -> Path:
    """Make the folder of a computation, or check that it is one, before it begins.

    Parameters
    ----------
    folder : Path
        Made if it does not exist.
    what : str
        What is computed, for messages, for instance "sweep".

    Returns
    -------
    Path
        Where the journal lies, or will lie.

    Raises
    ------
    ReportError
        If it is a file, holds other files but no journal, or may not be written to.
    """
    journal = folder / JOURNAL_FILE
    with system_failures_reported(f"cannot write {folder}"):
        if folder.exists() and not folder.is_dir():
            raise ReportError(f"cannot write the {what} to {folder}: it is a file; name a folder")
        if folder.is_dir() and not journal.exists() and any(folder.iterdir()):
            raise ReportError(
                f"cannot write the {what} to {folder}: it holds files that are not of an earlier {what}; name another "
                "folder, or move these files away"
            )
        folder.mkdir(parents=True, exist_ok=True)
    return journal


def remove_files(folder: Path, names: Iterable[str]) -> None:
    """Remove what an earlier computation wrote beside its journal, lest it be taken for results of the new one."""
    with system_failures_reported(f"cannot write {folder}"):
        for name in names:
            (folder / name).unlink(missing_ok=True)


def write_drawings(folder: Path, drawings: Iterable[Drawing]) -> None:
    """Write drawings into the folder "figures", as PNG and SVG; each file is whole, or is what it was before."""
    with system_failures_reported(f"cannot write {folder}"):
        (folder / "figures").mkdir(exist_ok=True)
        for drawing in drawings:
            fresh = folder / "figures" / "drawing.new.png"
            save_figure(drawing.figure, fresh)
            fresh.replace(folder / "figures" / f"{drawing.name}.png")
            write_whole(folder / "figures" / f"{drawing.name}.svg", drawing.svg)


def write_whole(path: Path, content: str) -> None:
    """Write a file whole or not at all."""
    fresh = path.with_name(f".{path.name}.new")
    fresh.write_text(content, encoding="utf-8")
    os.replace(fresh, path)


def table_text(records: Iterable[Sequence[object]]) -> str:
    """Lines of a table as CSV; numbers with ten digits."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    for record in records:
        writer.writerow([f"{cell:.10g}" if isinstance(cell, float) else cell for cell in record])
    return buffer.getvalue()
