"""A small study made by hand, so that drawings and reports are tested without a mesh or a solver."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import islice, permutations

import numpy as np
import pytest

from geometries.board.capacitors import Capacitor, LumpedEsl, switch_package
from geometries.board.parts import VIAS, capacitor_case
from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.drawn.choice import chosen_ends
from geometries.drawn.ends import LoopEnds
from geometries.drawn.loops import find_loops
from geometries.drawn.parts import parts_of
from geometries.drawn.window import loop_window, usual_margin
from geometries.fabrication.board import Board
from geometries.fabrication.example_board import write_example_board
from geometries.fabrication.reading import read_board
from geometries.files.stackups import named_stackup
from geometries.layout.placement_copper import placement_plan
from geometries.layout.placements import FarSide, MirroredPair, PlacedLoop, Site
from geometries.quantities import MM, UM
from geometries.section.analysis import Analysis
from geometries.section.loops import Plane, SameLayerLoop, Tie, cross_section
from geometries.section.section import CrossSection, CurrentLoop
from geometries.study.scenario import Scenario, Variant
from solver.board.as_drawn import DrawnLoop, current_shares, solve_as_drawn
from solver.circuit.rl_network import BroadbandModel
from solver.errors import NumberedWarning
from solver.loop.capacitor_bank import CapacitorBank
from solver.loop.terms import PairFacts, Sensitivity, Term, WholeLoop
from solver.plan import PlanMeshSettings, plan_energy, solve_plan
from solver.section.results import (
    CurrentShare,
    FieldMap,
    FieldScan,
    InductanceBracket,
    LayerBenefit,
    MeshStatistics,
    PlaneInductance,
    RefinementStep,
    SegmentResult,
)
from solver.study.results import StudyResult
from solver.study.study import conclude
from solver.variant.results import VariantResult

HOSTILE = "over <script>alert(1)</script> & $plane$"
"""A name that must come out as it is, neither as markup nor as a formula."""

FREQUENCIES = (1e6, 1e8, 3e8)
LOOP = SameLayerLoop(width=3 * MM, return_width=3 * MM, gap=1 * MM, length=8 * MM, layer="L1")
STACKUP = Stackup(
    name="4L-test",
    note="invented",
    layers=(
        CopperLayer(name="L1", thickness=35 * UM),
        DielectricLayer(name="prepreg", thickness=0.2 * MM, relative_permittivity=4.4),
        CopperLayer(name="L2", thickness=17.5 * UM),
        DielectricLayer(name="core", thickness=1.1 * MM, relative_permittivity=4.25),
        CopperLayer(name="L3", thickness=35 * UM),
    ),
)


def hand_made_map(section: CrossSection) -> FieldMap:
    """Two line currents on a coarse grid, and two triangles per conductor."""
    x, y = np.meshgrid(np.linspace(-8 * MM, 8 * MM, 33), np.linspace(-5 * MM, 4 * MM, 19))
    points = [np.column_stack([x.ravel(), y.ravel()])]
    corner = (np.arange(18)[:, None] * 33 + np.arange(32)).ravel()
    triangles = [
        np.column_stack([corner, corner + 1, corner + 34]),
        np.column_stack([corner, corner + 34, corner + 33]),
    ]
    regions = [np.full(2 * len(corner), -1)]
    for index, region in enumerate(section.regions):
        first = sum(map(len, points))
        points.append(np.array(region.outline.vertices))
        triangles.append(first + np.array([[0, 1, 2], [0, 2, 3]]))
        regions.append(np.full(2, index))
    everywhere, owner = np.vstack(points), np.concatenate(regions)
    nodes = np.vstack(triangles)
    distance = [np.hypot(everywhere[:, 0] - side * 2.03 * MM, everywhere[:, 1] - 0.01 * MM) for side in (-1, 1)]
    density = np.zeros(len(everywhere), dtype=complex)
    inside = np.unique(nodes[owner >= 0])
    density[inside] = 1e7 * (1 + 0.5j) * (1 + np.abs(everywhere[inside, 0]) / MM)
    return FieldMap(
        points=everywhere,
        triangles=nodes,
        regions=owner,
        potential=2e-7 * np.log(distance[1] / distance[0]) * (1 + 0.1j),
        density=density,
    )


def hand_made_model(inductance: float) -> BroadbandModel:
    """A resistor, an inductor and one cell that have so much inductance per length at the report frequency [H/m]."""
    omega, rate, weight = 2 * np.pi * FREQUENCIES[1], 1e8, 1.4
    cell = weight**2 * rate / (omega**2 + rate**2)
    return BroadbandModel(
        resistance=np.array([[0.3]]),
        inductance=np.array([[inductance - cell]]),
        rates=np.array([rate]),
        weights=np.array([[weight]]),
        band=(1e5, 1e9),
        shifts=(1e9,),
        residual=1e-9,
        resistance_residual=1e-8,
    )


def hand_made_result(
    name: str, planes: tuple[Plane, ...], inductance: float, loop: SameLayerLoop = LOOP
) -> VariantResult:
    """A result whose loop inductance at the report frequency is `inductance` [H]."""
    section = cross_section(name, STACKUP, loop, planes)
    variant = Variant(name=name, note="a note", section=section, length=8 * MM, stackups=(STACKUP,))
    per_length = inductance / variant.length
    model = hand_made_model(per_length)
    x = np.linspace(-10 * MM, 10 * MM, 21)
    shape = 1 / (1 + (x / (4 * MM)) ** 2)
    lines = [(side, d * MM, 30 * per_length / 5e-7 / d * shape) for side in ("above", "below") for d in (3, 10)]
    return VariantResult(
        variant=variant,
        frequencies=np.array(FREQUENCIES),
        segments=(
            SegmentResult(
                name="main section",
                length=variant.length,
                model=model,
                resistance=np.array([0.3, 2.3, 4.0]).reshape(3, 1, 1),
                inductance=np.array([model.impedance(f)[0, 0].imag / (2 * np.pi * f) for f in FREQUENCIES]).reshape(
                    3, 1, 1
                ),
                resistance_errors=np.array([3e-4, 7e-3, 2e-2]).reshape(3, 1, 1),
                inductance_errors=np.full((3, 1, 1), 4e-4 * per_length),
                dc_resistance=np.array([[0.3]]),
                dc_bracket=InductanceBracket(lower=np.array([[6.8999e-7]]), upper=np.array([[6.9001e-7]])),
                perfect_bracket=InductanceBracket(
                    lower=np.array([[0.95999 * per_length]]), upper=np.array([[0.96001 * per_length]])
                ),
                inductance_error=4e-4,
                resistance_error=3e-3,
            ),
        ),
        refinement=(
            RefinementStep(unknowns=9000, dc_gap=2e-4, perfect_gap=3e-3),
            RefinementStep(unknowns=14000, dc_gap=3e-5, perfect_gap=2.1e-5),
        ),
        report_index=1,
        shares=(
            CurrentShare(region="go", role="go", share=1.0),
            CurrentShare(region="return", role="return", share=-0.22),
        ),
        lines=tuple(FieldScan(side=side, distance=d, x=x, magnitude=values) for side, d, values in lines),
        moment=3.2e-3,
        planes=tuple(PlaneInductance(region=plane.layer, value=2e-9) for plane in planes),
        benefit=tuple(
            LayerBenefit(
                layer=plane.layer,
                inductance_before=5.8e-7,
                inductance_after=per_length,
                above_db=-14.5,
                below_db=-64.6,
            )
            for plane in planes
        ),
        field_map=hand_made_map(section),
        statistics=MeshStatistics(triangles=1000, unknowns=4600, seconds=0.7),
        warnings=(NumberedWarning(code="W-SHORT-LOOP", text=f"the loop of {name} is short"),),
    )


def hand_made_study(results: tuple[VariantResult, ...], asked: tuple[Variant, ...]) -> StudyResult:
    """A study of some results, of which the first is the reference."""
    analysis = Analysis(
        frequencies=FREQUENCIES,
        report_frequency=1e8,
        heights_above=(3 * MM, 10 * MM),
        heights_below=(3 * MM, 10 * MM),
    )
    scenario = Scenario(
        title="Which board <b>?",
        setting="An invented converter.",
        variants=asked,
        reference=asked[0].name,
        analysis=analysis,
        text='title = "Which board <b>?"\n',
    )
    concluded = conclude(scenario, results)
    return replace(
        concluded,
        decision="“over plane” has the smallest loop, 1.10 nH.",
        warnings=(NumberedWarning(code="W-2D-ENDS", text="ends are not included"),),
        versions=(("copperfield", "0.0.test"), ("numpy", np.__version__)),
    )


@pytest.fixture(scope="session")
def study() -> StudyResult:
    """Two variants, the second with a hostile name and a ground layer."""
    plane = Plane(layer="L2", tie=Tie.CAPACITOR_END, width=40 * MM)
    results = (hand_made_result("no ground", (), 4.65e-9), hand_made_result(HOSTILE, (plane,), 1.097e-9))
    return hand_made_study(results, tuple(result.variant for result in results))


def untied(result: VariantResult) -> VariantResult:
    """The same with ground layers that are tied nowhere, which is a study."""
    section = result.variant.section
    regions = tuple(replace(each, tie=Tie.NONE) for each in section.regions)
    return replace(result, variant=replace(result.variant, section=replace(section, regions=regions)))


@pytest.fixture(scope="session")
def study_of_untied(study: StudyResult) -> StudyResult:
    """The same study with a ground layer that is tied nowhere."""
    results = tuple(map(untied, study.results))
    return hand_made_study(results, tuple(result.variant for result in results))


@pytest.fixture
def with_loops(study: StudyResult) -> Callable[[int], Variant]:
    """The second variant of the study with so many loops, each through another pair of its groups."""
    variant = study.results[1].variant

    def loops(count: int) -> Variant:
        listed = tuple(
            CurrentLoop(name="loop" if number == 1 else f"loop {number}", go_group=go, return_group=back)
            for number, (go, back) in enumerate(islice(permutations(variant.section.groups, 2), count), start=1)
        )
        return replace(variant, section=replace(variant.section, loops=listed))

    return loops


@pytest.fixture(scope="session")
def interrupted_study(study: StudyResult) -> StudyResult:
    """The same study, interrupted after the first variant."""
    return hand_made_study(study.results[:1], study.scenario.variants)


@pytest.fixture(scope="session")
def narrow_gap() -> VariantResult:
    """A loop whose gap is too narrow for its dimension."""
    loop = SameLayerLoop(width=0.25 * MM, return_width=0.25 * MM, gap=0.05 * MM, length=8 * MM, layer="L1")
    return hand_made_result("narrow gap", (Plane(layer="L2", tie=Tie.BOTH_ENDS, width=40 * MM),), 1e-9, loop)


@pytest.fixture(scope="session")
def hostile_name() -> str:
    """Name of the study's second variant."""
    return HOSTILE


