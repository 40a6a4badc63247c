"""The broadband model of a section: what it must be, and how far it is from direct solutions."""

import math
import pickle
import time
from dataclasses import replace

import numpy as np
import pytest
from threadpoolctl import threadpool_limits

from geometries.files.reading import read_builtin_scenario
from geometries.quantities import MM
from geometries.section.outline import Circle, Rectangle, Ring
from geometries.section.section import CrossSection, CurrentLoop, Region
from solver.circuit.rl_network import BroadbandModel, in_series, network
from solver.errors import SolutionError
from solver.section import broadband
from solver.section.broadband import reduce_section
from solver.section.error_estimate import estimate_errors
from solver.section.fields import assemble_section, solve_at_dc, solve_at_frequency, solve_perfect_conductor
from solver.section.mesh import mesh_section

BAND = (1e3, 1e8)
FREQUENCIES = np.geomspace(*BAND, 8)


def rectangle(name, left, right, bottom, top, role, group=""):
    outline = Rectangle(left=left * MM, right=right * MM, bottom=bottom * MM, top=top * MM)
    return Region(name=name, outline=outline, role=role, group=group)


PAIR = (rectangle("go", -3.5, -0.5, 0, 0.035, "go"), rectangle("return", 0.5, 3.5, 0, 0.035, "return"))
PLANE = rectangle("plane", -8, 8, -0.235, -0.2, "floating")
VICTIM = rectangle("trace", 4.5, 4.7, 0, 0.035, "victim")
COAX = (
    Region(name="go", outline=Circle(centre=(0.0, 0.0), radius=0.5 * MM), role="go"),
    Region(name="return", outline=Ring(centre=(0.0, 0.0), inner_radius=1.75 * MM, outer_radius=2 * MM), role="return"),
)
SECTIONS = {
    "pair over a floating plane": CrossSection(name="a", regions=(*PAIR, PLANE)),
    "coaxial line": CrossSection(name="b", regions=COAX),
    "two loops": CrossSection(
        name="c",
        regions=(*PAIR, PLANE, VICTIM),
        loops=(CurrentLoop(), CurrentLoop(name="victim", go_group="trace", return_group="return")),
    ),
}


def limits_of(section, highest=BAND[1]):
    system = assemble_section(mesh_section(section, highest_frequency=highest))
    return solve_at_dc(system), solve_perfect_conductor(system)


def direct(system, frequency):
    field = solve_at_frequency(system, float(frequency))
    return field.resistance_per_length + 2j * math.pi * frequency * field.inductance_per_length


@pytest.fixture(scope="module", params=SECTIONS)
def limits(request):
    return limits_of(SECTIONS[request.param])


@pytest.fixture(scope="module")
def model(limits):
    return reduce_section(*limits, lowest=BAND[0], highest=BAND[1]).model


@pytest.fixture(scope="module")
def pair_limits():
    return limits_of(SECTIONS["pair over a floating plane"])


def test_the_model_is_within_its_promise_of_direct_solutions(limits, model):
    for frequency in FREQUENCIES:
        exact, found = direct(limits[0].system, frequency), model.impedance(frequency)
        assert np.abs(found - exact).max() <= 1e-6 * np.abs(exact).max()
        assert np.abs((found - exact).real).max() <= 1e-5 * exact.real.max()


def test_it_takes_at_most_ten_factorisations_and_says_where(model):
    assert len(model.shifts) + 2 <= 10
    assert BAND[1] in model.shifts
    assert model.residual <= 1e-6
    assert model.resistance_residual <= 1e-5


def test_every_rate_is_positive_and_so_is_every_element(model):
    assert (model.rates > 0).all()
    circuit = network(model)
    assert all(element.resistance > 0 for element in (*circuit.resistors, *circuit.cells))
    assert all(element.inductance > 0 for element in (*circuit.inductors, *circuit.cells))


def test_the_impedance_is_symmetric_and_passive_and_grows_in_resistance(model):
    before = np.zeros_like(model.resistance)
    for frequency in (0.0, *FREQUENCIES):
        impedance = model.impedance(frequency)
        assert np.abs(impedance - impedance.T).max() <= 1e-15 * np.abs(impedance).max()
        assert np.linalg.eigvalsh(impedance.real - before).min() >= -1e-12 * impedance.real.max()
        before = impedance.real
    assert np.linalg.eigvalsh(model.resistance).min() > 0


