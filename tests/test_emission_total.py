"""Sums of sources, who leads, and three quantities that are never exchanged."""

import math

import numpy as np
import pytest

from solver.emission.quantities import HighestLine, LevelAt, Margin, highest_line, level_at
from solver.emission.total import (
    SourceLevels,
    add_sources,
    change_at,
    change_of_total,
    leader_at,
    leaders,
)

LINES = np.array([50e6, 100e6, 200e6, 400e6])


def source(name, *levels, band=6.0, own=0.0):
    return SourceLevels(name=name, levels=np.array(levels, dtype=float), shared=band, own=own)


def test_two_equal_sources_are_3_db_by_power_and_6_db_in_phase():
    total = add_sources(LINES, [source("loop", 10, 20, 30, 40), source("node", 10, 20, 30, 40)])
    assert total.levels - total.sources[0].levels == pytest.approx(10 * math.log10(2))
    assert total.ceiling - total.sources[0].levels == pytest.approx(20 * math.log10(2))


def test_one_source_is_its_own_sum_with_its_own_band():
    total = add_sources(LINES, [source("loop", 10, 20, 30, 40)])
    assert total.levels == pytest.approx([10, 20, 30, 40])
    assert total.bands == pytest.approx(6.0)


def test_a_source_that_is_nothing_changes_nothing():
    total = add_sources(LINES, [source("loop", 10, 20, 30, 40), source("node", *[-math.inf] * 4, band=99.0)])
    assert total.levels == pytest.approx([10, 20, 30, 40])
    assert total.bands == pytest.approx(6.0)


def test_nothing_at_all_is_minus_infinity():
    assert (add_sources(LINES, [source("loop", *[-math.inf] * 4)]).levels == -math.inf).all()


def test_the_band_of_a_sum_is_that_which_random_errors_of_its_sources_give():
    # 1 sigma each; 40 000 samples know the spread within 1 %; the linear estimate holds for small errors.
    levels, bands = np.array([30.0, 27.0, 20.0]), np.array([0.3, 0.5, 1.0])
    drawn = levels + bands * np.random.default_rng(7).standard_normal((40_000, 3))
    spread = (10 * np.log10((10 ** (drawn / 10)).sum(axis=1))).std()
    parts = [
        source(str(index), level, band=band) for index, (level, band) in enumerate(zip(levels, bands, strict=True))
    ]
    assert add_sources(LINES[:1], parts).bands[0] == pytest.approx(spread, rel=0.03)


def test_the_leader_changes_where_the_levels_cross():
    total = add_sources(LINES, [source("loop", 10, 20, 50, 60), source("cable", 40, 45, 30, 30, band=10.0)])
    found = [(each.name, each.start, each.stop, each.decided) for each in leaders(total)]
    assert found == [("cable", 50e6, 100e6, True), ("loop", 200e6, 400e6, True)]


def test_a_lead_within_both_bands_is_undecided():
    total = add_sources(LINES, [source("loop", 30, 30, 30, 50), source("cable", 40, 40, 40, 40, band=10.0)])
    assert [each.decided for each in leaders(total)] == [False, False]


def test_a_lead_is_decided_beyond_the_root_of_both_squares():
    for gap, decided in ((11.6, False), (11.7, True)):  # root of 36 + 100 is 11.66
        total = add_sources(LINES[:1], [source("loop", 30), source("cable", 30 + gap, band=10.0)])
        assert leader_at(total, 50e6).decided is decided


def test_a_change_of_one_source_brings_less_to_the_sum():
    before = add_sources(LINES[:1], [source("loop", 40), source("cable", 34)])
    after = add_sources(LINES[:1], [source("loop", 28), source("cable", 34)])
    changes = {each.name: each.change for each in change_of_total(before, after)}
    # 10^4 + 10^3.4 against 10^2.8 + 10^3.4: 6.0 dB by hand.
    assert changes == {"loop": pytest.approx(-12), "cable": 0.0, "sum": pytest.approx(-5.997, abs=0.01)}


def test_what_boards_share_drops_out_of_the_change_of_one_source():
    before, after = (add_sources(LINES[:1], [source("loop", level, own=own)]) for level, own in ((40, 1.0), (28, 2.0)))
    assert [each.band for each in change_of_total(before, after)] == pytest.approx([math.hypot(1, 2)] * 2)


