"""The round view of a variant: shielding against the ring alone, and where its discs become transparent."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometries.files.reading import parse_scenario
from geometries.files.sweep_reading import parse_sweep
from solver.report.loop_part import variant_rows
from solver.runs.checkpoint import open_journal
from solver.section.axisymmetric import solve_axisymmetric, without_discs
from solver.section.error_estimate import one_order_lower
from solver.section.extraction import axis_field
from solver.section.fields import assemble_section, solve_at_dc, solve_at_frequency
from solver.section.mesh import mesh_section
from solver.section.solve import FINE_AIR
from solver.study.study import run_study
from solver.study.sweep import journal_header, solve_sweep, solved_rows
from solver.variant.solve import solve_variant

TEXT = """
title = "ring"
stackup = "4L-7628"

[analysis]
report_frequency = "10 MHz"
frequencies = ["100 kHz", "1 MHz", "10 MHz"]
heights_above = ["3 mm"]
heights_below = ["3 mm"]

[loop]
kind = "ring"
radius = "3 mm"
width = "1 mm"

[[variant]]
name = "alone"

[[variant]]
name = "near disc"
planes.L2 = { tie = "none", radius = "10 mm" }

[[variant]]
name = "far disc"
planes.L3 = { tie = "none", radius = "10 mm" }
"""


@pytest.fixture(scope="module")
def scenario():
    return parse_scenario(TEXT)


@pytest.fixture(scope="module")
def study(scenario):
    return run_study(scenario, workers=1)


def by_name(study, name):
    return next(result for result in study.results if result.variant.name == name)


def test_a_ring_alone_is_not_shielded(study):
    result = by_name(study, "alone").axisymmetric_view
    assert np.all(result.moment_db == 0)
    assert result.corner is None


def test_the_variant_itself_and_its_round_view_are_the_same_solution(study):
    result = by_name(study, "near disc")
    assert result.loop_inductance == pytest.approx(result.axisymmetric_view.inductance, rel=1e-6, abs=0)
    assert result.moment == pytest.approx(result.axisymmetric_view.moment, rel=1e-9, abs=0)


def test_a_nearer_disc_shields_more_at_every_frequency_well_above_its_corner(study):
    near, far = by_name(study, "near disc").axisymmetric_view, by_name(study, "far disc").axisymmetric_view
    assert np.all(near.inductance_db[1:] < far.inductance_db[1:])
    assert np.all(near.moment_db[1:] < far.moment_db[1:])
    assert near.below_db[-1] < near.above_db[-1] < 0


def test_at_the_corner_half_of_the_inductance_is_gone_that_goes_at_most(study):
    result = by_name(study, "near disc").axisymmetric_view
    model, alone = result.reading.impedance.model, result.alone.impedance.model
    omega = 2 * np.pi * result.corner
    there = (alone.impedance(result.corner) - model.impedance(result.corner))[0, 0].imag / omega
    assert there == pytest.approx((alone.inductance - model.inductance)[0, 0] / 2, rel=1e-3, abs=0)


def test_half_as_thick_a_disc_becomes_transparent_at_twice_the_frequency(scenario):
    thin = """
