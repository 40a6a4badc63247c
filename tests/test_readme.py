"""What the README shows is what happens."""

import re
from pathlib import Path

import pytest

README = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")


def test_the_python_example_prints_what_the_readme_says(capsys):
    (program,) = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)
    (printed,) = re.findall(r"```text\n(.*?)```", README, flags=re.DOTALL)
    exec(compile(program, "README.md", "exec"), {})
    assert capsys.readouterr().out == printed


def test_the_first_paragraph_is_the_job():
    assert README.split("\n\n")[1].startswith(
        "An applications engineer for switching converters must hand over a board"
    )


@pytest.mark.parametrize("link", re.findall(r"\]\(([^)h#][^)]*)\)", README))
def test_every_link_leads_somewhere(link):
    assert (Path(__file__).resolve().parent.parent / link).exists()