def test_what_boards_share_stays_where_another_source_comes_to_the_fore():
    # All loop before, half cable after: half of the loop's 6 dB and half of the cable's 10 dB.
    before = add_sources(LINES[:1], [source("loop", 90), source("cable", 30, band=10.0)])
    after = add_sources(LINES[:1], [source("loop", 30), source("cable", 30, band=10.0)])
    assert change_of_total(before, after)[-1].band == pytest.approx(math.hypot(3, 5), rel=1e-5)


def test_the_band_of_a_change_is_that_which_random_errors_give():
    rng = np.random.default_rng(11)
    shared, own = rng.standard_normal((2, 20_000)) * [[0.4], [0.8]], rng.standard_normal((2, 2, 20_000)) * 0.3
    levels = {"before": (40.0, 34.0), "after": (30.0, 34.0)}
    sums = [
        10 * np.log10(sum(10 ** ((level + shared[i] + own[board, i]) / 10) for i, level in enumerate(levels[name])))
        for board, name in enumerate(levels)
    ]
    boards = [
        add_sources(LINES[:1], [source("loop", a, band=0.4, own=0.3), source("cable", b, band=0.8, own=0.3)])
        for a, b in levels.values()
    ]
    assert change_of_total(*boards)[-1].band == pytest.approx((sums[1] - sums[0]).std(), rel=0.03)


def test_a_line_that_moves_is_a_change_of_the_highest_line_only():
    before = add_sources(LINES, [source("loop", 10, 40, 10, 10)])
    after = add_sources(LINES, [source("loop", 10, 10, 35, 10)])
    assert change_of_total(before, after)[-1].change == pytest.approx(-5)
    assert change_at(before, after, 100e6) == pytest.approx(-30)


def test_a_source_that_one_board_lacks_is_in_the_sum_only():
    before = add_sources(LINES[:1], [source("loop", 40)])
    after = add_sources(LINES[:1], [source("loop", 40), source("cable", 40)])
    assert [each.name for each in change_of_total(before, after)] == ["loop", "sum"]


def test_levels_at_other_frequencies_are_refused():
    with pytest.raises(ValueError, match="loop has 3 levels at 4 frequencies"):
        add_sources(LINES, [source("loop", 1, 2, 3)])


def test_an_empty_sum_is_refused():
    with pytest.raises(ValueError, match="give one source or more"):
        add_sources(LINES, [])


def test_a_level_that_is_no_number_is_refused():
    with pytest.raises(ValueError, match="loop: a level is no number"):
        source("loop", math.nan)


def test_highest_line_names_its_frequency():
    assert highest_line(LINES, np.array([1.0, 5.0, 3.0, 2.0])) == HighestLine(level=5.0, frequency=100e6)


def test_level_between_two_lines_is_read_over_the_logarithm_of_frequency():
    assert level_at(LINES, np.array([0.0, 10.0, 20.0, 30.0]), math.sqrt(2) * 100e6).level == pytest.approx(15.0)


def test_a_level_outside_the_lines_is_refused():
    with pytest.raises(ValueError, match="outside the lines"):
        level_at(LINES, np.zeros(4), 1e9)


def test_levels_at_two_frequencies_are_no_difference():
    with pytest.raises(ValueError, match="state one frequency"):
        LevelAt(level=1.0, frequency=1e8).change_from(LevelAt(level=1.0, frequency=2e8))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (HighestLine(level=40.0, frequency=1e8), LevelAt(level=30.0, frequency=1e8)),
        (LevelAt(level=40.0, frequency=1e8), HighestLine(level=30.0, frequency=1e8)),
        (Margin(level=36.0, limit_level=40.0, frequency=1e8, limit="a"), HighestLine(level=30.0, frequency=1e8)),
    ],
)
def test_the_three_quantities_are_not_exchanged(one, other):
    with pytest.raises(TypeError, match=f"a {type(one).__name__} is compared with a {type(one).__name__}, not with"):
        one.change_from(other)


def test_a_step_of_the_limit_is_in_the_margin_and_not_in_the_highest_line():
    # The ring moves from 200 to 250 MHz at the same height; the limit steps from 40 to 47 dBµV/m at 230 MHz.
    before, after = HighestLine(level=42.0, frequency=200e6), HighestLine(level=42.0, frequency=250e6)
    margins = [
        Margin(level=42.0, limit_level=limit, frequency=f, limit="B") for limit, f in ((40.0, 200e6), (47.0, 250e6))
    ]
    assert (after.change_from(before), margins[1].change_from(margins[0])) == (0.0, 7.0)