[stackups.thin]
layers = [
  { copper = "L1", thickness = "35 um" },
  { dielectric = "prepreg", thickness = "0.2 mm", relative_permittivity = 4.4 },
  { copper = "L2", thickness = "THICK" },
]
"""
    corners = []
    for thickness in ("4 um", "8 um"):
        text = TEXT.replace("4L-7628", "thin").replace("planes.L3", "planes.L2") + thin.replace("THICK", thickness)
        variant = parse_scenario(text).variants[1]
        corners.append(solve_axisymmetric(variant.axisymmetric_loop, scenario.analysis, variant.surfaces, 10e-3).corner)
    assert corners[0] / corners[1] == pytest.approx(2.0, rel=0.03)


def test_the_field_on_the_axis_turns_weak_behind_the_disc(study):
    reading = by_name(study, "near disc").axisymmetric_view.reading
    alone = by_name(study, "near disc").axisymmetric_view.alone
    behind = reading.axis < -2e-3
    assert np.abs(reading.axis_field[behind]).max() < 0.05 * np.abs(alone.axis_field[behind]).max()


def test_the_field_on_the_axis_of_a_ring_is_the_exact_one_of_its_density(scenario):
    section = scenario.variants[0].section
    field = solve_at_dc(assemble_section(mesh_section(section, highest_frequency=0, settings=FINE_AIR)))
    heights = np.linspace(-12e-3, 12e-3, 49)
    radii = np.linspace(2.5e-3, 3.5e-3, 2001)
    density = 1 / radii / np.trapezoid(1 / radii, radii)
    exact = np.zeros_like(heights)
    for place in 17.5e-6 * (1 + np.array([-1, 1]) / math.sqrt(3)):  # Gauss points of the thickness
        above = heights[:, None] - place
        exact += np.trapezoid(density * radii**2 / (4 * (radii**2 + above**2) ** 1.5), radii, axis=1)
    assert axis_field(field, heights).real == pytest.approx(exact, rel=1e-6, abs=0)


@pytest.mark.parametrize("index", [0, 1])
def test_a_finer_mesh_moves_the_field_on_the_axis_by_less_than_its_stated_error(scenario, index):
    section, heights = scenario.variants[index].section, np.linspace(-12e-3, 12e-3, 49)
    own, finer = (
        solve_at_frequency(assemble_section(mesh_section(section, highest_frequency=1e6, settings=settings)), 1e6)
        for settings in (FINE_AIR, replace(FINE_AIR, growth=0.2))
    )
    found = axis_field(own, heights)
    stated = np.abs(found - axis_field(one_order_lower(own), heights))
    assert (np.abs(found - axis_field(finer, heights)) < stated).all()
    assert np.median(stated / np.abs(found)) < 1e-3


def test_the_comparison_of_axisymmetric_variants_has_a_caution_of_its_own(study):
    assert "W-ROUND" in [each.code for each in study.warnings]
    assert "W-2D-ENDS" not in [each.code for each in study.warnings]
    before, after = (row.readings["loop_moment"].value for row in variant_rows(study)[:2])
    shielded = by_name(study, "near disc").axisymmetric_view.moment_db[-1]
    assert 20 * math.log10(after / before) == pytest.approx(shielded, rel=1e-6)


def test_a_rectangular_loop_shows_both_views(scenario):
    text = TEXT.replace('kind = "ring"\nradius = "3 mm"', 'kind = "same-layer"\ngap = "2 mm"\nlength = "8 mm"')
    variant = parse_scenario(text.replace('radius = "10 mm"', 'width = "20 mm"')).variants[1]
    result = solve_variant(variant, scenario.analysis)
    assert result.axisymmetric_view.loop.mapping
    assert result.axisymmetric_view.inductance == pytest.approx(result.loop_inductance, rel=0.5, abs=0)
    assert len(result.axisymmetric_view.reading.lines) == 2


def test_only_the_driven_copper_is_left_without_discs(scenario):
    section = scenario.variants[1].section
    assert [region.name for region in without_discs(section).regions] == ["go"]
    assert without_discs(replace(section, regions=section.regions[:1])).regions == section.regions[:1]


def test_a_sweep_of_a_ring_reads_what_the_discs_shield(tmp_path):
    text = (
        TEXT + '\n[sweep]\nvariant = "near disc"\nvary = [{ key = "planes.L2.radius", values = ["4 mm", "12 mm"] }]\n'
        'figures = ["shielding_moment", "shielding_corner"]\n'
    )
    sweep = parse_sweep(text)
    with open_journal(tmp_path / "points.jsonl", journal_header(sweep)) as journal:
        small, large = sorted(solve_sweep(sweep, journal, workers=1), key=lambda row: row.index)
        again = solved_rows(journal)[0]
    assert large.value("shielding_moment") < small.value("shielding_moment") - 6
    assert large.value("shielding_corner") == pytest.approx(small.value("shielding_corner"), rel=0.5)
    assert again == small
