"""Text files from outside: regular files of bounded size, in UTF-8, without control characters; none is waited for."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import Final

from geometries.errors import ScenarioError, shown

LARGEST: Final = 32_000_000
"""A text file of more bytes is refused: half a million lines of a spectrum take a third of it."""

_UNPRINTABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")


def read_text_file(path: Path, kind: str, *, most: int = LARGEST) -> str:
    """Text of a file that the user named.

    Parameters
    ----------
    path : Path
        The file.
    kind : str
        What it is, for messages: "Touchstone file".
    most : int
        Largest size [bytes].

    Returns
    -------
    str
        Without a byte order mark; ends of lines as they are.

    Raises
    ------
    ScenarioError
        If there is no such file, or it is a folder, a pipe or a device, too large, not in UTF-8, or holds control
        characters. Nothing of what it holds is quoted.
    """
    place = shown_path(path)
    try:
        content = _content(path, place, most)
    except FileNotFoundError as error:
        raise ScenarioError(f"{place}: there is no such {kind}; check the path") from error
    except ScenarioError:
        raise
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be a path"
        raise ScenarioError(f"{place}: cannot be read ({reason}); check the path and its permissions") from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{place}: not a text file in UTF-8; save the {kind} as one") from error
    control = _CONTROL.search(text)
    if control:
        line = text.count("\n", 0, control.start()) + 1
        raise ScenarioError(f"{place}: line {line} holds a control character; save the {kind} as plain text")
    return text


def _content(path: Path, place: str, most: int) -> bytes:
    descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    try:
        mode = os.fstat(descriptor).st_mode
        if not stat.S_ISREG(mode):
            raise ScenarioError(f"{place}: is no file but {_kind(mode)}; name a text file")
        with open(descriptor, "rb", closefd=False) as file:
            content = file.read(most + 1)
    finally:
        os.close(descriptor)
    if len(content) > most:
        raise ScenarioError(f"{place}: is larger than {most / 1e6:g} MB; leave out what is not needed")
    return content


def _kind(mode: int) -> str:
    kinds = ((stat.S_ISDIR, "a folder"), (stat.S_ISFIFO, "a pipe"), (stat.S_ISSOCK, "a socket"))
    return next((name for matches, name in kinds if matches(mode)), "a device")


def shown_path(path: Path) -> str:
    """A path as one short line for a message, without quotation marks; of a long one its end."""
    text = shown(str(path)[-78:])[1:-1]
    return f"…{text}" if len(str(path)) > 78 else text


def require_plain_text(value: object, where: str) -> None:
    """Refuse text in nested tables and lists that holds more than letters, signs, tabs and ends of lines.

    Raises
    ------
    ScenarioError
        If a key or a text holds a control character, or a sign that changes the direction of writing.
    """
    if isinstance(value, dict):
        for key, each in value.items():
            require_plain_text(key, where)
            require_plain_text(each, where)
    elif isinstance(value, list):
        for each in value:
            require_plain_text(each, where)
    elif isinstance(value, str) and _UNPRINTABLE.search(value):
        raise ScenarioError(f"{where}: the text {shown(value)} holds a control character; write it without")


def path_under(folder: Path, name: str, key: str) -> Path:
    """A file that a scenario names, which lies in the scenario's folder or below it.

    Parameters
    ----------
    folder : Path
        The scenario's folder.
    name : str
        As the scenario names it.
    key : str
        Under which key, for messages.

    Raises
    ------
    ScenarioError
        If it lies elsewhere, links resolved.
    """
    path = folder / name
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError, RuntimeError) as error:
        raise ScenarioError(
            f"{key} is {shown(name)}, which cannot be a path; name a file beside the scenario"
        ) from error
    if not inside:
        raise ScenarioError(
            f"{key} is {shown(name)}, outside the scenario's folder; move the file beside the scenario, or allow it "
            "with --allow-outside"
        )
    return path
