"""What a scenario file says, as frozen values: one class per table, every key with the quantity that it measures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import Discriminator, Field, Tag

from geometries.board.stackup import Stackup
from geometries.operation.emission import Emission
from geometries.operation.measured import MeasurementTable
from geometries.operation.switching import Switching
from geometries.section.loops import NextLayerLoop, SameLayerLoop, Slot, ThroughBoardLoop, Tie
from geometries.section.rings import RingLoop
from geometries.section.section import Role, View
from geometries.section.victims import Drive
from geometries.study.described_copper import SwitchedTable, SwitchNodeTable, VictimTable
from geometries.study.described_placement import CapacitorTable, PlacementTable, SwitchTable
from geometries.study.described_variation import SweepTable, ToleranceTable
from geometries.tables import (
    Conductivity,
    Count,
    Derived,
    Filled,
    Fraction,
    Frequency,
    Length,
    Number,
    OperatingTable,
    Table,
    Temperature,
)

HIGHEST_FREQUENCY = 100e9
"""No scenario needs more [Hz]; the mesh could not follow a higher one."""

T = TypeVar("T")
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
    """A ground layer: its tie, its width or overhang, its edge and its slots; under a ring its radius and hole."""

    tie: Tie
    width: Length | None = None
    overhang: Length | None = None
    radius: Length | None = None
    hole: Length = 0.0
    edge_distance: Length | None = None
    slots: tuple[Slot, ...] = ()

    def __post_init__(self) -> None:
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
        written, built = bool(self.region), self.loop is not None or self.is_placed
        if written == built or (self.loop is not None and self.is_placed):
            raise ValueError(
                "a variant needs either a [loop] or a [placement] on a stackup, or [[region]] tables that "
                "define its section"
            )
        if built:
            self._require_board()
        else:
            self._require_user_defined()

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


@dataclass(frozen=True, slots=True, kw_only=True)
class VariantTable(SegmentTable):
    """One candidate, with further segments if it has any; keys at the top of the file are its defaults."""

    note: str = ""
    segment: tuple[SegmentTable, ...] = ()
    price: str = ""
    victims: Mapping[str, VictimTable] = field(default_factory=dict)
    switch_node: SwitchNodeTable | None = None
    placement: PlacementTable | None = None
    switch: SwitchTable | None = None
    capacitor: tuple[CapacitorTable, ...] = ()
    switched: Mapping[str, SwitchedTable] = field(default_factory=dict)

    def __post_init__(self) -> None:
        SegmentTable.__post_init__(self)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class FrequencySweep(Table):
    """Frequencies spaced evenly on a logarithmic axis."""

    start: Annotated[Frequency, Field(alias="from")]
    stop: Annotated[Frequency, Field(alias="to")]
    per_decade: Count = 4

    def __post_init__(self) -> None:
        if not 0 < self.start < self.stop:
            raise ValueError(f"frequencies run from {self.start:g} to {self.stop:g} Hz; write 0 < from < to")
        if not 1 <= self.per_decade <= 100:
            raise ValueError(f"per_decade is {self.per_decade}; it lies between 1 and 100")


def _form_of_frequencies(table: Any) -> str:
    return "list" if isinstance(table, list | tuple) else "sweep"


Frequencies = Annotated[
    Annotated[FrequencySweep, Tag("sweep")] | Annotated[tuple[Frequency, ...], Tag("list")],
    Discriminator(_form_of_frequencies),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class AnalysisTable(Table):
    """Frequencies, and where the field is looked at."""

    frequencies: Frequencies = FrequencySweep(start=10e3, stop=300e6)
    report_frequency: Frequency = 100e6
    heights_above: Filled[Length] = (3e-3, 10e-3)
    heights_below: Filled[Length] = (3e-3, 10e-3)
    tolerance: Fraction = 1e-3
    axisymmetric_view: bool = True

    def __post_init__(self) -> None:
        listed = self.frequencies if isinstance(self.frequencies, tuple) else (self.frequencies.stop,)
        if not listed:
            raise ValueError('frequencies is an empty list; give at least one, for example ["100 MHz"]')
        for frequency in (*listed, self.report_frequency):
            _require_usable(frequency)
        if not 1e-7 <= self.tolerance <= 0.1:
            raise ValueError(f"tolerance is {self.tolerance:g}; it must lie between 0.00001 % and 10 %")
        for height in (*self.heights_above, *self.heights_below):
            if not height > 0:
                raise ValueError(f"a field line lies {height:g} m from the board; distances must be above zero")


def _require_usable(frequency: float) -> None:
    if frequency > HIGHEST_FREQUENCY:
        raise ValueError(f"a frequency is {frequency:g} Hz; the quasi-static section ends far below 100 GHz")
    if not frequency > 0:
        raise ValueError(
            f"a frequency is {frequency:g} Hz; frequencies must be above zero (the value at DC is always computed too)"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Description(Table):
    """A whole scenario file; defaults that one table takes from another stand in it already.

    Parameters
    ----------
    title, setting, reference : str
        As in :class:`~geometries.study.scenario.Scenario`; `reference` is never empty.
    analysis : AnalysisTable
        Frequencies and field lines.
    stackups : mapping of str to Stackup
        The file's own and the built-in ones that it names.
    variant : tuple of VariantTable
        At least one, each complete.
    switching, emission, pickup, measurement, budgets, sweep, tolerance
        Tables of the whole scenario, if the file has them. A further table is a further line here.
    text : str
        The file as read.
    folder : Path
        Where files that a table names are looked for.
    following : frozenset of tuple of str
        Lines of :data:`geometries.study.keys.FOLLOWS` for keys that the file leaves out.

    Examples
    --------
    >>> from geometries import describe
    >>> from geometries.files.reading import builtin_text
    >>> description = describe(builtin_text("orchard-pump"))
    >>> description.variant[0].loop.width, description.switching.edge_time
    (0.003, 3e-09)
    """

    title: str
    setting: str = ""
    reference: str = ""
    analysis: AnalysisTable = AnalysisTable()
    stackups: Mapping[str, Stackup] = field(default_factory=dict)
    variant: Filled[VariantTable]
    switching: Switching | None = None
    emission: Emission | None = None
    pickup: Drive | None = None
    measurement: MeasurementTable | None = None
    budgets: Mapping[str, Any] = field(default_factory=dict)
    sweep: SweepTable | None = None
    tolerance: ToleranceTable | None = None
    text: Derived[str] = ""
    folder: Derived[Path] = Path()
    following: Derived[frozenset[tuple[str, str, str, str]]] = frozenset()

    def __post_init__(self) -> None:
        if not self.reference:
            object.__setattr__(self, "reference", self.variant[0].name)
        with_victims = [variant.name for variant in self.variant if variant.victims]
        if with_victims and self.pickup is None:
            raise ValueError(
                f"variant {with_victims[0]!r} has victims, but nothing says what they pick up; add a [pickup] table "
                "with the loop's current and its edges, the switch node's voltage and the feedback divider"
            )
        if self.pickup is not None and not with_victims:
            raise ValueError("[pickup] is given, but no variant has a victim; add one, for example [victims.feedback]")

    def asked(self, kind: type[T]) -> T | None:
        """The table of a class, if the file has one."""
        return next((each for each in map(self._of, fields(self)) if isinstance(each, kind)), None)

    def operating_tables(self) -> tuple[OperatingTable, ...]:
        """All tables that analyses ask for."""
        return tuple(each for each in map(self._of, fields(self)) if isinstance(each, OperatingTable))

    def _of(self, key: Any) -> object:
        return getattr(self, key.name)
