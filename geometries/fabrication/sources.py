"""The text files in a folder or a zip archive, within bounds of size, whatever the archive says about itself."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from geometries.fabrication.errors import FabricationError

MEGABYTE = 10**6
LARGEST_FILE = 40 * MEGABYTE
"""The largest single file that is read; a dense layer of a large board has about 10 MB."""
LARGEST_BOARD = 120 * MEGABYTE
"""All files together."""
MOST_FILES = 400
_SNIFFED = 2048
_NOT_TEXT = b"\x00"
_ENCRYPTED = 0x1


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceFile:
    """A text file: its name without folders, and its content."""

    name: str
    text: str


def read_sources(place: Path) -> tuple[SourceFile, ...]:
    """Every text file directly in a folder, or anywhere in a zip archive.

    Raises
    ------
    FabricationError
        If there is nothing to read, a file or all of them are too large, or the archive is damaged, encrypted or
        holds a path that leads out of it. Nothing is ever unpacked to the disk.
    """
    if not place.exists():
        raise FabricationError(f"{place} does not exist; name the folder or the zip archive of the fabrication files")
    try:
        found = _from_folder(place) if place.is_dir() else _from_archive(place)
        return tuple(_within_bounds(place, found))
    except OSError as failure:
        raise FabricationError(f"{place} cannot be read: {failure.strerror or failure}") from failure


def _within_bounds(place: Path, found: Iterator[tuple[str, bytes]]) -> Iterator[SourceFile]:
    total = 0
    for count, (name, content) in enumerate(found):
        total += len(content)
        if total > LARGEST_BOARD or count >= MOST_FILES:
            raise FabricationError(
                f"{place} holds more than {LARGEST_BOARD // MEGABYTE} MB or {MOST_FILES} files; "
                "leave only the fabrication files of one board in it"
            )
        if _NOT_TEXT not in content[:_SNIFFED]:
            yield SourceFile(name=name, text=_decoded(content))


def _decoded(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _from_folder(folder: Path) -> Iterator[tuple[str, bytes]]:
    for path in sorted(folder.iterdir()):
        if path.is_file():
            _require_small(path.name, path.stat().st_size)
            yield path.name, path.read_bytes()


def _from_archive(archive: Path) -> Iterator[tuple[str, bytes]]:
    try:
        with zipfile.ZipFile(archive) as opened:
            for entry in opened.infolist():
                if not entry.is_dir():
                    yield _read_entry(archive, opened, entry)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as failure:
        raise FabricationError(
            f"{archive} is no folder and no readable zip archive ({failure}); copy it again, or name a folder"
        ) from failure


def _read_entry(archive: Path, opened: zipfile.ZipFile, entry: zipfile.ZipInfo) -> tuple[str, bytes]:
    path = PurePosixPath(entry.filename.replace("\\", "/"))
    if path.is_absolute() or ".." in path.parts or ":" in path.parts[0]:
        raise FabricationError(f"{archive} holds the path {entry.filename!r}, which leads out of it; do not trust it")
    if entry.flag_bits & _ENCRYPTED:
        raise FabricationError(f"{archive}: {entry.filename!r} is encrypted; pack it without a password")
    with opened.open(entry) as stream:
        content = stream.read(LARGEST_FILE + 1)
    _require_small(path.name, len(content))
    return path.name, content


def _require_small(name: str, size: int) -> None:
    if size > LARGEST_FILE:
        raise FabricationError(
            f"{name} has more than {LARGEST_FILE // MEGABYTE} MB; no fabrication file of one board is that large. "
            "Is it a panel, or a file of another kind?"
        )
