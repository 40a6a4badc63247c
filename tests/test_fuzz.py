"""Whatever a file holds, it is read or refused in short printable lines; what is read and solves has sound numbers.

The cases are drawn anew from the same seed each time; COPPERFIELD_FUZZ_CASES multiplies their number.
"""

import os
import signal
import tomllib
from contextlib import contextmanager

import pytest
from fuzz import mutants, odd, scribbled, tables, toml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from geometries.errors import GeometryError
from geometries.files.layout_reading import parse_plan
from geometries.files.reading import builtin_scenario_names, builtin_text, parse_scenario
from geometries.files.sweep_reading import parse_sweep
from geometries.files.tolerance_reading import parse_tolerance
from geometries.operation.limits import read_limits
from geometries.operation.measured import read_impedance, read_spectrum
from geometries.quantities import Quantity, read_quantity
from geometries.study.description import Description
from solver.errors import SolverError
from solver.plan.written import solve_written
from solver.runs.checkpoint import open_journal
from solver.variant.needs import Needs
from solver.variant.solve import solve_variant

TIMES = int(os.environ.get("COPPERFIELD_FUZZ_CASES", "1"))
LONGEST = 120
"""Seconds after which a case counts as one that hangs: far beyond what any takes."""

SCENARIOS = {name: tomllib.loads(builtin_text(name)) for name in builtin_scenario_names()}

PLAN = """
title = "strip with two vias"
plane = { height = "0 mm", metal = "perfect" }

[[copper]]
name = "strip"
height = "0.5 mm"
corners = [["0 mm", "0 mm"], ["8 mm", "0 mm"], ["8 mm", "2 mm"], ["0 mm", "2 mm"]]
holes = [[["3 mm", "0.5 mm"], ["4 mm", "0.5 mm"], ["4 mm", "1.5 mm"], ["3 mm", "1.5 mm"]]]

[[port]]
name = "capacitor"
entry = { copper = "strip", edge = [["0 mm", "0 mm"], ["0 mm", "2 mm"]] }
leave = { copper = "strip", pad = [["6 mm", "0.8 mm"], ["6.4 mm", "0.8 mm"], ["6.4 mm", "1.2 mm"], ["6 mm", "1.2 mm"]] }
"""
TOUCHSTONE = "! loop\n# MHZ S RI R 50\n1 0.1 0.2\n2 0.1 0.3\n"
TOUCHSTONE_2 = (
    "[Version] 2.0\n# MHZ S RI\n[Number of Ports] 1\n[Number of Frequencies] 1\n[Reference] 50\n"
    "[Network Data]\n1 0.1 0.2\n[End]\n"
)
SPECTRUM = "frequency,level\n# peak\n120 MHz,34.5\n200 MHz,31\n"
LIMITS = "from,to,level,detector\n30 MHz,230 MHz,40,quasi-peak\n230 MHz,1 GHz,47,average\n"
JOURNAL = '{"schema": "s/1", "a": [1, 2]}\n{"index": 0, "readings": {"L": [1.0, null]}}\n{"index": 1, "failure": "x"}\n'


def cases(number):
    """Seeded, without a limit on time, of a number that can be multiplied."""
    return settings(
        max_examples=number * TIMES,
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )


