"""The keys a scenario file may hold, and what each of them means. Every value with a dimension is text with a unit."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from geometries.files.coupled_loops_reading import SwitchedTable
from geometries.files.emission_reading import EmissionTable
from geometries.files.measurement_reading import MeasurementTable
from geometries.files.placement_reading import CapacitorTable, PlacementTable, SwitchTable
from geometries.files.switching_reading import SwitchingTable
from geometries.files.tables import (
    Angle,
    Conductivity,
    CopperThickness,
    Fraction,
    Frequency,
    Length,
    Table,
    Temperature,
)
from geometries.files.tolerance_table import ToleranceTable
from geometries.files.victims_reading import PickupTable, SwitchNodeTable, VictimTable
from geometries.section.loops import Tie
from geometries.section.section import Role, View

HIGHEST_FREQUENCY = 100e9
"""No scenario needs more [Hz]; the mesh could not follow a higher one."""

MOST_SWEEP_POINTS = 10_000
"""More points than this in one sweep are refused as a slip of the pen."""


class LayerTable(Table):
    """One layer of a construction: copper, or dielectric with its permittivity."""

    copper: str = ""
    dielectric: str = ""
    thickness: CopperThickness
    relative_permittivity: float = 0.0

    @model_validator(mode="after")
    def _one_kind(self) -> LayerTable:
        if bool(self.copper) == bool(self.dielectric):
            raise ValueError('a layer needs either copper = "NAME" or dielectric = "NAME"')
        if self.dielectric and self.relative_permittivity == 0:
            raise ValueError(f"dielectric {self.dielectric!r} needs its relative_permittivity, for example 4.4")
        if self.copper and self.relative_permittivity != 0:
            raise ValueError(f"copper {self.copper!r} has no relative_permittivity; remove the key")
        return self


class StackupTable(Table):
    """A construction from top to bottom."""

    note: str = ""
    layers: list[LayerTable]


class CopperTable(Table):
    """Metal of all copper: conductivity at 20 °C and the temperature it runs at."""

    conductivity: Conductivity = 58e6
    temperature: Temperature = 20.0


class SameLayerTable(Table):
    """Go and return copper side by side."""

    kind: Literal["same-layer"]
    layer: str = "L1"
    width: Length
    return_width: Length | None = None
    gap: Length
    length: Length
    copper_thickness: CopperThickness | None = None
    sidewall_angle: Angle = 0.0


class NextLayerTable(Table):
    """Return copper on a layer below the go copper; without a name, on the next one."""

    kind: Literal["next-layer"]
    layer: str = "L1"
    return_layer: str = ""
    width: Length
    return_width: Length | None = None
    length: Length
    copper_thickness: CopperThickness | None = None
    sidewall_angle: Angle = 0.0


class ThroughBoardTable(Table):
    """Capacitor on the far side of the board."""

    kind: Literal["through-board"]
    width: Length
    return_width: Length | None = None
    length: Length
    copper_thickness: CopperThickness | None = None
    sidewall_angle: Angle = 0.0


class RingTable(Table):
    """A flat ring on a layer, or a round wire over it, in the round view."""

    kind: Literal["ring"]
    layer: str = "L1"
    radius: Length
    width: Length = 0.0
    wire: Length = 0.0
    height: Length = 0.0
    copper_thickness: CopperThickness | None = None


LoopTable = Annotated[SameLayerTable | NextLayerTable | ThroughBoardTable | RingTable, Field(discriminator="kind")]


class SlotTable(Table):
    """A slot in a plane along the loop."""

    position: Length = 0.0
    width: Length
    bonded: bool = True


class PlaneTable(Table):
    """A ground layer: its tie, its width or overhang, its edge and its slots; under a ring its radius and hole."""

    tie: Tie
    width: Length | None = None
    overhang: Length | None = None
    radius: Length | None = None
    hole: Length = 0.0
    edge_distance: Length | None = None
    slots: list[SlotTable] = []

    @model_validator(mode="after")
    def _one_width(self) -> PlaneTable:
        given = [each for each in (self.width, self.overhang, self.radius) if each is not None]
        if self.tie is not Tie.ABSENT and len(given) != 1:
            raise ValueError(
                'a plane needs either its width, for example width = "40 mm", or its overhang beyond the loop on '
                'each side, for example overhang = "5 mm"; under a ring its radius or its overhang'
            )
        return self


class RegionTable(Table):
    """A conductor written out directly."""

    name: str
    role: Role
    shape: Literal["rectangle", "polygon", "circle", "ring"]
    group: str = ""
    left: Length | None = None
    right: Length | None = None
    bottom: Length | None = None
    top: Length | None = None
    vertices: list[tuple[Length, Length]] | None = None
    centre: tuple[Length, Length] | None = None
    radius: Length | None = None
    inner_radius: Length | None = None
    outer_radius: Length | None = None
    conductivity: Conductivity | None = None

    @model_validator(mode="after")
    def _keys_of_shape(self) -> RegionTable:
        needed = SHAPE_KEYS[self.shape]
        every = {key for keys in SHAPE_KEYS.values() for key in keys}
        missing = [key for key in needed if getattr(self, key) is None]
        foreign = sorted(key for key in every - set(needed) if getattr(self, key) is not None)
        if missing:
            raise ValueError(f"a {self.shape} needs {', '.join(needed)}; {', '.join(missing)} is missing")
        if foreign:
            raise ValueError(f"a {self.shape} has no {', '.join(foreign)}; it is given by {', '.join(needed)}")
        return self


SHAPE_KEYS: dict[str, tuple[str, ...]] = {
    "rectangle": ("left", "right", "bottom", "top"),
    "polygon": ("vertices",),
    "circle": ("centre", "radius"),
    "ring": ("centre", "inner_radius", "outer_radius"),
}
"""Keys that give each shape."""


class DielectricTable(Table):
    """A dielectric of a written-out section: a rectangle that conductors displace."""

    name: str
    left: Length
    right: Length
    bottom: Length
    top: Length
    relative_permittivity: float


class CurrentTable(Table):
    """A current through a written-out section: the groups it goes and returns in (in the round view it goes only)."""

    name: str = "loop"
    go: str = "go"
    back: str | None = Field(default=None, alias="return")


class SegmentTable(Table):
    """A stretch of a loop: on a construction, or a section that is written out."""

    name: str = Field(min_length=1)
    stackup: str = ""
    copper: CopperTable = CopperTable()
    loop: LoopTable | None = None
    planes: dict[str, PlaneTable] = {}
    region: list[RegionTable] = []
    dielectric: list[DielectricTable] = []
    current: list[CurrentTable] = []
    length: Length | None = None
    view: View = View.SECTION

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        written, built = bool(self.region), self.loop is not None or self.is_placed
        if written == built or (self.loop is not None and self.is_placed):
            raise ValueError(
                "a variant needs either a [loop] or a [placement] on a construction, or [[region]] tables that write "
                "its section out"
            )
        if built and not self.stackup:
            raise ValueError('a loop needs a board: give stackup = "NAME" (see `copperfield stackups`)')
        if built and self.view is View.AXISYMMETRIC:
            raise ValueError('view = "axisymmetric" is for [[region]] tables; a loop of kind "ring" needs no view')
        if written and self.view is View.AXISYMMETRIC and self.length is not None:
            raise ValueError("a round section closes on itself and has no length; remove the key length")
        if written and self.view is View.SECTION and self.length is None:
            raise ValueError('a written-out section needs the length of the loop, for example length = "8 mm"')
        if built and self.dielectric:
            raise ValueError("a [loop] has the dielectrics of its construction; remove the [[dielectric]] tables")
        if written and (self.stackup or self.planes):
            raise ValueError("a written-out section has no construction and no planes; write them as regions")
        if built and (self.current or self.length is not None):
            raise ValueError("a [loop] carries its own length and current; remove the keys length and current")
        return self

    @property
    def is_placed(self) -> bool:
        """Whether a placement describes it; only a whole variant can have one."""
        return False


class VariantTable(SegmentTable):
    """One candidate, with further stretches if it has any; keys at the top of the file are its defaults."""

    note: str = ""
    segment: list[SegmentTable] = []
    price: str = ""
    victims: dict[str, VictimTable] = {}
    switch_node: SwitchNodeTable | None = None
    placement: PlacementTable | None = None
    switch: SwitchTable | None = None
    capacitor: list[CapacitorTable] = []
    switched: dict[str, SwitchedTable] = {}

    @model_validator(mode="after")
    def _complete_placement(self) -> Self:
        if self.placement is None:
            return self
        if self.switch is None:
            raise ValueError("a placement needs a [switch] table: the package's inductance and the copper at its pins")
        if self.segment:
            raise ValueError("a placement brings its own stretches; remove the [[segment]] tables")
        return self

    @property
    def is_placed(self) -> bool:
        """Whether a placement describes it."""
        return self.placement is not None


class FrequencySweep(Table):
    """Frequencies spaced evenly on a logarithmic axis."""

    start: Frequency = Field(alias="from")
    stop: Frequency = Field(alias="to")
    per_decade: int = Field(default=4, ge=1, le=100)

    @model_validator(mode="after")
    def _ascending(self) -> FrequencySweep:
        if not 0 < self.start < self.stop:
            raise ValueError(f"frequencies run from {self.start:g} to {self.stop:g} Hz; write 0 < from < to")
        return self


def _usual_sweep() -> FrequencySweep:
    return FrequencySweep.model_validate({"from": "10 kHz", "to": "300 MHz"})


class AnalysisTable(Table):
    """Frequencies, and where the field is looked at."""

    frequencies: FrequencySweep | list[Frequency] = Field(default_factory=_usual_sweep)
    report_frequency: Frequency = 100e6
    heights_above: list[Length] = Field(default=[3e-3, 10e-3], min_length=1)
    heights_below: list[Length] = Field(default=[3e-3, 10e-3], min_length=1)
    tolerance: Fraction = 1e-3
    axisymmetric_view: bool = True

    @model_validator(mode="after")
    def _positive(self) -> AnalysisTable:
        listed = self.frequencies if isinstance(self.frequencies, list) else [self.frequencies.stop]
        if not listed:
            raise ValueError('frequencies is an empty list; give at least one, for example ["100 MHz"]')
        for frequency in [*listed, self.report_frequency]:
            if frequency > HIGHEST_FREQUENCY:
                raise ValueError(f"a frequency is {frequency:g} Hz; the quasi-static section ends far below 100 GHz")
            if not frequency > 0:
                raise ValueError(
                    f"a frequency is {frequency:g} Hz; frequencies must be above zero (the value at direct current is "
                    "always computed too)"
                )
        if not 1e-7 <= self.tolerance <= 0.1:
            raise ValueError(f"tolerance is {self.tolerance:g}; it must lie between 0.00001 % and 10 %")
        for height in [*self.heights_above, *self.heights_below]:
            if not height > 0:
                raise ValueError(f"a field line lies {height:g} m from the board; distances must be above zero")
        return self


class SweepKeyTable(Table):
    """One key that a sweep varies: a list of values, or evenly spaced ones."""

    key: str
    values: list[Any] | None = None
    start: Any = Field(default=None, alias="from")
    stop: Any = Field(default=None, alias="to")
    steps: int | None = Field(default=None, ge=2, le=MOST_SWEEP_POINTS)
    spacing: Literal["linear", "logarithmic"] = "linear"

    @model_validator(mode="after")
    def _one_form(self) -> SweepKeyTable:
        range_keys = [each is not None for each in (self.start, self.stop, self.steps)]
        if any(range_keys) if self.values is not None else not all(range_keys):
            raise ValueError(
                'a key is varied either by values, for example values = ["8 mm", "20 mm"], or by from, to and steps, '
                'for example from = "0.2 mm", to = "2 mm", steps = 10'
            )
        if self.values is not None and len(self.values) < 2:
            raise ValueError("a key needs at least two values to be varied")
        return self


class SweepTable(Table):
    """What `copperfield sweep` varies in one variant: one key, or two as a grid."""

    variant: str = ""
    vary: list[SweepKeyTable]

    @model_validator(mode="after")
    def _one_or_two(self) -> SweepTable:
        if len(self.vary) not in (1, 2):
            raise ValueError(f"{len(self.vary)} keys are varied; a sweep varies one key, or two as a grid")
        return self


class ScenarioTable(Table):
    """A whole file."""

    title: str
    setting: str = ""
    reference: str = ""
    analysis: AnalysisTable = AnalysisTable()
    stackups: dict[str, StackupTable] = {}
    variant: list[VariantTable] = Field(min_length=1)
    sweep: SweepTable | None = None
    emission: EmissionTable | None = None
    switching: SwitchingTable | None = None
    tolerance: ToleranceTable | None = None
    budgets: dict[str, Any] = {}
    measurement: MeasurementTable | None = None
    pickup: PickupTable | None = None

    @model_validator(mode="after")
    def _victims_and_pickup(self) -> Self:
        heard = [variant.name for variant in self.variant if variant.victims]
        if heard and self.pickup is None:
            raise ValueError(
                f"variant {heard[0]!r} has victims, but nothing says what they hear; add a [pickup] table with the "
                "loop's current and its edges, the switch node's voltage and the feedback divider"
            )
        if self.pickup is not None and not heard:
            raise ValueError("[pickup] is given, but no variant has a victim; add one, for example [victims.feedback]")
        return self
