"""Drill files and netlists: places, sizes, plating, and what they are refused for."""

import pytest

from geometries.fabrication.drill import holes_of_gerber, read_excellon
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber_reading import read_gerber
from geometries.fabrication.netlist import is_netlist, read_netlist
from geometries.quantities import MM


def drill(body: str, head: str = "METRIC"):
    return read_excellon("lamp.drl", f"M48\n{head}\nT1C0.3\n%\nT1\n{body}\nM30\n")


def test_a_hole_in_millimetres_has_its_place_and_size():
    hit = drill("X1.5Y-2.25").hits[0]
    assert (*hit.start, hit.diameter) == pytest.approx((1.5 * MM, -2.25 * MM, 0.3 * MM))


def test_a_hole_in_inches_is_converted():
    hit = drill("X1.0Y0.5", head="FMAT,2\nINCH").hits[0]
    assert (*hit.start, hit.diameter) == pytest.approx((25.4 * MM, 12.7 * MM, 0.3 * 25.4 * MM))


@pytest.mark.parametrize(("head", "digits"), [("METRIC,TZ", "X1500Y250"), ("METRIC,LZ", "X0015Y00025")])
def test_zeros_that_are_left_out_are_put_back(head, digits):
    assert drill(digits, head=head).hits[0].start == pytest.approx((1.5 * MM, 0.25 * MM))


def test_numbers_without_a_point_and_a_format_are_read_with_a_remark():
    assert "read as 3:3, leading zeros omitted" in drill("X1500Y250").remarks[0]


def test_a_canned_slot_has_two_ends():
    hit = drill("X1.0Y1.0G85X3.0Y1.0").hits[0]
    assert (hit.start, hit.end) == (pytest.approx((1 * MM, 1 * MM)), pytest.approx((3 * MM, 1 * MM)))


def test_a_routed_slot_has_two_ends():
    hits = drill("G00X1.0Y1.0\nM15\nG01X3.0Y1.0\nM16\nG05").hits
    assert [hit.end for hit in hits] == [pytest.approx((3 * MM, 1 * MM))]


def test_a_mixed_file_has_plated_and_unplated_tools():
    head = "; #@! TF.FileFunction,MixedPlating,1,4\nMETRIC"
    tools = (
        "; #@! TA.AperFunction,Plated,PTH,ViaDrill\nT1C0.3\n; #@! TA.AperFunction,NonPlated,NPTH,ComponentDrill\nT2C3"
    )
    read = read_excellon("lamp.drl", f"M48\n{head}\n{tools}\n%\nT1\nX1.0Y1.0\nT2\nX2.0Y2.0\nM30\n")
    assert [(hit.plated, hit.function) for hit in read.hits] == [(True, "ViaDrill"), (False, "ComponentDrill")]


def test_a_blind_hole_has_its_layers():
    assert drill("X1.0Y1.0", head="; #@! TF.FileFunction,Plated,1,2,Blind\nMETRIC").hits[0].layers == (1, 2)


def test_plating_by_a_type_comment_counts():
    assert not drill("X1.0Y1.0", head=";TYPE=NON_PLATED\nMETRIC").hits[0].plated


def test_plating_that_no_file_says_is_assumed_with_a_remark():
    read = drill("X1.0Y1.0")
    assert (read.hits[0].plated, "taken as plated" in read.remarks[0]) == (True, True)


def test_a_gerber_drill_file_has_holes_and_slots():
    text = (
        "%TF.FileFunction,Plated,1,2,PTH*%%FSLAX46Y46*%%MOMM*%%ADD10C,0.4*%D10*X1000000Y0D03*X0Y0D02*X2000000Y0D01*M02*"
    )
    holes = holes_of_gerber(read_gerber("lamp.gbr", text)).hits
    assert [(hit.start == hit.end, hit.plated, hit.layers) for hit in holes] == [
        (True, True, (1, 2)),
        (False, True, (1, 2)),
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("M48\nMETRIC\nT1C0.3\n%\nT1\nX1.0Y1.0\n", "breaks off"),
        ("M48\nMETRIC\nT1C0.3\n%\nT2\nX1.0Y1.0\nM30", "line 5: tool T2 is used, but was not defined"),
        ("M48\nT1C0.3\n%\nM30", "no unit was set"),
        ("M48\nMETRIC\nT1C0.3\n%\nM72\nM30", "changes its unit"),
        ("M48\nMETRIC\nT1C0.3\n%\nG91\nM30", "incremental"),
        ("M48\nMETRIC\nT1C0.3\n%\nX1.0Y1.0\nM30", "before a tool"),
        ("M48\nMETRIC\nT1C0.3\n%\nT1\nX1.0Y1.0\nR5X1.0\nM30", "repeated holes"),
    ],
)
def test_a_faulty_drill_file_is_refused_with_the_reason(text, message):
    with pytest.raises(FabricationError, match=message):
        read_excellon("lamp.drl", text)


NETLIST = """C  IPC-D-356 of a lamp
P  UNITS CUST 0
P  NNAME1  /a long name/of a net
327GND              C1    -2     PA01X+001000Y-002000X0394Y0354R000 S2
317NNAME1           VIA         D0118PA00X+010000Y+000000X0236Y0000R000S3
327N/C              U1    -7     PA01X+000000Y+000000X0394Y0354R000 S2
999
"""


def test_a_netlist_names_places_in_tenths_of_a_mil():
    point = read_netlist("lamp.ipc", NETLIST)[0]
    assert (point.net, point.reference, point.pin, point.layer) == ("GND", "C1", "2", 1)
    assert point.place == pytest.approx((2.54 * MM, -5.08 * MM))


def test_a_netlists_aliases_are_resolved():
    assert read_netlist("lamp.ipc", NETLIST)[1].net == "/a long name/of a net"


def test_a_netlists_unconnected_pins_are_left_out():
    assert len(read_netlist("lamp.ipc", NETLIST)) == 2


def test_a_netlist_is_told_from_other_text():
    assert (is_netlist(NETLIST), is_netlist("M48\nMETRIC\n")) == (True, False)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (NETLIST.replace("999\n", ""), "breaks off"),
        (NETLIST.replace("P  UNITS CUST 0\n", ""), "no unit"),
        (NETLIST.replace("X+001000Y-002000", "X       Y       "), "line 4: this record has no coordinates"),
    ],
)
def test_a_faulty_netlist_is_refused_with_the_reason(text, message):
    with pytest.raises(FabricationError, match=message):
        read_netlist("lamp.ipc", text)
