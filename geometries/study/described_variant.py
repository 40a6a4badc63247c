"""A variant and its segments as a file describes them: a loop with its planes, a user-defined section, a placement."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Literal

from pydantic import Field

from geometries.section.loops import NextLayerLoop, SameLayerLoop, Slot, ThroughBoardLoop, TieVias
from geometries.section.rings import RingLoop
from geometries.section.section import Role, Tie, View
from geometries.study.described_board import BoardTable
from geometries.study.described_copper import SwitchedTable, SwitchNodeTable, VictimTable
from geometries.study.described_outline import OutlineTable
from geometries.study.described_placement import CapacitorTable, PlacementTable, SwitchTable
from geometries.tables import Conductivity, Derived, Length, Number, Positive, Table, Temperature

Steps = tuple[str | int, ...]
"""The way to a value through nested tables and lists, by the names of fields."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CopperTable(Table):
    """Metal of all copper: conductivity at 20 °C and the temperature it runs at."""

    conductivity: Conductivity = 58e6
    temperature: Temperature = 20.0


LoopTable = Annotated[SameLayerLoop | NextLayerLoop | ThroughBoardLoop | RingLoop, Field(discriminator="kind")]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneTable(Table):
    """A ground layer: tie and vias, width or overhang, edge and slots; under a ring its radius and hole."""

    tie: Tie
    width: Length | None = None
    overhang: Length | None = None
    radius: Length | None = None
    hole: Length = 0.0
    edge_distance: Annotated[Length | None, Field(description="of the loop's right edge from the plane's")] = None
    length: Annotated[Positive[Length] | None, Field(description="along the loop, about its middle")] = None
    slots: tuple[Slot, ...] = ()
    vias: TieVias | None = None

    def __post_init__(self) -> None:
        Table.__post_init__(self)
        given = [each for each in (self.width, self.overhang, self.radius) if each is not None]
        if self.tie is not Tie.ABSENT and len(given) != 1:
            raise ValueError(
                'a plane needs either its width, for example width = "40 mm", or its overhang beyond the loop on '
                'each side, for example overhang = "5 mm"; under a ring its radius or its overhang'
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class RegionTable(Table):
    """A conductor of a user-defined section."""

    name: str
    role: Role
    shape: Literal["rectangle", "polygon", "circle", "ring"]
    group: str = ""
    left: Length | None = None
    right: Length | None = None
    bottom: Length | None = None
    top: Length | None = None
    vertices: tuple[tuple[Length, Length], ...] | None = None
    centre: tuple[Length, Length] | None = None
    radius: Length | None = None
    inner_radius: Length | None = None
    outer_radius: Length | None = None
    conductivity: Conductivity | None = None
    tie: Tie = Tie.NONE

    def __post_init__(self) -> None:
        needed = SHAPE_KEYS[self.shape]
        every = {key for keys in SHAPE_KEYS.values() for key in keys}
        missing = [key for key in needed if getattr(self, key) is None]
        foreign = sorted(key for key in every - set(needed) if getattr(self, key) is not None)
        if missing:
            raise ValueError(f"a {self.shape} needs {', '.join(needed)}; {', '.join(missing)} is missing")
        if foreign:
            raise ValueError(f"a {self.shape} has no {', '.join(foreign)}; it is given by {', '.join(needed)}")


SHAPE_KEYS: dict[str, tuple[str, ...]] = {
    "rectangle": ("left", "right", "bottom", "top"),
    "polygon": ("vertices",),
    "circle": ("centre", "radius"),
    "ring": ("centre", "inner_radius", "outer_radius"),
}
"""Keys that give each shape."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DielectricTable(Table):
    """A dielectric of a user-defined section: a rectangle that conductors displace."""

    name: str
    left: Length
    right: Length
    bottom: Length
    top: Length
    relative_permittivity: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentTable(Table):
    """A current through a user-defined section: the groups it goes and returns in (goes, if axisymmetric)."""

    name: str = "loop"
    go: str = "go"
    back: Annotated[str | None, Field(alias="return")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SegmentTable(Table):
    """A segment of a loop: on a stackup, or in a user-defined section.

    `written` holds the keys that are its own; all others follow those of the variant.
    """

    name: Annotated[str, Field(min_length=1)]
    stackup: str = ""
    copper: CopperTable = CopperTable()
    loop: LoopTable | None = None
    planes: Mapping[str, PlaneTable] = field(default_factory=dict)
    region: tuple[RegionTable, ...] = ()
    dielectric: tuple[DielectricTable, ...] = ()
    current: tuple[CurrentTable, ...] = ()
    length: Length | None = None
    view: View = View.SECTION
    written: Derived[frozenset[Steps]] = frozenset()

    def __post_init__(self) -> None:
        described = (self.loop is not None, bool(self.region), self.is_placed, self.is_laid_out)
        if sum(described) != 1:
            raise ValueError(
                "a variant needs one of these: a [loop] or a [placement] on a stackup, [[region]] tables that define "
                "its section, the [outline] of its copper, or a [board]'s files"
            )
        if self.region:
            self._require_user_defined()
        elif not self.is_laid_out:
            self._require_board()

    def _require_board(self) -> None:
        if not self.stackup:
            raise ValueError('a loop needs a board: give stackup = "NAME" (see `copperfield stackups`)')
        if self.view is View.AXISYMMETRIC:
            raise ValueError('view = "axisymmetric" is for [[region]] tables; a loop of kind "ring" needs no view')
        if self.dielectric:
            raise ValueError("a [loop] has the dielectrics of its stackup; remove the [[dielectric]] tables")
        if self.current or self.length is not None:
            raise ValueError("a [loop] carries its own length and current; remove the keys length and current")

    def _require_user_defined(self) -> None:
        if self.view is View.AXISYMMETRIC and self.length is not None:
            raise ValueError("a round section closes on itself and has no length; remove the key length")
        if self.view is View.SECTION and self.length is None:
            raise ValueError('a user-defined section needs the length of the loop, for example length = "8 mm"')
        if self.length is not None and not self.length > 0:
            raise ValueError(f"length is {self.length} m; it must be above zero")
        if self.stackup or self.planes:
            raise ValueError("a user-defined section has no stackup and no planes; write them as regions")

    @property
    def is_placed(self) -> bool:
        """Whether a placement describes it; only a whole variant can have one."""
        return False

    @property
    def is_laid_out(self) -> bool:
        """Whether a layout describes it in place of a section; likewise."""
        return False


@dataclass(frozen=True, slots=True, kw_only=True)
class FurtherSegmentTable(SegmentTable):
    """A segment beside a variant's own section: it replaces a stretch of the loop, which begins at `start`."""

    start: Annotated[Length | None, Field(description="from the loop's capacitor end")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VariantTable(SegmentTable):
    """One candidate, with further segments if it has any; keys at the top of the file are its defaults."""

    note: str = ""
    segment: tuple[FurtherSegmentTable, ...] = ()
    price: str = ""
    victims: Mapping[str, VictimTable] = field(default_factory=dict)
    switch_node: SwitchNodeTable | None = None
    placement: PlacementTable | None = None
    switch: SwitchTable | None = None
    capacitor: tuple[CapacitorTable, ...] = ()
    switched: Mapping[str, SwitchedTable] = field(default_factory=dict)
    outline: OutlineTable | None = None
    board: BoardTable | None = None

    def __post_init__(self) -> None:
        SegmentTable.__post_init__(self)
        if self.is_laid_out:
            self._require_no_section()
        if self.placement is None:
            return
        if self.switch is None:
            raise ValueError("a placement needs a [switch] table: the package's inductance and the copper at its pins")
        if self.segment:
            raise ValueError("a placement brings its own segments; remove the [[segment]] tables")

    @property
    def is_placed(self) -> bool:
        """Whether a placement describes it."""
        return self.placement is not None

    @property
    def is_laid_out(self) -> bool:
        """Whether a layout describes it in place of a section."""
        return self.outline is not None or self.board is not None

    def _require_no_section(self) -> None:
        """Refuse what belongs to a section, or is described twice."""
        if self.outline is not None and self.board is not None:
            raise ValueError("a variant has an [outline] and a [board]; give one of them")
        foreign = {
            "planes": "describe a ground layer as [[outline.copper]], or as [outline.plane] if it is endless",
            "victims": "a victim runs along a section: describe the loop by a [loop] or a [placement] to see what it "
            "picks up",
            "switched": "further loops run along a section: describe the loop by a [loop] or a [placement]",
            "segment": "remove the [[segment]] tables",
            "capacitor": 'describe the capacitor at its port: [[outline.port]] with capacitor = { case = "0603", … }',
            "switch": 'describe the switches at their port: [[outline.port]] with switch = { package = "flip-chip" }',
            "dielectric": "remove the [[dielectric]] tables",
            "current": "the first port is where the current enters; remove the [[current]] tables",
            "length": "remove the key length",
        }
        for key, remedy in foreign.items():
            if getattr(self, key):
                if self.board is not None:
                    raise ValueError(f"a board's loop has no {key}; remove it: its files hold all copper")
                raise ValueError(f"an outline has no {key}; {remedy}")