def test_the_two_limits_are_those_of_the_section(limits, model):
    static, perfect = limits
    assert model.dc_resistance == pytest.approx(static.resistance_per_length, rel=1e-12, abs=0)
    assert model.impedance(0.0) == pytest.approx(static.resistance_per_length, rel=1e-12, abs=0)
    assert model.inductance == pytest.approx(perfect.inductance_per_length, rel=1e-6, abs=0)
    error = np.abs(model.dc_inductance - static.inductance_per_length).max()
    assert error < 1e-9 * static.inductance_per_length.max()


def test_the_inductance_falls_from_the_static_to_the_perfect_one(model):
    at = [model.dc_inductance, *(model.impedance(f).imag / (2 * math.pi * f) for f in FREQUENCIES), model.inductance]
    for lower, higher in zip(at[1:], at, strict=False):
        assert np.linalg.eigvalsh(higher - lower).min() >= -1e-12 * higher.max()


def test_the_network_has_the_impedance_of_the_model(model):
    circuit = network(model, length=8 * MM)
    for frequency in FREQUENCIES:
        exact = 8 * MM * model.impedance(frequency)
        assert np.abs(circuit.impedance(frequency) - exact).max() < 1e-12 * np.abs(exact).max()


def test_stretches_in_series_add_up(model):
    whole = in_series([network(model, length=8 * MM), network(model, length=2 * MM)])
    assert whole.band == BAND
    for frequency in FREQUENCIES:
        exact = 10 * MM * model.impedance(frequency)
        assert np.abs(whole.impedance(frequency) - exact).max() < 1e-12 * np.abs(exact).max()


def test_stretches_that_do_not_fit_are_refused(model):
    circuit = network(model)
    with pytest.raises(ValueError, match="at least one, all of the same loops"):
        in_series([])
    more = replace(circuit, resistors=tuple(replace(each, turns=(*each.turns, 0.0)) for each in circuit.resistors))
    with pytest.raises(ValueError, match="at least one, all of the same loops"):
        in_series([circuit, more])
    with pytest.raises(ValueError, match="do not overlap"):
        in_series([circuit, replace(circuit, band=(1e8, 1e9))])


def test_the_turns_ratios_are_one_for_one_loop_and_at_most_one_for_several(model):
    largest = [max(abs(turn) for turn in element.turns) for element in network(model).elements]
    assert largest == pytest.approx([1.0] * len(largest), rel=1e-12)


def test_the_model_survives_pickling(model):
    copy = pickle.loads(pickle.dumps(model))
    assert np.array_equal(copy.impedance(1e6), model.impedance(1e6))
    assert len(pickle.dumps(model)) < 20_000


def test_its_arrays_cannot_be_changed(model):
    with pytest.raises(ValueError, match="read-only"):
        model.rates[0] = 1.0


@pytest.mark.parametrize("frequency", [-1.0, 1.01 * BAND[1], math.nan])
def test_a_frequency_outside_is_refused(model, frequency):
    with pytest.raises(ValueError, match="the model holds from 0 to 1e\\+08 Hz"):
        model.impedance(frequency)


@pytest.mark.parametrize("band", [(0.0, 1e6), (1e6, 1e6), (1e6, 1e3), (1e3, 1.1e8), (math.nan, 1e6)])
def test_a_bad_band_is_refused(pair_limits, band):
    with pytest.raises(ValueError, match="it must be ascending, above 0 and at most 1e\\+08 Hz"):
        reduce_section(*pair_limits, lowest=band[0], highest=band[1])


@pytest.fixture(scope="module")
def reduced(limits):
    return reduce_section(*limits, lowest=BAND[0], highest=BAND[1], solved_at=3e6)


def test_the_field_of_a_reduced_section_is_that_of_a_direct_solution(limits, reduced):
    for frequency in (1e3, 2e5, 7e7):
        found, exact = reduced.field(frequency), solve_at_frequency(limits[0].system, frequency)
        missed = np.linalg.norm(found.potential - exact.potential, axis=0)
        assert (missed < 1e-4 * np.linalg.norm(exact.potential, axis=0)).all()
        assert found.region_currents == pytest.approx(exact.region_currents, abs=1e-4)


def test_the_promise_holds_with_a_frequency_asked_for_close_to_the_highest(limits):
    model = reduce_section(*limits, lowest=BAND[0], highest=BAND[1], solved_at=BAND[1] / 1.5).model
    for frequency in FREQUENCIES:
        exact = direct(limits[0].system, frequency)
        assert np.abs(model.impedance(frequency) - exact).max() < 1e-6 * np.abs(exact).max()


