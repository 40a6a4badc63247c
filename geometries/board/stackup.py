"""A board's stackup: copper and dielectric layers from top to bottom, and the height of every surface.

y = 0 is the underside of the top copper; the other layers follow below.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Annotated, Any

from pydantic import Discriminator, Field, Tag

from geometries.board.materials import COPPER, Conductor
from geometries.errors import GeometryError
from geometries.tables import CopperThickness, Derived, Number, Table


@dataclass(frozen=True, slots=True, kw_only=True)
class CopperLayer(Table):
    """A copper layer of a stackup; `thickness` [m].

    Parameters
    ----------
    name : str
        For instance "L1"; unique on its board.
    thickness : float
        [m], > 0.

    Examples
    --------
    >>> from geometries import UM, CopperLayer
    >>> CopperLayer(name="L1", thickness=35 * UM).name
    'L1'
    """

    name: Annotated[str, Field(alias="copper")]
    thickness: CopperThickness


@dataclass(frozen=True, slots=True, kw_only=True)
class DielectricLayer(Table):
    """A prepreg, core or mask; `thickness` [m] and relative permittivity [1] (it has no part in L or R).

    Parameters
    ----------
    name : str
        For instance "core".
    thickness : float
        [m], > 0.
    relative_permittivity : float
        [1], at least 1.

    Examples
    --------
    >>> from geometries import MM, DielectricLayer
    >>> DielectricLayer(name="core", thickness=1.53 * MM, relative_permittivity=4.4).name
    'core'
    """

    name: Annotated[str, Field(alias="dielectric")]
    thickness: CopperThickness
    relative_permittivity: Number


def _kind_of_layer(table: Any) -> str:
    is_dielectric = bool(table.get("dielectric")) if isinstance(table, dict) else isinstance(table, DielectricLayer)
    return "dielectric layer" if is_dielectric else "copper layer"


Layer = Annotated[
    Annotated[CopperLayer, Tag("copper layer")] | Annotated[DielectricLayer, Tag("dielectric layer")],
    Discriminator(_kind_of_layer),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stackup(Table):
    """Layers from top to bottom.

    Parameters
    ----------
    name : str
        Name of the stackup.
    layers : tuple of CopperLayer or DielectricLayer
        From top to bottom; copper names are unique and two copper layers never touch.
    copper : Conductor
        Metal of all copper layers.
    note : str
        What it is and where its thicknesses come from.

    Raises
    ------
    GeometryError
        If there is no copper, a thickness is not above zero, names repeat or copper touches copper.

    Examples
    --------
    >>> from geometries import MM, UM, CopperLayer, DielectricLayer, Stackup
    >>> board = Stackup(
    ...     name="thin",
    ...     layers=(
    ...         CopperLayer(name="L1", thickness=35 * UM),
    ...         DielectricLayer(name="film", thickness=0.1 * MM, relative_permittivity=3.4),
    ...         CopperLayer(name="L2", thickness=35 * UM),
    ...     ),
    ... )
    >>> board.heights("L1")
    (0.0, 3.5e-05)
    """

    name: str
    layers: tuple[Layer, ...]
    copper: Derived[Conductor] = COPPER
    note: str = ""

    def __post_init__(self) -> None:
        if not self.copper_names:
            raise GeometryError(f"stackup {self.name!r} has no copper layer")
        for layer in self.layers:
            if not layer.thickness > 0:
                raise GeometryError(
                    f"layer {layer.name!r} of stackup {self.name!r} has a thickness of {layer.thickness:g} m; "
                    "every layer needs a thickness above zero"
                )
            if isinstance(layer, DielectricLayer) and not layer.relative_permittivity >= 1:
                raise GeometryError(
                    f"layer {layer.name!r} of stackup {self.name!r} has a relative permittivity of "
                    f"{layer.relative_permittivity:g}; it must be 1 or above"
                )
        for name in self.copper_names:
            if self.copper_names.count(name) > 1:
                raise GeometryError(f"stackup {self.name!r} has two copper layers called {name!r}")
        for upper, lower in zip(self.layers, self.layers[1:], strict=False):
            if isinstance(upper, CopperLayer) and isinstance(lower, CopperLayer):
                raise GeometryError(
                    f"in stackup {self.name!r} copper {upper.name!r} lies directly on copper {lower.name!r}; "
                    "put a dielectric between them"
                )

    @property
    def copper_names(self) -> tuple[str, ...]:
        """Names of the copper layers from top to bottom."""
        return tuple(layer.name for layer in self.layers if isinstance(layer, CopperLayer))

    @property
    def thickness(self) -> float:
        """Thickness over all layers [m]."""
        return sum(layer.thickness for layer in self.layers)

    @property
    def top(self) -> float:
        """Height of the uppermost surface [m]."""
        above = 0.0
        for layer in self.layers:
            above += layer.thickness
            if isinstance(layer, CopperLayer):
                return above
        raise GeometryError(f"stackup {self.name!r} has no copper layer")

    def surfaces(self) -> tuple[tuple[CopperLayer | DielectricLayer, float, float], ...]:
        """Every layer with the heights of its underside and its upper side [m], from top to bottom."""
        placed, upper = [], self.top
        for layer in self.layers:
            placed.append((layer, upper - layer.thickness, upper))
            upper -= layer.thickness
        return tuple(placed)

    def heights(self, name: str) -> tuple[float, float]:
        """Heights of the underside and the upper side of the copper layer called `name` [m]."""
        for layer, lower, upper in self.surfaces():
            if isinstance(layer, CopperLayer) and layer.name == name:
                return lower, upper
        raise GeometryError(
            f"stackup {self.name!r} has no copper layer {name!r}; its copper layers are " + ", ".join(self.copper_names)
        )

    def with_distance_scaled(self, one: str, other: str, factor: float) -> Stackup:
        """The board with the dielectrics between two copper layers at so many times their thickness."""
        first, last = self._places(one, other)
        layers = tuple(
            replace(layer, thickness=factor * layer.thickness)
            if isinstance(layer, DielectricLayer) and first < number < last
            else layer
            for number, layer in enumerate(self.layers)
        )
        return replace(self, layers=layers)

    def permittivity_between(self, one: str, other: str) -> float:
        """Of the dielectrics between two copper layers in series."""
        first, last = self._places(one, other)
        between = [layer for layer in self.layers[first:last] if isinstance(layer, DielectricLayer)]
        elastance = sum(layer.thickness / layer.relative_permittivity for layer in between)
        return sum(layer.thickness for layer in between) / elastance

    def _places(self, one: str, other: str) -> tuple[int, int]:
        names = [layer.name for layer in self.layers]
        first, last = sorted((names.index(one), names.index(other)))
        return first, last


def with_copper_thickness(stackup: Stackup, names: Collection[str], thickness: float) -> Stackup:
    """The board with some of its copper layers of another thickness [m]."""
    layers = tuple(
        replace(layer, thickness=thickness) if isinstance(layer, CopperLayer) and layer.name in names else layer
        for layer in stackup.layers
    )
    return replace(stackup, layers=layers)
