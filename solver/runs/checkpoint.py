"""A file to which records are added one by one and that survives an interruption at any moment.

One line of JSON per record; the first says what the file is about. A record counts once its line is complete: what
a kill leaves of a line is dropped at the next opening.
"""

from __future__ import annotations

import fcntl
import json
import os
import stat
import zlib
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from io import FileIO
from pathlib import Path
from typing import Any

from geometries.errors import shown
from solver.errors import ReportError, system_failures_reported
from solver.runs.interruption import held_interruptions
from solver.runs.records import DamagedRecordError, parse_record

Record = dict[str, Any]

_MOST_DIFFERENCES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Journal:
    """An open journal: the file, which grows at its end, and where it lies."""

    path: Path
    file: FileIO

    def records(self) -> tuple[Record, ...]:
        """All records that are on the disk now, without the header.

        Raises
        ------
        ReportError
            If the file cannot be read or is damaged.
        """
        with system_failures_reported(f"cannot read {self.path}"):
            return tuple(_parse(_whole_lines(_content(self.file)), self.path)[1:])

    def append(self, record: Record) -> None:
        """Add a record; when this returns it is on the disk.

        Raises
        ------
        ReportError
            If it cannot be written.
        """
        rest = memoryview(_line(record))
        with system_failures_reported(f"cannot write {self.path}"), held_interruptions():
            while rest:
                rest = rest[self.file.write(rest) :]
            os.fsync(self.file.fileno())


@contextmanager
def open_journal(path: Path, header: Record, *, fresh: bool = False) -> Iterator[Journal]:
    """Open a journal to go on with it, or start it.

    Parameters
    ----------
    path : Path
        The file; made if it does not exist.
    header : dict
        What the records depend on; its first key is "schema". A journal with another header is not resumed.
    fresh : bool
        Start anew, whatever the file holds.

    Yields
    ------
    Journal
        No other process can open it meanwhile.

    Raises
    ------
    ReportError
        If the file cannot be written, is in use, is damaged, or has another header; it is left as it was.
    """
    with ExitStack() as stack:
        with system_failures_reported(f"cannot write {path}"):
            file = stack.enter_context(_open_file(path))
            _lock(file, path)
            journal = _go_on(path, file, header, fresh)
        yield journal


def _go_on(path: Path, file: FileIO, header: Record, fresh: bool) -> Journal:
    """Read what is there, drop a torn last line, and write the header if there is none."""
    content = _content(file)
    mark = _line({"schema": header["schema"]})[:-2]
    if not (content.startswith(mark) or mark.startswith(content)):
        raise ReportError(f"{path} is no journal of ours; name another folder, or move that file away")
    whole = _whole_lines(content)
    records = [] if fresh else _parse(whole, path)
    if records and records[0] != header:
        raise ReportError(
            f"cannot go on with {path}: it holds results of other inputs ({_differences(records[0], header)}); name "
            "another folder, or start anew with --fresh"
        )
    file.truncate(len(whole) if records else 0)
    journal = Journal(path=path, file=file)
    if not records:
        journal.append(header)
    return journal


def _open_file(path: Path) -> FileIO:
    """Open or make a file for reading and for writing at its end; a link, a pipe or a device is refused."""
    if path.is_symlink():
        raise ReportError(f"{path} is a link; name another folder, or put the file itself in its place")
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC
    descriptor = os.open(path, flags, 0o666)
    if not stat.S_ISREG(os.fstat(descriptor).st_mode):
        os.close(descriptor)
        raise ReportError(f"{path} is no file; name another folder, or move it away")
    return FileIO(descriptor, "ab+")


def _content(file: FileIO) -> bytes:
    file.seek(0)
    return file.readall()


def _line(record: Record) -> bytes:
    return json.dumps(record, ensure_ascii=False, allow_nan=False).encode("utf-8") + b"\n"


def _whole_lines(content: bytes) -> bytes:
    """Without what stands behind the last end of a line."""
    return content[: content.rfind(b"\n") + 1]


def _parse(whole: bytes, path: Path) -> list[Record]:
    records: list[Record] = []
    known: set[bytes] = set()
    for number, line in enumerate(whole.split(b"\n")[:-1], start=1):
        if line in known:  # a doubled line counts once
            continue
        known.add(line)
        try:
            record = parse_record(line)
        except DamagedRecordError as failure:
            raise ReportError(
                f"{path}: line {number} is damaged ({failure}); remove that line, or start anew with --fresh"
            ) from failure
        if not isinstance(record, dict):
            raise ReportError(f"{path}: line {number} is no record; remove that line, or start anew with --fresh")
        records.append(record)
    return records


def _lock(file: FileIO, path: Path) -> None:
    try:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as failure:
        raise ReportError(f"{path} is in use by another run; wait for it, or name another folder") from failure


def _differences(old: Any, new: Any) -> str:
    found = list(_walk_differences("", old, new))
    rest = len(found) - _MOST_DIFFERENCES
    return "; ".join(found[:_MOST_DIFFERENCES]) + (f"; and {rest} more" if rest > 0 else "")


def _walk_differences(place: str, old: Any, new: Any) -> Iterator[str]:
    """Every value that differs, with the way to it."""
    if isinstance(old, dict) and isinstance(new, dict):
        for key in dict.fromkeys([*old, *new]):
            yield from _walk_differences(f"{place}.{key}" if place else str(key), old.get(key), new.get(key))
    elif isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        for index, pair in enumerate(zip(old, new, strict=True)):
            yield from _walk_differences(f"{place}.{index}", *pair)
    elif old != new:
        yield f"{shown(place)[1:-1]} was {_shown(old)}, now {_shown(new)}"


def _shown(value: Any) -> str:
    if value is None:
        return "absent"
    return shown(value)


@contextmanager
def described_points(journal: Journal, what: str = "a point") -> Iterator[None]:
    """Refuse a record from which no point, or whatever it is, can be made, with the file that it stands in.

    Raises
    ------
    ReportError
        If keys are missing or foreign, or of another kind.
    """
    try:
        yield
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError, zlib.error) as failure:
        raise ReportError(
            f"{journal.path}: a record does not describe {what} ({shown(str(failure))[1:-1]}); start anew with --fresh"
        ) from failure
