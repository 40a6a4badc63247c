"""Facts about the drawings: what they say, what they keep apart, and that they leave matplotlib as it was."""

from __future__ import annotations

import dataclasses
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from geometries.quantities import MM
from geometries.section.section import Role
from solver.errors import ReportError
from solver.figures import (
    Figure,
    benefit_figure,
    comparison_figure,
    field_scan_figure,
    figure_svg,
    frequency_figure,
    save_figure,
    section_figure,
    stack_figure,
    style,
)
from solver.figures.style import keep_apart, line_look
from solver.study.results import StudyResult
from solver.variant.results import VariantResult

WHOLE_STUDY = [comparison_figure, frequency_figure, field_scan_figure, benefit_figure]


def words(figure: Figure) -> str:
    """All text of a drawing, as its SVG holds it."""
    found = re.findall(r"<text[^>]*>([^<]*)</text>", figure_svg(figure))
    return "\n".join(found).replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")


def overlapping_texts(figure: Figure) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes share more than a pixel."""
    figure.canvas.draw()
    found = [text for axes in figure.axes for text in axes.texts] + figure.texts
    shown = [text for text in found if text.get_visible() and text.get_text().strip()]
    boxes = [(text.get_text(), text.get_window_extent()) for text in shown]
    pairs = []
    for number, (first, a) in enumerate(boxes):
        for second, b in boxes[number + 1 :]:
            width = min(a.x1, b.x1) - max(a.x0, b.x0)
            height = min(a.y1, b.y1) - max(a.y0, b.y0)
            if width > 1 and height > 1:
                pairs.append((first, second))
    return pairs


def texts_off_the_sheet(figure: Figure) -> list[str]:
    """Texts that reach over the edge of the sheet."""
    figure.canvas.draw()
    sheet = figure.bbox
    found = [text for axes in figure.axes for text in axes.texts] + figure.texts
    boxes = [(text.get_text(), text.get_window_extent()) for text in found if text.get_text()]
    return [label for label, box in boxes if box.x0 < 0 or box.x1 > sheet.x1 or box.y0 < 0 or box.y1 > sheet.y1]


def test_section_names_every_layer_with_thickness_and_permittivity(study: StudyResult) -> None:
    said = words(section_figure(study.results[1]))
    for label in ("prepreg, 0.2 mm, εr 4.4", "core, 1.1 mm, εr 4.25", "go, return: 35 µm", "L2: 17.5 µm"):
        assert label in said


def test_section_gives_widths_gap_and_height_to_the_plane(study: StudyResult) -> None:
    said = words(section_figure(study.results[1]))
    for label in ("go ⊙ 3 mm", "return ⊗ 3 mm", "\n1 mm\n", "height 0.2 mm"):
        assert label in said


def test_section_without_plane_gives_no_height(study: StudyResult) -> None:
    assert "height 0" not in words(section_figure(study.results[0]))


def test_section_marks_its_stretched_copper_by_the_factor_it_is_stretched_with(study: StudyResult) -> None:
    figure = section_figure(study.results[1])
    factor = float(re.search(r"height stretched × (\d+)", words(figure)).group(1))  # type: ignore[union-attr]

    def inches_per_millimetre(axes: Any, side: str) -> float:
        box = axes.get_position()
        if side == "height":
            return box.height * figure.get_figheight() / abs(np.ptp(axes.get_ylim()))
        return box.width * figure.get_figwidth() / abs(np.ptp(axes.get_xlim()))

    strips = [axes for axes in figure.axes if 0 < np.ptp(axes.get_ylim()) < 0.05]
    assert len(strips) == 2
    for axes in strips:
        stretch = inches_per_millimetre(axes, "height") / inches_per_millimetre(axes, "width")
        assert stretch == pytest.approx(factor, rel=1e-9)


def test_section_panels_without_stretch_are_to_scale(study: StudyResult) -> None:
    figure = section_figure(study.results[1])
    overview, close_up = figure.axes[:2]
    for axes in (overview, close_up):
        box = axes.get_position()
        across = box.width * figure.get_figwidth() / np.ptp(axes.get_xlim())
        upright = box.height * figure.get_figheight() / np.ptp(axes.get_ylim())
        assert upright == pytest.approx(across, rel=1e-9)
    assert np.ptp(overview.get_xlim()) > 40


def test_section_without_wide_copper_has_no_overview(study: StudyResult) -> None:
    assert "whole board" not in words(section_figure(study.results[0]))
    assert "whole board" in words(section_figure(study.results[1]))


def test_section_colour_bar_carries_the_unit(study: StudyResult) -> None:
    assert "A/mm² per ampere of loop current" in words(section_figure(study.results[0]))


def test_flux_lines_are_level_lines_of_the_potential(study: StudyResult) -> None:
    result = study.results[0]
    figure = section_figure(result)
    lines = [line for line in figure.axes[0].lines if line.get_color() == "#3f5f7f"]
    assert len(lines) >= 28
    field_map, source = result.field_map, 2.03
    coarse = [line for line in lines if len(line.get_xdata()) > 20]
    checked = 0
    for line in coarse:
        x, y = np.asarray(line.get_xdata()), np.asarray(line.get_ydata())
        far = np.hypot(np.abs(x) - source, y) > 1.5
        if far.sum() > 5:
            checked += 1
            level = np.log(np.hypot(x - source, y - 0.01) / np.hypot(x + source, y - 0.01))[far]
            assert np.ptp(level) < 0.03 * np.ptp(field_map.potential.real) / 2e-7
    assert checked >= 5


def test_name_with_dollar_signs_is_no_formula(study: StudyResult, hostile_name: str) -> None:
    assert hostile_name in words(section_figure(study.results[1]))


@pytest.mark.parametrize("index", [0, 1])
def test_section_texts_keep_apart_and_on_the_sheet(study: StudyResult, index: int) -> None:
    figure = section_figure(study.results[index])
    assert overlapping_texts(figure) == []
    assert texts_off_the_sheet(figure) == []


def test_dimension_of_a_narrow_gap_keeps_apart_from_its_neighbours(narrow_gap: VariantResult) -> None:
    figure = section_figure(narrow_gap)
    assert "50 µm" in words(figure)
    assert overlapping_texts(figure) == []


@pytest.mark.parametrize("draw", WHOLE_STUDY)
def test_chart_texts_keep_apart_and_on_the_sheet(study: StudyResult, draw: type) -> None:
    figure = draw(study)
    assert overlapping_texts(figure) == []
    assert texts_off_the_sheet(figure) == []


def test_stack_names_every_layer_and_keeps_its_texts_apart(study: StudyResult) -> None:
    figure = stack_figure(study.results[0].variant.stackups[0])
    said = words(figure)
    for label in ("4L-test", "prepreg", "0.2 mm, εr 4.4", "17.5 µm copper", "L3"):
        assert label in said
    assert overlapping_texts(figure) == []


def test_stack_is_to_scale(study: StudyResult) -> None:
    stackup = study.results[0].variant.stackups[0]
    heights = [patch.get_height() for patch in stack_figure(stackup).axes[0].patches]
    assert heights == pytest.approx([layer.thickness / MM for layer in stackup.layers], rel=1e-9)


def test_comparison_gives_value_and_change_of_every_variant(study: StudyResult) -> None:
    said = words(comparison_figure(study))
    for label in ("4.650 nH", "reference", "1.097 nH", "−3.553 nH, −76.4 %", "−12.5"):
        assert label in said


def test_comparison_bars_are_as_long_as_the_inductances(study: StudyResult) -> None:
    bars = comparison_figure(study).axes[0].patches
    assert [bar.get_width() for bar in bars] == pytest.approx([4.65, 1.097], rel=1e-9)


def test_frequency_marks_both_limits_at_the_sides(study: StudyResult) -> None:
    axes = frequency_figure(study).axes[0]
    single = [(line.get_xdata()[0], line.get_ydata()[0]) for line in axes.lines if len(line.get_xdata()) == 1]
    left = [y for x, y in single if x < 1e6 and x > 2]
    right = [y for x, y in single if x > 3e8]
    assert left == pytest.approx([6.9e-7 * 8e6, 6.9e-7 * 8e6], rel=1e-9)
    assert right == pytest.approx([0.96 * 4.65, 0.96 * 1.097], rel=1e-9)


def test_frequency_names_every_line(study: StudyResult) -> None:
    said = words(frequency_figure(study))
    assert said.count("no ground") == 2
    assert said.count("over <script>") == 2


def test_line_looks_of_thirty_variants_differ_without_colour() -> None:
    looks = [line_look(number) for number in range(30)]
    assert len({(look.dashes, look.marker) for look in looks}) == 30


def test_field_lines_have_one_panel_per_side_and_distance(study: StudyResult) -> None:
    titles = [axes.get_title(loc="left") for axes in field_scan_figure(study).axes]
    assert titles == [f"{d} mm {side} the board" for side in ("above", "below") for d in (3, 10)]


def test_field_lines_refuse_a_study_without_lines(study: StudyResult) -> None:
    bare = tuple(dataclasses.replace(result, lines=()) for result in study.results)
    with pytest.raises(ValueError, match="no scan line was computed"):
        field_scan_figure(dataclasses.replace(study, results=bare))


def test_worth_says_what_the_layer_brings(study: StudyResult) -> None:
    said = words(benefit_figure(study))
    assert "−3.543 nH, −76.4 %" in said
    assert "+ L2" in said


def test_worth_calls_a_useless_layer_useless(study: StudyResult) -> None:
    last = study.results[1]
    useless = dataclasses.replace(last.benefit[0], inductance_before=1.37e-7, inductance_after=1.36999e-7)
    results = (study.results[0], dataclasses.replace(last, benefit=(useless,)))
    assert "less than 0.1 %" in words(benefit_figure(dataclasses.replace(study, results=results)))


def test_worth_refuses_a_study_without_ground_layers(study: StudyResult) -> None:
    with pytest.raises(ValueError, match="no variant has a ground layer"):
        benefit_figure(dataclasses.replace(study, results=study.results[:1]))


def test_svg_is_the_same_when_drawn_twice(study: StudyResult) -> None:
    assert figure_svg(section_figure(study.results[0])) == figure_svg(section_figure(study.results[0]))


def test_drawing_leaves_the_settings_of_matplotlib_alone(study: StudyResult) -> None:
    before = dict(style.matplotlib.rcParams)
    figure_svg(section_figure(study.results[0]))
    assert dict(style.matplotlib.rcParams) == before


@pytest.mark.parametrize(("suffix", "start"), [(".png", b"\x89PNG"), (".svg", b"<?xml")])
def test_figure_is_saved_in_the_format_of_its_suffix(
    study: StudyResult, tmp_path: Path, suffix: str, start: bytes
) -> None:
    save_figure(comparison_figure(study), tmp_path / f"figure{suffix}")
    assert (tmp_path / f"figure{suffix}").read_bytes().startswith(start)


def test_figure_is_not_saved_in_another_format(study: StudyResult, tmp_path: Path) -> None:
    with pytest.raises(ReportError, match=r"name it \.png or \.svg"):
        save_figure(comparison_figure(study), tmp_path / "figure.gif")


def test_figure_that_cannot_be_written_names_file_and_cure(study: StudyResult, tmp_path: Path) -> None:
    with pytest.raises(ReportError, match=r"nowhere.*choose a folder that exists"):
        save_figure(comparison_figure(study), tmp_path / "nowhere" / "figure.png")


def test_labels_kept_apart_stay_in_order_and_inside() -> None:
    wanted = np.array([0.0, 0.1, 0.1, 3.0, 2.95])
    placed = keep_apart(wanted, 0.5, 0.25, 4.0)
    assert np.diff(np.sort(placed)).min() >= 0.5 - 1e-12
    assert placed[4] < placed[3]
    assert placed.min() >= 0.25
    assert placed.max() <= 4.0


def test_victim_is_dimensioned_by_its_role(study: StudyResult) -> None:
    result = study.results[0]
    section = result.variant.section
    regions = (section.regions[0], dataclasses.replace(section.regions[1], role=Role.VICTIM, group="sense"))
    loops = (dataclasses.replace(section.loops[0], return_group="sense"),)
    variant = dataclasses.replace(result.variant, section=dataclasses.replace(section, regions=regions, loops=loops))
    assert "victim 3 mm" in words(section_figure(dataclasses.replace(result, variant=variant)))
