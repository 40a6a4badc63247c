"""The folder of a computation of many points: its journal while it runs, its results beside it when it is done."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path

from solver.errors import ReportError, system_failures_reported
from solver.report.part import Drawing
from solver.runs.folders import place_file, require_space, staging_folder

JOURNAL_FILE = "points.jsonl"
"""The file by which such a folder is known."""

FIGURES = "figures"
"""The folder of the drawings in it."""


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
        if (folder / FIGURES).is_symlink():
            raise ReportError(
                f"cannot write the {what} to {folder}: {FIGURES} in it is a link; put a folder in its place, or name "
                "another folder"
            )
        with staging_folder(folder) as trial:  # known before the computation: no permission, no space
            require_space(trial)
    return journal


def remove_files(folder: Path, names: Iterable[str]) -> None:
    """Remove what an earlier computation wrote beside its journal, lest it be taken for results of the new one."""
    with system_failures_reported(f"cannot write {folder}"):
        for name in names:
            (folder / name).unlink(missing_ok=True)


def write_drawings(folder: Path, drawings: Iterable[Drawing]) -> None:
    """Write drawings into the folder "figures"; each file whole, or as it was."""
    with system_failures_reported(f"cannot write {folder}"), staging_folder(folder) as stage:
        for drawing in drawings:
            (stage / "drawing.svg").write_text(drawing.svg, encoding="utf-8")
            place_file(stage / "drawing.svg", folder / FIGURES / f"{drawing.name}.svg")
            if drawing.png is not None:
                (stage / "drawing.png").write_bytes(drawing.png)
                place_file(stage / "drawing.png", folder / FIGURES / f"{drawing.name}.png")


def write_results(
    folder: Path,
    drawings: Iterable[Drawing],
    texts: Mapping[str, str],
    documents: Mapping[str, object],
) -> None:
    """Write drawings, texts and documents by their file names; each file is whole, or is what it was before.

    Raises
    ------
    ReportError
        If a file cannot be written.
    """
    write_drawings(folder, drawings)
    lines = {name: json.dumps(each, indent=2, ensure_ascii=False, allow_nan=False) for name, each in documents.items()}
    with system_failures_reported(f"cannot write {folder}"), staging_folder(folder) as stage:
        for name, text in {**{name: f"{line}\n" for name, line in lines.items()}, **texts}.items():
            (stage / name).write_text(text, encoding="utf-8", newline="")
            place_file(stage / name, folder / name)