PART = Capacitor(case=capacitor_case("0603"), capacitance=1e-6, resistance=5e-3, body=LumpedEsl(inductance=0.3e-9))
COMMON = {
    "copper_width": 1.6e-3,
    "gap": 0.6e-3,
    "distance": 0.6e-3,
    "package": switch_package("flip-chip"),
    "via": VIAS[0],
}
PLACEMENTS = (
    FarSide(capacitors=(PART,), via_count=2, **COMMON),
    MirroredPair(capacitors=(PART, replace(PART, capacitance=0.1e-6)), part_width=3e-3, **COMMON),
)


def hand_made_whole_loop(placement: FarSide | MirroredPair, copper: float) -> WholeLoop:
    """A whole loop whose copper has so much inductance [H]; the other terms have 0.525 nH."""
    placed = PlacedLoop(placement=placement, site=Site(stackup=named_stackup("2L-1.6")))
    size = len(placement.capacitors)
    amounts = {"copper": copper, "capacitor": 0.3e-9, "vias": 0.1e-9, "package": 0.125e-9}
    pair = PairFacts(
        single=2e-9, pair=1e-9, single_moment=2e-6, pair_moment=1e-10, uneven_moment=2e-7, upright_moment=3e-7
    )
    return WholeLoop(
        placed=placed,
        resistance=4e-3,
        resistance_uncertainty=1e-3,
        plan=placement_plan("by hand", placed),
        frequency=1e8,
        terms=tuple(
            Term(name=name, amount=amount, uncertainty=amount / 10, source=f"made up <{name}>")
            for name, amount in amounts.items()
        ),
        bank=CapacitorBank(
            names=tuple(f"C{k + 1}" for k in range(size)),
            inductance=1e-9 * np.eye(size),
            resistance=5e-3 * np.eye(size),
            capacitance=np.array([each.capacitance for each in placement.capacitors]),
        ),
        shares=np.full(size, 1 / size, dtype=complex),
        moments=np.tile([0.0, 0.0, 2e-6 + 0j], (size, 1)),
        pair=pair if size == 2 else None,
        sensitivities=(
            Sensitivity(dimension="distance", value=0.6e-3, derivative=4e-7, step=6e-5),
            Sensitivity(dimension="copper_width", value=1.6e-3, derivative=-1e-7, step=1.6e-4),
        ),
        seconds=1.0,
    )


