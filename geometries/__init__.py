"""What is analysed: stackups, loops, planes, cross-sections and scenario files, as plain frozen data."""

from geometries.board.capacitors import Capacitor, ElectrodeBody, LumpedEsl, SwitchPackage, switch_package
from geometries.board.materials import COPPER, Conductor
from geometries.board.parts import capacitor_case, via_type
from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.errors import GeometryError, ScenarioError
from geometries.files.layout_reading import PlanTask, read_plan
from geometries.files.reading import (
    builtin_scenario_names,
    describe,
    read_builtin_scenario,
    read_scenario,
)
from geometries.files.stackups import named_stackup, stackup_names
from geometries.files.sweep_reading import read_sweep
from geometries.files.tolerance_reading import read_tolerance
from geometries.layout.layout import (
    CopperSheet,
    EdgeTerminal,
    MirrorPlane,
    PadTerminal,
    PlanLayout,
    Port,
    RingPort,
    Via,
)
from geometries.layout.placements import FarSide, MirroredPair, Orientation, PlacedLoop, ReturnBelow, SameSide, Site
from geometries.operation.budgets import Budget
from geometries.operation.emission import Cable, Emission
from geometries.operation.emission import Site as EmissionSite
from geometries.operation.limits import LimitLine
from geometries.operation.measurements import Measurement
from geometries.operation.published_limits import published_limit
from geometries.operation.ring_measurement import LoadedRing, RingMeasurement
from geometries.operation.switching import EdgeSpan, Snubber, Switching, SwitchingTolerance
from geometries.quantities import MHZ, MM, UM
from geometries.section.loops import NextLayerLoop, Plane, SameLayerLoop, Slot, ThroughBoardLoop, Tie, cross_section
from geometries.section.outline import Circle, Polygon, Rectangle, Ring
from geometries.section.rings import Disc, RingLoop, ring_section
from geometries.section.section import CrossSection, CurrentLoop, Region, Role, View
from geometries.section.victims import (
    Divider,
    Drive,
    Run,
    SwitchNode,
    Trace,
    Victim,
    VictimSetup,
    loop_edge,
    with_victims,
)
from geometries.study.build import build_scenario
from geometries.study.description import Description
from geometries.study.fingerprint import computed_from
from geometries.study.keys import KeyPath, find_key, with_values
from geometries.study.scenario import Analysis, Scenario, Segment, Variant
from geometries.study.sweep import Sweep, sweep_points, sweep_scenario
from geometries.study.tolerance import Tolerance, tolerance_scenario

__all__ = [
    "COPPER",
    "MHZ",
    "MM",
    "UM",
    "Analysis",
    "Budget",
    "Cable",
    "Capacitor",
    "Circle",
    "Conductor",
    "CopperLayer",
    "CopperSheet",
    "CrossSection",
    "CurrentLoop",
    "Description",
    "DielectricLayer",
    "Disc",
    "Divider",
    "Drive",
    "EdgeSpan",
    "EdgeTerminal",
    "ElectrodeBody",
    "Emission",
    "EmissionSite",
    "FarSide",
    "GeometryError",
    "KeyPath",
    "LimitLine",
    "LoadedRing",
    "LumpedEsl",
    "Measurement",
    "MirrorPlane",
    "MirroredPair",
    "NextLayerLoop",
    "Orientation",
    "PadTerminal",
    "PlacedLoop",
    "PlanLayout",
    "PlanTask",
    "Plane",
    "Polygon",
    "Port",
    "Rectangle",
    "Region",
    "ReturnBelow",
    "Ring",
    "RingLoop",
    "RingMeasurement",
    "RingPort",
    "Role",
    "Run",
    "SameLayerLoop",
    "SameSide",
    "Scenario",
    "ScenarioError",
    "Segment",
    "Site",
    "Slot",
    "Snubber",
    "Stackup",
    "Sweep",
    "SwitchNode",
    "SwitchPackage",
    "Switching",
    "SwitchingTolerance",
    "ThroughBoardLoop",
    "Tie",
    "Tolerance",
    "Trace",
    "Variant",
    "Via",
    "Victim",
    "VictimSetup",
    "View",
    "build_scenario",
    "builtin_scenario_names",
    "capacitor_case",
    "computed_from",
    "cross_section",
    "describe",
    "find_key",
    "loop_edge",
    "named_stackup",
    "published_limit",
    "read_builtin_scenario",
    "read_plan",
    "read_scenario",
    "read_sweep",
    "read_tolerance",
    "ring_section",
    "stackup_names",
    "sweep_points",
    "sweep_scenario",
    "switch_package",
    "tolerance_scenario",
    "via_type",
    "with_values",
    "with_victims",
]
