"""Warnings of an emission prediction."""

import pytest

from geometries.files.reading import parse_scenario
from solver.emission.warnings import emission_warnings

HEAD = """
title = "emission"
stackup = "4L-7628"
[analysis]
frequencies = ["100 MHz", "300 MHz"]
[loop]
kind = "same-layer"
width = "1 mm"
gap = "0.5 mm"
length = "8 mm"
"""
SWITCHING = """
[switching]
input_voltage = "24 V"
edge_time = "2 ns"
output_capacitance = "300 pF"
switch_resistance = "0.5 ohm"
capacitor_resistance = "10 mohm"
"""
EMISSION = """
[emission]
current = "4 A"
frequency = "1.2 MHz"
rise_time = "2 ns"
limits = ["CISPR 32 class B"]
"""


def codes(text: str) -> set[str]:
    return {each.code for each in emission_warnings(parse_scenario(text))}


def test_without_the_table_nothing_is_said_of_emission() -> None:
    assert codes(HEAD) == set()


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (EMISSION, "W-EMISSION"),
        (EMISSION, "W-NO-CABLE"),
        (EMISSION + 'cable = { length = "1 m" }\n', "W-CABLE-BOUND"),
        (EMISSION, "W-NO-RING"),
        (EMISSION, "W-NO-BODY"),
        (EMISSION, "W-EXTRAPOLATED"),
        (EMISSION.replace("1.2 MHz", "100 kHz"), "W-RECEIVER"),
        (EMISSION + 'highest_frequency = "6 GHz"\n', "W-SMALL-LOOP"),
    ],
)
def test_what_is_left_out_is_said(text: str, code: str) -> None:
    assert code in codes(HEAD + text)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (EMISSION + 'cable = { length = "1 m" }\n', "W-NO-CABLE"),
        (SWITCHING + EMISSION, "W-NO-RING"),
        (EMISSION + 'upright_height = "0.3 mm"\nupright_length = "1.6 mm"\n', "W-NO-BODY"),
        (EMISSION + 'highest_frequency = "300 MHz"\n', "W-EXTRAPOLATED"),
        (EMISSION, "W-RECEIVER"),
        (EMISSION + 'highest_frequency = "300 MHz"\n', "W-SMALL-LOOP"),
    ],
)
def test_what_is_included_is_not_warned_of(text: str, code: str) -> None:
    assert code not in codes(HEAD + text)