@contextmanager
def no_hang():
    def stop(number, frame):
        raise AssertionError(f"this case takes more than {LONGEST} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(LONGEST)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def read(reader, *arguments):
    """What a reader makes of its arguments; None if it refuses them as it should."""
    with no_hang():
        try:
            return reader(*arguments)
        except (GeometryError, SolverError) as refusal:
            lines = str(refusal).split("\n")
            assert all(line and line.isprintable() and len(line) < 1500 for line in lines), lines
            return None


@cases(200)
@given(tables(Description))
def test_a_document_after_the_grammar_of_all_tables_is_read_or_refused(document):
    read(parse_scenario, toml({"title": "random", **document}))


@pytest.mark.parametrize("name", SCENARIOS)
@cases(40)
@given(st.data())
def test_a_mutant_of_a_built_in_scenario_is_read_or_refused(name, data):
    read(parse_scenario, toml(data.draw(mutants(SCENARIOS[name]))))


@pytest.mark.parametrize("name", SCENARIOS)
@cases(10)
@given(st.data())
def test_a_scribbled_built_in_scenario_is_read_or_refused(name, data):
    read(parse_scenario, data.draw(scribbled(builtin_text(name))))


SWEEP = {"variant": "one end", "vary": [{"key": "loop.gap", "from": "0.5 mm", "to": "2 mm", "steps": 3}]}
TOLERANCE = {"width": "10 %", "prepreg": "10 %", "temperature": "20 K", "samples": 100, "seed": 3}


@cases(40)
@given(st.data())
def test_a_mutant_of_a_sweep_is_read_or_refused(data):
    read(parse_sweep, toml({**SCENARIOS["orchard-pump"], "sweep": data.draw(mutants(SWEEP))}))


@cases(40)
@given(st.data())
def test_a_mutant_of_a_tolerance_study_is_read_or_refused(data):
    read(parse_tolerance, toml({**SCENARIOS["orchard-pump"], "tolerance": data.draw(mutants(TOLERANCE))}))


@cases(60)
@given(st.data())
def test_a_mutant_of_a_plan_is_read_or_refused(data):
    read(parse_plan, toml(data.draw(mutants(tomllib.loads(PLAN)))))


@pytest.mark.parametrize(
    ("reader", "name", "text"),
    [
        (read_impedance, "a.s1p", TOUCHSTONE),
        (read_impedance, "a.ts", TOUCHSTONE_2),
        (read_spectrum, "a.csv", SPECTRUM),
        (lambda path: read_limits(path, 3.0), "a.csv", LIMITS),
    ],
    ids=["Touchstone 1", "Touchstone 2", "spectrum", "limits"],
)
@cases(60)
@given(st.data())
def test_a_scribbled_measured_file_is_read_or_refused(tmp_path_factory, reader, name, text, data):
    path = tmp_path_factory.mktemp("files") / name
    path.write_bytes(data.draw(scribbled(text)).encode("utf-8", "replace"))
    read(reader, path)


@cases(60)
@given(st.data())
def test_a_scribbled_journal_is_resumed_or_refused(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("journals") / "points.jsonl"
    path.write_bytes(data.draw(scribbled(JOURNAL)).encode("utf-8", "replace"))

    def resume():
        with open_journal(path, {"schema": "s/1", "a": [1, 2]}) as journal:
            return journal.records()

    read(resume)


@pytest.mark.parametrize("quantity", list(Quantity))
@cases(20)
@given(st.one_of(odd, st.text(max_size=20), st.from_regex(r"[-+]?[0-9.,]{1,9} ?[a-zA-Zµ%/]{0,6}", fullmatch=True)))
def test_a_text_is_a_quantity_or_refused(quantity, value):
    number = read(read_quantity, value, quantity, "key")
    assert number is None or abs(number) < 1e300


def _quick(document):
    """The document at one frequency, to a wide tolerance and without axisymmetric views."""
    analysis = document.get("analysis")
    own = analysis if isinstance(analysis, dict) else {}
    quick = {"frequencies": ["100 MHz"], "report_frequency": "100 MHz", "tolerance": "1 %", "axisymmetric_view": False}
    return {**document, "analysis": {**own, **quick}}


@cases(4)
@given(st.data())
def test_an_accepted_mutant_solves_to_sound_numbers_or_is_refused(data):
    document = SCENARIOS[data.draw(st.sampled_from(["orchard-pump", "gallery-slot", "pond-aerator"]))]
    scenario = read(parse_scenario, toml(_quick(data.draw(mutants(document)))))
    if scenario is None:
        return
    result = read(solve_variant, scenario.variants[0], scenario.analysis, Needs())
    if result is not None:
        segment = result.segments[0]
        assert (segment.inductance[:, 0, 0] > 0).all()
        assert (segment.resistance[:, 0, 0] > 0).all()
        for bracket in (segment.dc_bracket, segment.perfect_bracket):
            assert (bracket.lower.diagonal() <= bracket.upper.diagonal()).all()


@cases(3)
@given(st.data())
def test_an_accepted_mutant_of_a_plan_solves_to_sound_numbers_or_is_refused(data):
    task = read(parse_plan, toml(data.draw(mutants(tomllib.loads(PLAN)))))
    reading = None if task is None else read(solve_written, task)
    if reading is not None:
        assert (reading.reported.inductance.diagonal() > 0).all()
