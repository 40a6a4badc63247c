"""Segments of a loop lie in order along it, replace what was there, and add up to its length."""

import pytest

from geometries.errors import ScenarioError
from geometries.files.reading import describe, parse_scenario
from geometries.section.section import MAIN_SEGMENT
from geometries.study.fingerprint import computed_from
from solver import figures
from solver.report.documents import described
from solver.report.terminal import print_scenario

TEXT = """
title = "crosses a slot"
stackup = "4L-7628"
loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "12 mm" }
planes.L2 = { tie = "none", width = "40 mm" }
[[variant]]
name = "crossing"
"""


def segment(name, length, start=""):
    begin = f'start = "{start}"\n' if start else ""
    return f'[[variant.segment]]\nname = "{name}"\nloop.length = "{length}"\nplanes.L2.tie = "absent"\n{begin}'


def crossing(*segments):
    return parse_scenario(TEXT + "".join(segments)).variants[0]


def stretches(*segments):
    return [
        (each.name, round(each.start * 1e3, 9), round(each.length * 1e3, 9)) for each in crossing(*segments).stretches
    ]


def test_a_loop_that_is_the_same_all_along_has_none():
    assert crossing().stretches == ()


def test_stretches_cover_the_loop_in_order_whatever_the_order_in_the_file():
    expected = [(MAIN_SEGMENT, 0, 2), ("a", 2, 3), (MAIN_SEGMENT, 5, 3), ("b", 8, 2), (MAIN_SEGMENT, 10, 2)]
    assert stretches(segment("a", "3 mm", "2 mm"), segment("b", "2 mm", "8 mm")) == expected
    assert stretches(segment("b", "2 mm", "8 mm"), segment("a", "3 mm", "2 mm")) == expected


def test_segments_without_a_start_follow_each_other_to_the_end_of_the_loop():
    assert stretches(segment("a", "3 mm"), segment("b", "2 mm")) == [(MAIN_SEGMENT, 0, 7), ("a", 7, 3), ("b", 10, 2)]


def test_a_segment_without_a_start_follows_the_one_before_it():
    found = stretches(segment("a", "3 mm", "0 mm"), segment("b", "2 mm"))
    assert found == [("a", 0, 3), ("b", 3, 2), (MAIN_SEGMENT, 5, 7)]


@pytest.mark.parametrize("starts", [("", ""), ("1 mm", "5 mm"), ("0 mm", "10 mm")])
def test_all_stretches_add_up_to_the_length_of_the_loop(starts):
    variant = crossing(*(segment(name, "2 mm", start) for name, start in zip("ab", starts, strict=True)))
    assert sum(each.length for each in variant.stretches) == pytest.approx(12e-3, rel=1e-12)
    assert variant.whole_length == pytest.approx(12e-3, rel=1e-12)
    assert variant.length == pytest.approx(8e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("segments", "reason"),
    [
        ([("a", "3 mm", "2 mm"), ("b", "2 mm", "4 mm")], "'a' from 2 to 5 mm and 'b' from 4 to 6 mm overlap"),
        ([("a", "3 mm", "10 mm")], "'a' from 10 to 13 mm reaches beyond the end of the loop, which is 12 mm long"),
        ([("a", "7 mm", ""), ("b", "6 mm", "")], r"12 mm long, and its segments take 7 \+ 6 = 13 mm of it"),
        ([("a", "7 mm", ""), ("b", "5 mm", "")], r"12 mm long, and its segments take 7 \+ 5 = 12 mm of it"),
        ([("a", "3 mm", "-1 mm")], "start is −1 mm; it cannot be negative"),
        ([("a", "3 mm", "1,5 mm")], "holds a comma"),
    ],
)
def test_segments_that_do_not_fit_are_refused_with_their_lengths(segments, reason):
    with pytest.raises(ScenarioError, match=reason):
        crossing(*(segment(*each) for each in segments))


def test_where_a_segment_lies_changes_no_number():
    here, there = (parse_scenario(TEXT + segment("a", "3 mm", start)) for start in ("1 mm", "5 mm"))
    assert computed_from(here) == computed_from(there)


def test_a_variant_has_no_start_of_its_own():
    with pytest.raises(ScenarioError, match="start"):
        describe(TEXT + 'start = "1 mm"\n')


def test_inspect_says_where_each_stretch_lies(capsys):
    print_scenario(parse_scenario(TEXT + segment("a", "3 mm", "2 mm")), ())
    shown = " ".join(capsys.readouterr().out.split())
    assert "crossing (4L-7628), 12 mm long" in shown
    assert (
        "from its capacitor end: 'main section' from 0 to 2 mm, 'a' from 2 to 5 mm, 'main section' from 5 to" in shown
    )


def test_the_document_holds_the_stretches():
    found = described(crossing(segment("a", "3 mm", "2 mm")))["stretches"]
    assert [(each["name"], each["start"]) for each in found] == [(MAIN_SEGMENT, 0.0), ("a", 2e-3), (MAIN_SEGMENT, 5e-3)]
    assert [len(each["regions"]) for each in found] == [3, 2, 3]


@pytest.mark.parametrize("draw", [figures.stretches_figure, None])
def test_every_stretch_is_drawn_with_its_name_and_length(draw):
    scenario = parse_scenario(TEXT + segment("a void", "3 mm", "2 mm"))
    drawn = figures.described_figure(scenario) if draw is None else draw(scenario.variants[0])
    words = [each.get_text() for axes in drawn.axes for each in axes.texts]
    assert {"a void\n3 mm", f"{MAIN_SEGMENT}\n2 mm", f"{MAIN_SEGMENT}\n7 mm", "x = 0"} <= set(words)
