"""Facts about the page, the terminal table and the wording of numbers."""

from __future__ import annotations

import base64
import dataclasses
import io
import re
from datetime import date
from html.parser import HTMLParser

import pytest
from rich.console import Console

from solver.errors import NumberedWarning
from solver.notation import numbers
from solver.report.file_names import file_names
from solver.report.first_page import CAUTIONS, few_rows, revision_of
from solver.report.html import css_string, numbered_warnings, render_hand_out, render_report
from solver.report.loop_part import brief_analysis_table
from solver.report.tables import Cell, Column, Table, fitted, terminal_table
from solver.study.results import StudyResult
from solver.study.study import conclude
from solver.variant.loop_figures import LOOP


class Page(HTMLParser):
    """Tags and visible words of a page, in order."""

    VOID = frozenset({"meta", "img", "br"})
    HIDDEN = frozenset({"style", "script", "title"})

    def __init__(self, content: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.words: list[str] = []
        self.feed(content)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes.extend((tag, name, value or "") for name, value in attrs)
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip() and not self.HIDDEN & set(self.open):
            self.words.append(" ".join(data.split()))


@pytest.fixture(scope="module")
def content(study: StudyResult) -> str:
    return render_report(study)


@pytest.fixture(scope="module")
def page(content: str) -> Page:
    return Page(content)


def test_page_begins_with_question_and_decision(study: StudyResult, page: Page) -> None:
    assert page.words[1:3] == [study.scenario.title, study.decision]


def test_first_page_has_at_most_250_words_and_one_picture(study: StudyResult) -> None:
    hand_out = Page(render_hand_out(study))
    assert len(" ".join(hand_out.words).split()) <= 250
    assert sum((tag, name) == ("img", "alt") for tag, name, _ in hand_out.attributes) == 1


def test_first_page_shows_date_revision_assumptions_and_cautions(study: StudyResult) -> None:
    words = " ".join(Page(render_hand_out(study)).words)
    assert f"{date.today().isoformat()} · inputs 05e7d0ba" in words
    assert "section × length, ends not included" in words
    assert all(each in words for each in CAUTIONS)


def test_revision_changes_with_the_inputs(study: StudyResult) -> None:
    other = dataclasses.replace(study.scenario, text=study.scenario.text + "# a remark\n")
    assert revision_of(other) != revision_of(study.scenario)


def test_first_page_keeps_seven_rows_with_choice_and_reference() -> None:
    rows = tuple((Cell(text=str(number)),) for number in range(12))
    table = few_rows(Table(title="", columns=(Column(name="variant"),), rows=rows), ("9", "11"))
    assert [row[0].text for row in table.rows] == ["0", "1", "2", "3", "4", "9", "11"]
    assert table.title == "7 of 12"


def test_ways_lead_from_the_top_to_numbered_sections(page: Page) -> None:
    start = page.words.index("1 What to buy")
    assert start < page.words.index("2 What to draw") < page.words.index("3 What to measure")
    assert page.words[page.words.index("2 What to draw", start + 8) + 1].startswith("2.1 ")


def test_title_in_a_style_sheet_closes_nothing() -> None:
    assert "<" not in css_string("</style><script>")


def test_every_tag_of_the_page_is_closed(page: Page) -> None:
    assert page.open == []


def test_page_needs_no_network(content: str, page: Page) -> None:
    addresses = [value for _, name, value in page.attributes if name in {"src", "href", "action", "srcset"}]
    assert addresses
    assert [each for each in addresses if not each.startswith(("data:image/svg+xml;base64,", "#"))] == []
    assert re.findall(r"@import|url\(|https?://|<link|<iframe", content) == []


def test_pictures_need_no_network_either(page: Page) -> None:
    pictures = [value.split(",", 1)[1] for tag, name, value in page.attributes if (tag, name) == ("img", "src")]
    assert len(pictures) == 8
    for picture in pictures:
        drawn = base64.b64decode(picture).decode("utf-8")
        assert re.findall(r'(?:href|src)="(?!#|data:)[^"]*"', drawn) == []
        assert "<script" not in drawn


def test_links_within_the_page_lead_somewhere(page: Page) -> None:
    targets = {value for _, name, value in page.attributes if name == "id"}
    assert {value[1:] for _, name, value in page.attributes if name == "href"} <= targets


def test_every_picture_has_a_description(page: Page) -> None:
    assert all(value for tag, name, value in page.attributes if (tag, name) == ("img", "alt"))
    assert sum((tag, name) == ("img", "alt") for tag, name, _ in page.attributes) == 8


def test_hostile_names_appear_as_they_are_and_run_nothing(content: str, page: Page, hostile_name: str) -> None:
    assert "<script>alert" not in content
    assert hostile_name in page.words
    assert content.count("<script>") == 1


def test_scenario_text_is_escaped(content: str) -> None:
    assert "title = &#34;Which board &lt;b&gt;?&#34;" in content


def test_table_carries_value_error_and_unit(page: Page) -> None:
    start = page.words.index("L", page.words.index("1.1 Comparison at 100 MHz"))
    assert page.words[start : start + 6] == ["L", "nH", "ΔL", "nH", "ΔL", "%"]
    row = page.words[page.words.index("no ground", start) + 1 :][:6]
    assert row == ["4.650 ± 0.002", "0.000", "0.0", "18.40 ± 0.06", "0.00", "0.0"]


def test_table_can_be_sorted_by_the_full_value(content: str, study: StudyResult) -> None:
    assert f'data-value="{study.reading(study.results[1].variant.name, "loop_inductance").value / 1e-9}"' in content


def test_variant_shows_key_numbers_with_units(page: Page) -> None:
    for words in (
        "4.650 ± 0.002 nH",
        "0.5813 nH/mm × 8 mm = 4.650 nH",
        "18.40 ± 0.06 mΩ",
        "11.6 A/m per A",
        "2.00 nH/m",
    ):
        assert words in page.words


def test_variant_shows_current_shares_and_worth_of_layers(page: Page) -> None:
    assert "−22.0" in page.words
    assert "−3.543 nH, −76.4 %" in page.words


def test_page_says_what_is_left_out_and_who_decides(content: str) -> None:
    flat = " ".join(content.split())
    for words in (
        "Section × length, ends not included",
        "Quasi-static",
        "estimate for design. It is not a compliance test",
        "accredited laboratory and the local rules",
        "input capacitors can hold dangerous voltage",
    ):
        assert words in flat


def test_cautions_come_with_number_and_variant(page: Page, hostile_name: str) -> None:
    start = page.words.index("Warnings")
    said = page.words[start : page.words.index("Safety", start)]
    assert "W-2D-ENDS" in said
    assert f"({hostile_name})" in said


def test_same_caution_of_two_variants_is_given_once(study: StudyResult) -> None:
    same = (NumberedWarning(code="W-QUASI-STATIC", text="too long"),)
    results = tuple(dataclasses.replace(result, warnings=same) for result in study.results)
    found = [each for each in numbered_warnings(dataclasses.replace(study, results=results)) if each.variants]
    assert [(each.code, len(each.variants)) for each in found] == [("W-QUASI-STATIC", 2)]


def test_versions_are_given(page: Page) -> None:
    assert any("copperfield 0.0.test" in words for words in page.words)


def test_complete_study_does_not_call_itself_incomplete(content: str) -> None:
    assert "Incomplete" not in content


def test_interrupted_study_says_so_right_after_the_decision(interrupted_study: StudyResult, hostile_name: str) -> None:
    words = Page(render_report(interrupted_study)).words
    assert words[2] == interrupted_study.decision
    assert words[3].startswith("Incomplete: 1 of 2 variants")
    assert hostile_name in words[3]


def test_study_without_lines_and_ground_layers_still_makes_a_page(study: StudyResult) -> None:
    bare = tuple(dataclasses.replace(result, lines=(), benefit=()) for result in study.results)
    page = Page(render_report(dataclasses.replace(study, results=bare)))
    targets = {value for _, name, value in page.attributes if name == "id"}
    assert {value[1:] for _, name, value in page.attributes if name == "href"} <= targets
    assert "benefit" not in targets


def test_page_is_printable_and_follows_a_dark_screen(content: str) -> None:
    assert "@media print" in content
    assert "@media screen and (prefers-color-scheme: dark)" in content


def test_page_of_two_variants_is_small(content: str) -> None:
    assert len(content.encode("utf-8")) < 1_000_000


def terminal(study: StudyResult, width: int) -> str:
    console = Console(width=width, record=True, file=io.StringIO())
    for piece in fitted(brief_analysis_table(study, LOOP), width):
        console.print(terminal_table(piece))
    return console.export_text()


def test_terminal_table_has_units_and_all_variants(study: StudyResult) -> None:
    said = terminal(study, 140)
    for words in ("[nH]", "[mΩ]", "[Δ dB]", "no ground", "over <script>", "1.097 ± 0.001", "−76.4", "section × length"):
        assert words in said


def test_terminal_table_keeps_the_names_on_eighty_columns(study: StudyResult) -> None:
    assert "no ground" in terminal(study, 80)


def test_terminal_table_takes_brackets_in_names_literally(study: StudyResult) -> None:
    variant = dataclasses.replace(study.results[1].variant, name="[red]four[/red]")
    results = (study.results[0], dataclasses.replace(study.results[1], variant=variant))
    said = terminal(dataclasses.replace(study, results=results), 140)
    assert "[red]four[/red]" in said


@pytest.mark.parametrize(
    ("value", "error", "shown", "margin"),
    [
        (4.6514e-9, 1.9e-12, "4.651", "0.002"),
        (46.51e-9, 0.3e-9, "46.5", "0.3"),
        (465.1e-9, 3e-9, "465", "3"),
        (4.6514e-9, 0.0125e-9, "4.651", "0.013"),
        (46.51e-9, 0.125e-9, "46.51", "0.13"),
        (1.0969858e-9, 1e-16, "1.097", "0.001"),
        (0.03021e-9, 1e-16, "0.0302", "0.0001"),
    ],
)
def test_digits_of_an_inductance_follow_its_error(value: float, error: float, shown: str, margin: str) -> None:
    assert numbers.nanohenry(value, error) == shown
    assert numbers.nanohenry_error(value, error) == margin


def test_error_is_never_rounded_to_zero() -> None:
    assert float(numbers.nanohenry_error(1e-9, 1e-20)) > 0


def test_zero_has_no_sign() -> None:
    assert numbers.decibel(-0.01) == "0.0"
    assert numbers.percent(-0.0) == "0.0"


def test_small_share_is_not_called_zero() -> None:
    assert numbers.share(2e-5) == "< 0.1"
    assert numbers.share(0.0) == "0.0"


def test_file_names_are_safe_and_all_different() -> None:
    names = ["A b", "a-b", "../../etc/passwd", "äöü", "日本", "a-b-2", ""]
    slugs = file_names(names)
    assert len(set(slugs.values())) == len(names)
    assert all(re.fullmatch(r"[a-z0-9-]+", slug) for slug in slugs.values())


def test_reference_of_an_interrupted_study_is_the_row_without_change(study: StudyResult) -> None:
    partial = conclude(study.scenario, study.results[1:])
    assert partial.reference == study.results[1].variant.name
    assert partial.change(partial.reference, LOOP.figures[0]) == 0


def test_a_bracket_is_rounded_outwards_with_digits_enough():
    assert numbers.bracket((1.000123449e-9, 1.000123881e-9)) == "1.00012344 to 1.00012389"


def test_the_page_shows_the_bracket_and_the_way_to_it(study):
    page = render_report(study)
    assert "At DC and for perfect conductors: certified bounds" in page
    assert "5.51992 to 5.52008" in page
    assert "9000 unknowns: bounds apart by" in page


@pytest.mark.parametrize(("fraction", "shown"), [(1e-3, "0.1 %"), (7.8e-5, "0.008 %"), (1e-7, "0.00001 %")])
def test_a_gap_is_shown_in_percent_without_an_exponent(fraction, shown):
    assert numbers.gap(fraction) == shown
