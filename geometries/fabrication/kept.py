"""A board's reading as bytes that are kept, so that the same files need not be read twice.

What is kept counts only under its key: a digest of the files, of the construction that was given and of the program
that reads. It carries a digest of itself, so that what is torn is known. It is text, and nothing in it is carried out.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from geometries.board.materials import Conductor
from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.fabrication.board import Board, BoardLayer, Hole, Pad
from geometries.fabrication.sources import SourceFile
from geometries.fabrication.stack import BoardStack

_MARK = b"copperfield board reading\n"
_DIGEST = 64
_QUICK = 1
"""Level of the compression."""


def reading_key(sources: Iterable[SourceFile], place: Path, stackup: Stackup | None) -> str:
    """What a reading depends on, as a digest: files, name, construction given, program."""
    digest = hashlib.sha256(f"{_program()}\n{place.stem}\n{stackup!r}\n".encode())
    for source in sources:
        for text in (source.name, source.text):
            digest.update(f"{len(text)}\n{text}".encode("utf-8", "surrogatepass"))
    return digest.hexdigest()


@cache
def _program() -> str:
    """Digest of the modules that read."""
    digest = hashlib.sha256()
    for module in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(module.read_bytes())
    return digest.hexdigest()


def kept_reading(board: Board, key: str) -> bytes:
    """A board as bytes to keep under its key."""
    text = zlib.compress(json.dumps(_plain(board)).encode(), _QUICK)
    return _MARK + (_sealed(key, text) + "\n").encode() + text


def kept_board(kept: bytes, key: str) -> Board | None:
    """The board that was kept under a key; none if it is another one's, torn, or changed."""
    head = len(_MARK) + _DIGEST + 1
    text = kept[head:]
    if kept[:head] != _MARK + (_sealed(key, text) + "\n").encode():
        return None
    return _board(json.loads(zlib.decompress(text)))


def _sealed(key: str, text: bytes) -> str:
    return hashlib.sha256(key.encode() + text).hexdigest()


def _plain(value: Any) -> Any:
    """Frozen values as JSON has them; shapes in hexadecimal well-known binary (OGC 06-103r4)."""
    if isinstance(value, BaseGeometry):
        return shapely.to_wkb(value, hex=True)
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        return {key: _plain(each) for key, each in value.items()}
    return [_plain(each) for each in value] if isinstance(value, tuple) else value


def _board(said: Mapping[str, Any]) -> Board:
    shapes = shapely.from_wkb([pad["shape"] for pad in said["pads"]])
    return Board(
        name=said["name"],
        layers=tuple(_layer(layer) for layer in said["layers"]),
        pads=tuple(
            Pad(**{**pad, "place": tuple(pad["place"]), "shape": shape})
            for pad, shape in zip(said["pads"], shapes, strict=True)
        ),
        holes=tuple(Hole(**_with_tuples(hole)) for hole in said["holes"]),
        stack=_stack(said["stack"]),
        outline=shapely.from_wkb(said["outline"]),
        remarks=tuple(said["remarks"]),
    )


def _layer(said: Mapping[str, Any]) -> BoardLayer:
    names: Sequence[str] = list(said["nets"])
    return BoardLayer(**{**said, "nets": dict(zip(names, shapely.from_wkb(list(said["nets"].values())), strict=True))})


def _stack(said: Mapping[str, Any]) -> BoardStack:
    stackup = said["stackup"]
    layers = tuple(
        (DielectricLayer if "relative_permittivity" in layer else CopperLayer)(**layer) for layer in stackup["layers"]
    )
    named = Stackup(**{**stackup, "layers": layers, "copper": Conductor(**stackup["copper"])})
    return BoardStack(**{**said, "stackup": named, "assumptions": tuple(said["assumptions"])})


def _with_tuples(said: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in said.items()}