@pytest.fixture(scope="session")
def placed_study(study: StudyResult) -> StudyResult:
    """The same study with whole loops of 1.725 nH and 0.725 nH."""
    loops = [hand_made_whole_loop(each, copper) for each, copper in zip(PLACEMENTS, (1.2e-9, 0.2e-9), strict=True)]
    results = tuple(replace(result, whole_loop=each) for result, each in zip(study.results, loops, strict=True))
    variants = tuple(replace(each.variant, placed=each.whole_loop.placed) for each in results)
    placed = tuple(replace(each, variant=variant) for each, variant in zip(results, variants, strict=True))
    return hand_made_study(placed, variants)


@pytest.fixture(scope="session")
def board(tmp_path_factory: pytest.TempPathFactory) -> Board:
    """The invented board, as it is read."""
    folder = tmp_path_factory.mktemp("board")
    write_example_board(folder)
    return read_board(folder)


@pytest.fixture(scope="session")
def ends(board: Board) -> LoopEnds:
    """Where the loop of its converter through the nearest capacitor passes between parts and copper."""
    return chosen_ends(parts_of(board), find_loops(board)[0], "")


@pytest.fixture(scope="session")
def drawn(board: Board, ends: LoopEnds) -> DrawnLoop:
    """That loop, solved on a coarse mesh."""
    return solve_as_drawn(board, ends, 100e6, PlanMeshSettings().coarser().coarser())


def drawn_once(board: Board, ends: LoopEnds, settings: PlanMeshSettings) -> DrawnLoop:
    """A loop in the first window, solved once: without the uncertainties, which take four solutions more."""
    window = loop_window(board, ends, usual_margin(ends))
    solution = solve_plan(window.layout, 100e6, settings)
    return DrawnLoop(
        ends=ends,
        window=window,
        solution=solution,
        energy=plan_energy(window.layout, solution.coarse, 100e6, current_shares(solution, ends)),
        window_error=0.0,
        parts_error=0.0,
        without_vias=0.0,
    )


@pytest.fixture(scope="session")
def solve_once() -> Callable[[Board, LoopEnds, PlanMeshSettings], DrawnLoop]:
    """Solves a loop of a board where its uncertainties are not asked for."""
    return drawn_once
