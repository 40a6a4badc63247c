"""The Gerber job file: which file is which layer, the board's size, and its construction.

Ucamco, *The Gerber Job Format Specification*, revision 2020.08 (from memory): JSON, lengths in millimetres.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from geometries.fabrication.attributes import Fields
from geometries.fabrication.errors import FabricationError
from geometries.quantities import MM


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLayer:
    """A layer of the construction; `thickness` [m] and permittivity [1] are zero if the file does not say."""

    kind: str
    name: str
    thickness: float
    relative_permittivity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFile:
    """What a job file says.

    Parameters
    ----------
    name : str
        The file.
    copper_layers : int
        How many copper layers the board has; zero if not said.
    functions : mapping
        Function of every file by its name.
    layers : tuple of JobLayer
        The construction from top to bottom; empty if not said.
    """

    name: str
    copper_layers: int
    functions: Mapping[str, Fields]
    layers: tuple[JobLayer, ...]


def read_job(name: str, text: str) -> JobFile:
    """Read a job file.

    Raises
    ------
    FabricationError
        If it is not JSON, or not built like a job file.
    """
    try:
        document = json.loads(text)
        general = document.get("GeneralSpecs", {})
        return JobFile(
            name=name,
            copper_layers=int(general.get("LayerNumber", 0)),
            functions={entry["Path"]: _function(entry) for entry in document.get("FilesAttributes", [])},
            layers=tuple(_layer(entry) for entry in document.get("MaterialStackup", [])),
        )
    except json.JSONDecodeError as failure:
        raise FabricationError(
            f"{name}, line {failure.lineno}: not readable as JSON ({failure.msg}); export it again"
        ) from failure
    except (AttributeError, KeyError, TypeError, ValueError) as failure:
        raise FabricationError(f"{name}: not built like a Gerber job file ({failure}); export it again") from failure


def _function(entry: Mapping[str, Any]) -> Fields:
    return tuple(str(entry.get("FileFunction", "")).split(","))


def _layer(entry: Mapping[str, Any]) -> JobLayer:
    return JobLayer(
        kind=str(entry.get("Type", "")),
        name=str(entry.get("Name", "")),
        thickness=float(entry.get("Thickness", 0.0)) * MM,
        relative_permittivity=float(entry.get("DielectricConstant", 0.0)),
    )
