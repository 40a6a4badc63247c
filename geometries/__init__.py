"""What is analysed: stackups, loops, planes, cross-sections and scenario files, as plain frozen data."""

from geometries.capacitors import Capacitor, ElectrodeBody, LumpedEsl, SwitchPackage, switch_package
from geometries.constructions import construction_names, named_construction
from geometries.errors import GeometryError, ScenarioError
from geometries.loops import (
    NextLayerLoop,
    Plane,
    SameLayerLoop,
    Slot,
    ThroughBoardLoop,
    Tie,
    cross_section,
)
from geometries.materials import COPPER, Conductor
from geometries.outline import Circle, Polygon, Rectangle, Ring
from geometries.parts import capacitor_case
from geometries.placements import FarSide, MirroredPair, Orientation, PlacedLoop, ReturnBelow, SameSide, Site
from geometries.quantities import MHZ, MM, UM
from geometries.reading import parse_scenario, read_builtin_scenario, read_scenario
from geometries.rounds import Disc, RingLoop, ring_section
from geometries.scenario import Analysis, Scenario, Variant
from geometries.section import CrossSection, CurrentLoop, Region, Role, View
from geometries.stackup import CopperLayer, DielectricLayer, Stackup

__all__ = [
    "COPPER",
    "MHZ",
    "MM",
    "UM",
    "Analysis",
    "Capacitor",
    "Circle",
    "Conductor",
    "CopperLayer",
    "CrossSection",
    "CurrentLoop",
    "DielectricLayer",
    "Disc",
    "ElectrodeBody",
    "FarSide",
    "GeometryError",
    "LumpedEsl",
    "MirroredPair",
    "NextLayerLoop",
    "Orientation",
    "PlacedLoop",
    "Plane",
    "Polygon",
    "Rectangle",
    "Region",
    "ReturnBelow",
    "Ring",
    "RingLoop",
    "Role",
    "SameLayerLoop",
    "SameSide",
    "Scenario",
    "ScenarioError",
    "Site",
    "Slot",
    "Stackup",
    "SwitchPackage",
    "ThroughBoardLoop",
    "Tie",
    "Variant",
    "View",
    "capacitor_case",
    "construction_names",
    "cross_section",
    "named_construction",
    "parse_scenario",
    "read_builtin_scenario",
    "read_scenario",
    "ring_section",
    "switch_package",
]
