"""Folders that are written all together or not at all, whatever ends the program, and never through planted links.

New files are written into a folder of a random name that did not exist before. Beside the target, it then takes the
target's place; where that cannot be, because the target is a mount point or the folder above may not be written to, it
lies within the target, and its files are moved to their places one by one, the listing file last. A folder in work is
locked; what a killed run left is known by its name, is not locked, and is removed, or put back, by the next.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import re
import secrets
import shutil
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from geometries.text_files import shown_path
from solver.errors import ReportError

LEAST_SPACE = 20_000_000
"""Free space that is asked for before a computation begins [bytes]; a report takes a few million."""

_NAME = re.compile(r"\.copperfield-([0-9a-f]{16})-[0-9a-f]{16}\.(new|old)")
_MOST_NAMED = 5


def require_folder(folder: Path, ours: Collection[str], further_space: int = 0) -> None:
    """Check, before a long computation, that a folder can be written, or replaced by a new one.

    Parameters
    ----------
    folder : Path
        Where to; the folders above it are made.
    ours : collection of str
        Files in it that are ours, by their paths within it.
    further_space : int
        Space that is needed beyond :data:`LEAST_SPACE` [bytes].

    Raises
    ------
    ReportError
        If it is a file, holds other files or links, or the disk is nearly full.
    OSError
        If the system refuses.
    """
    target = folder.resolve()
    if target.exists() and not target.is_dir():
        raise ReportError(f"cannot write to {shown_path(folder)}: it is a file; name a folder")
    target.parent.mkdir(parents=True, exist_ok=True)
    _restore(target)
    foreign = [name for name in _files(target) if name not in ours]
    if foreign:
        shown = ", ".join(shown_path(Path(name)) for name in foreign[:_MOST_NAMED])
        shown += f" and {len(foreign) - _MOST_NAMED} more" if len(foreign) > _MOST_NAMED else ""
        raise ReportError(
            f"cannot write to {shown_path(folder)}: it holds files that are not of an earlier run ({shown}); name "
            "another folder, or move these files away"
        )
    with _new_folder(target) as trial:
        require_space(trial, further_space)


def require_space(folder: Path, further: int = 0) -> None:
    """Refuse a disk that has less than :data:`LEAST_SPACE` and what is needed further [bytes].

    Raises
    ------
    ReportError
        With what is free.
    """
    free = shutil.disk_usage(folder).free
    needed = LEAST_SPACE + further
    if free < needed:
        raise ReportError(
            f"cannot write to {shown_path(folder.parent)}: {free / 1e6:.3g} MB are free on its disk; at least "
            f"{needed / 1e6:g} MB are needed: make room, or name a folder on another disk"
        )


@contextmanager
def replaced_folder(folder: Path, last: str) -> Iterator[Path]:
    """A new folder to write into, which becomes `folder` when the block ends well.

    Parameters
    ----------
    folder : Path
        Checked by :func:`require_folder` before; an older one goes.
    last : str
        The file in it that lists the others; it is moved last where files are moved one by one.

    Yields
    ------
    Path
        Removed again, with all it holds, if the block raises.

    Raises
    ------
    OSError
        If the system refuses.
    """
    target = folder.resolve()
    with _new_folder(target) as fresh:
        yield fresh
        if fresh.parent == target:
            _move_files(fresh, target, last)
        else:
            _take_place(fresh, target)


@contextmanager
def staging_folder(folder: Path) -> Iterator[Path]:
    """A new folder within an existing one, for files that are then moved to their places by :func:`place_file`.

    Raises OSError if the system refuses.
    """
    target = folder.resolve()
    _remove_leftovers(target)
    with _locked(target / _random_name(target, "new")) as fresh:
        yield fresh


def place_file(fresh: Path, place: Path) -> None:
    """Move a finished file to its place in one step; what stood there goes, a link itself and not what it points to.

    Raises
    ------
    ReportError
        If the folder of the place is a link.
    OSError
        If the system refuses.
    """
    if place.parent.is_symlink():
        raise ReportError(f"{shown_path(place.parent)} is a link; put a folder in its place, or name another folder")
    place.parent.mkdir(exist_ok=True)
    os.replace(fresh, place)


@contextmanager
def _new_folder(target: Path) -> Iterator[Path]:
    """A new locked folder beside the target, or within it where it cannot take the target's place."""
    within = target.is_dir() and (os.path.ismount(target) or not os.access(target.parent, os.W_OK | os.X_OK))
    place = target if within else target.parent
    _remove_leftovers(target)
    with _locked(place / _random_name(target, "new")) as fresh:
        yield fresh


@contextmanager
def _locked(fresh: Path) -> Iterator[Path]:
    """Make a folder that must not exist yet, lock it, and remove it unless it was moved away."""
    fresh.mkdir()
    descriptor = os.open(fresh, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield fresh
    finally:
        os.close(descriptor)
        if fresh.exists():
            shutil.rmtree(fresh)


def _take_place(fresh: Path, target: Path) -> None:
    if not target.exists():
        fresh.rename(target)
        return
    aside = target.parent / _random_name(target, "old")
    target.rename(aside)
    try:
        fresh.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    shutil.rmtree(aside)


def _move_files(fresh: Path, target: Path, last: str) -> None:
    """Move files to their places within the target, then remove those of an older run that have no successor."""
    names = sorted(_files(fresh), key=lambda name: name == last)
    older = [name for name in _files(target) if not _NAME.match(name)]
    for name in names:
        (target / name).parent.mkdir(parents=True, exist_ok=True)
        os.replace(fresh / name, target / name)
    for name in set(older) - set(names):
        (target / name).unlink(missing_ok=True)


def _files(folder: Path) -> list[str]:
    """Everything in a folder that is no folder itself, and every link, by its path within; nothing of a run in work."""
    if not folder.is_dir():
        return []
    found = (path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir())
    names = (path.relative_to(folder).as_posix() for path in found)
    return sorted(name for name in names if not _NAME.match(name))


def _mark(target: Path) -> str:
    """What stands in the names of folders that are on their way to this target; the name itself may be too long."""
    return hashlib.sha256(os.fsencode(target.name)).hexdigest()[:16]


def _random_name(target: Path, kind: str) -> str:
    return f".copperfield-{_mark(target)}-{secrets.token_hex(8)}.{kind}"


def _leftovers(place: Path, mark: str, kind: str) -> list[Path]:
    """Folders of an earlier run for the same target that nobody works in."""
    if not (place.is_dir() and os.access(place, os.R_OK)):
        return []
    matches = ((path, _NAME.fullmatch(path.name)) for path in place.iterdir())
    named = [path for path, match in matches if match and match.groups() == (mark, kind)]
    return [path for path in named if path.is_dir() and not path.is_symlink() and not _in_work(path)]


def _in_work(folder: Path) -> bool:
    try:
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC)
    except OSError:
        return True
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return True
    finally:
        os.close(descriptor)
    return False


def _remove_leftovers(target: Path) -> None:
    for path in (*_leftovers(target.parent, _mark(target), "new"), *_leftovers(target, _mark(target), "new")):
        with suppress(FileNotFoundError):  # another run removes it at this moment
            shutil.rmtree(path)


def _restore(target: Path) -> None:
    """Put back an older folder that a killed run had set aside; remove it if the new one has taken its place."""
    for path in _leftovers(target.parent, _mark(target), "old"):
        with suppress(FileNotFoundError):
            if target.exists():
                shutil.rmtree(path)
            else:
                path.rename(target)
