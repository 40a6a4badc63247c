"""From the tables `placement`, `switch` and `[[capacitor]]` of a scenario file to a placement."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

from pydantic import Field

from geometries.board.capacitors import Capacitor, SwitchPackage, capacitor_body, switch_package
from geometries.board.parts import capacitor_case, via_type
from geometries.errors import GeometryError
from geometries.layout.placements import FarSide, MirroredPair, Orientation, Placement, ReturnBelow, SameSide
from geometries.tables import Capacitance, Count, Inductance, Length, NotNegative, Resistance, Table

_OWN_VALUE_SPREAD = 0.2
"""Uncertainty of a package's inductance that is given without one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartTable(Table):
    """A capacitor: case, electrical values, and its body described once."""

    case: str
    capacitance: Capacitance
    esr: Resistance
    esl: Inductance | None = None
    electrode_height: Length | None = None

    def __post_init__(self) -> None:
        capacitor_body(self.esl, self.electrode_height)


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitorTable(PartTable):
    """One capacitor, or several alike."""

    count: Count = 1

    def __post_init__(self) -> None:
        if not 1 <= self.count <= 8:
            raise GeometryError(f"count is {self.count}; a [[capacitor]] table stands for 1 to 8 alike")
        PartTable.__post_init__(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class PackageTable(Table):
    """The switch package: its inductance, and the height at which its current passes over the copper."""

    package: str = ""
    package_inductance: Inductance | None = None
    package_uncertainty: Inductance | None = None
    height: NotNegative[Length] | None = None

    def __post_init__(self) -> None:
        if bool(self.package) == (self.package_inductance is not None):
            raise ValueError(
                'a switch needs either a typical package, for example package = "flip-chip", or your own '
                'package_inductance = "0.2 nH"'
            )
        if self.package and self.package_uncertainty is not None:
            raise ValueError("a typical package has its own uncertainty; remove package_uncertainty")


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchTable(PackageTable):
    """The switch package, and the copper at its pins."""

    copper_width: Length
    gap: Length
    part_width: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedTable(Table):
    """What all placements share."""

    distance: Length
    via: str = "standard"
    via_count: Count = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SameSideTable(PlacedTable):
    """Beside the package, on its own side."""

    kind: Literal["same-side"]
    orientation: Orientation = Orientation.NORMAL
    spacing: Length = 0.3e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnBelowTable(PlacedTable):
    """Pointing away from the pins, with the return in the plane below."""

    kind: Literal["return-below"]
    via_count: Count = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class FarSideTable(PlacedTable):
    """On the far side under the package."""

    kind: Literal["far-side"]
    via_distance: Length = 0.2e-3
    spacing: Length = 0.3e-3
    via_count: Count = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class MirroredTable(PlacedTable):
    """Two, mirrored on both sides of the package."""

    kind: Literal["mirrored"]


PLACEMENT_KINDS = ("same-side", "return-below", "far-side", "mirrored")
PlacementTable = Annotated[SameSideTable | ReturnBelowTable | FarSideTable | MirroredTable, Field(discriminator="kind")]


def build_placement(table: PlacementTable, switch: SwitchTable, capacitors: Iterable[CapacitorTable]) -> Placement:
    """Build the placement that the three tables describe.

    Raises
    ------
    GeometryError
        If a case, a via or a package is unknown, or a part does not fit.
    """
    placed = tuple(build_capacitor(each) for each in capacitors for _ in range(each.count))
    common: dict[str, Any] = {
        "copper_width": switch.copper_width,
        "gap": switch.gap,
        "distance": table.distance,
        "capacitors": placed,
        "package": build_package(switch),
        "via": via_type(table.via),
        "via_count": table.via_count,
    }
    if isinstance(table, SameSideTable):
        return SameSide(**common, orientation=table.orientation, spacing=table.spacing)
    if isinstance(table, ReturnBelowTable):
        return ReturnBelow(**common)
    if isinstance(table, FarSideTable):
        return FarSide(**common, via_distance=table.via_distance, spacing=table.spacing)
    if switch.part_width is None:
        raise GeometryError('a mirrored placement needs the width of the package: [switch] part_width = "3 mm"')
    if len(placed) == 1:
        common["capacitors"] = placed * 2
    return MirroredPair(**common, part_width=switch.part_width)


def build_capacitor(table: PartTable) -> Capacitor:
    """One of the capacitors that a table stands for."""
    return Capacitor(
        case=capacitor_case(table.case),
        capacitance=table.capacitance,
        resistance=table.esr,
        body=capacitor_body(table.esl, table.electrode_height),
    )


def build_package(table: PackageTable) -> SwitchPackage:
    """The package, typical or as given."""
    if table.package_inductance is None:
        return replace(switch_package(table.package), height=table.height)
    given = table.package_inductance
    uncertainty = _OWN_VALUE_SPREAD * given if table.package_uncertainty is None else table.package_uncertainty
    told = "" if table.package_uncertainty is not None else ", 20 % assumed"
    return SwitchPackage(
        name="given",
        inductance=given,
        uncertainty=uncertainty,
        source=f"as the scenario gives it{told}",
        height=table.height,
    )
