"""The samples in docs/ run: Python as it stands, scenario and outline files as they are read."""

import re
from pathlib import Path

import pytest

from geometries.files.layout_reading import parse_plan

DOCS = Path(__file__).resolve().parent.parent / "docs"


def samples(page, language):
    return re.findall(rf"```{language}\n(.*?)```", (DOCS / page).read_text(encoding="utf-8"), flags=re.DOTALL)


def test_the_whole_loop_in_python_prints_its_four_terms(capsys):
    (program,) = samples("whole-loop.md", "python")
    exec(compile(program, "whole-loop.md", "exec"), {})
    printed = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in printed] == ["copper", "capacitor", "vias", "package"]
    assert all(re.search(r" \d\.\d{3} ± \d\.\d{3} nH: ", line) for line in printed)


def test_the_outline_file_is_read():
    (outline,) = samples("whole-loop.md", "toml")
    assert [sheet.name for sheet in parse_plan(outline).layout.sheets] == ["top"]


@pytest.mark.parametrize("page", sorted(each.name for each in DOCS.glob("*.md")))
def test_every_python_sample_imports_names_that_exist(page):
    for program in samples(page, "python"):
        exec("\n".join(re.findall(r"^(?:from|import) .*", program, flags=re.MULTILINE)), {})
