"""What is analysed: stackups, loops, planes, cross-sections and scenario files, as plain frozen data."""

from geometries.board.capacitors import Capacitor, ElectrodeBody, LumpedEsl, SwitchPackage, switch_package
from geometries.board.materials import COPPER, Conductor
from geometries.board.parts import capacitor_case
from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.errors import GeometryError, ScenarioError
from geometries.files.reading import parse_scenario, read_builtin_scenario, read_scenario
from geometries.files.stackups import named_stackup, stackup_names
from geometries.layout.placements import FarSide, MirroredPair, Orientation, PlacedLoop, ReturnBelow, SameSide, Site
from geometries.quantities import MHZ, MM, UM
from geometries.section.loops import NextLayerLoop, Plane, SameLayerLoop, Slot, ThroughBoardLoop, Tie, cross_section
from geometries.section.outline import Circle, Polygon, Rectangle, Ring
from geometries.section.rings import Disc, RingLoop, ring_section
from geometries.section.section import CrossSection, CurrentLoop, Region, Role, View
from geometries.study.scenario import Analysis, Scenario, Variant

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
    "cross_section",
    "named_stackup",
    "parse_scenario",
    "read_builtin_scenario",
    "read_scenario",
    "ring_section",
    "stackup_names",
    "switch_package",
]