def test_at_the_frequency_asked_for_the_field_is_solved_directly(limits, reduced):
    found, exact = reduced.field(3e6), solve_at_frequency(limits[0].system, 3e6)
    assert 3e6 in reduced.model.shifts
    assert np.abs(found.potential - exact.potential).max() < 1e-9 * np.abs(exact.potential).max()


@pytest.mark.parametrize("frequency", [0.9 * BAND[0], 1.1 * BAND[1]])
def test_a_field_outside_the_band_is_refused(reduced, frequency):
    with pytest.raises(ValueError, match="the section was reduced for 1000 to 1e\\+08 Hz"):
        reduced.field(frequency)


def test_the_error_at_every_frequency_is_that_of_second_order_elements(limits, reduced):
    coarse = assemble_section(limits[0].system.meshed, order=2)
    for frequency, stated in zip(FREQUENCIES, estimate_errors(reduced, FREQUENCIES), strict=True):
        change = np.abs(direct(coarse, frequency) - reduced.model.impedance(frequency))
        assert (0.8 * change < np.abs(stated.impedance)).all()
        assert (np.abs(stated.impedance) < 2.5 * change.max()).all()


def test_limits_that_are_none_are_refused(pair_limits):
    static, perfect = pair_limits
    with pytest.raises(ValueError, match="must be the solution at DC and the one for perfect conductors"):
        reduce_section(perfect, static, lowest=1e3, highest=1e8)


def test_limits_of_two_meshes_are_refused(pair_limits):
    static, perfect = pair_limits
    other = replace(perfect, system=replace(perfect.system))
    with pytest.raises(ValueError, match="belong to different sections or meshes"):
        reduce_section(static, other, lowest=1e3, highest=1e8)


def test_a_promise_that_is_not_kept_is_an_error(pair_limits, monkeypatch):
    monkeypatch.setattr(broadband, "_MOST_SHIFTS", 2)
    with pytest.raises(SolutionError, match=r"after 2 frequencies the broadband model is still off by .* of R"):
        reduce_section(*pair_limits, lowest=BAND[0], highest=BAND[1])


def test_dependent_vectors_are_dropped():
    """The same loop there and back: its fields are the same, and so are all elements of the matrix but for the sign."""
    once = SECTIONS["pair over a floating plane"]
    twice = replace(once, loops=(CurrentLoop(), CurrentLoop(name="back", go_group="return", return_group="go")))
    signs = np.array([[1, -1], [-1, 1]])
    single = reduce_section(*limits_of(once), lowest=BAND[0], highest=BAND[1]).model
    double = reduce_section(*limits_of(twice), lowest=BAND[0], highest=BAND[1]).model
    assert len(double.rates) <= len(single.rates) + 2
    for frequency in FREQUENCIES:
        assert double.impedance(frequency) == pytest.approx(signs * single.impedance(frequency)[0, 0], rel=1e-6, abs=0)
    assert len(network(double).resistors) == 1


def test_a_negative_rate_is_refused():
    one = np.ones((1, 1))
    with pytest.raises(ValueError, match="would not be passive"):
        BroadbandModel(
            resistance=one,
            inductance=one,
            rates=np.array([-1.0]),
            weights=one,
            band=BAND,
            shifts=(),
            residual=0.0,
            resistance_residual=0.0,
        )


@pytest.mark.parametrize("length", [0.0, -1.0, math.nan])
def test_a_length_that_is_not_positive_is_refused(model, length):
    with pytest.raises(ValueError, match="it must be positive"):
        network(model, length=length)


@pytest.mark.timing
@pytest.mark.parametrize("variant", [0, 3, 6])
def test_two_hundred_points_are_fifteen_times_faster_than_direct_solutions(variant):
    section = read_builtin_scenario("irrigation-controller").variants[variant].section
    system = assemble_section(mesh_section(section, highest_frequency=1e9))
    frequencies = np.geomspace(1e3, 1e9, 200)
    with threadpool_limits(1):  # processor time of one thread, which other programs do not change
        start = time.process_time()
        model = reduce_section(solve_at_dc(system), solve_perfect_conductor(system), lowest=1e3, highest=1e9).model
        found = np.array([model.impedance(frequency) for frequency in frequencies])
        between = time.process_time()
        exact = np.array([direct(system, frequency) for frequency in frequencies])
        ratio = (time.process_time() - between) / (between - start)
    deviation = np.abs(found / exact - 1).max()
    resistance_deviation = np.abs(found.real / exact.real - 1).max()
    assert deviation <= 1e-6
    assert resistance_deviation <= 1e-5
    assert ratio >= 15
