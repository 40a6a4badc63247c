"""Write the gallery: one page in Markdown and one picture per study."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from solver.errors import ReportError, system_failures_reported
from solver.figures import save_figure
from solver.report.gallery_studies import STUDIES, GalleryStudy
from solver.study.results import StudyResult

PAGE = "gallery.md"
IMAGES = "images"

_HEAD = """\
# Gallery

This page and its pictures are written by the program: `make gallery`. Each study is a scenario file in
`geometries/scenarios/`; `copperfield compare geometries/scenarios/NAME.toml -o FOLDER` gives its full report. All
boards are invented. Inductances are section × length, without the ends of the loop; moments are those of the
axisymmetric view, a ring of the same area over a disc, against the same ring without a plane; what drives cables is
not in them.
What holds for these boards need not hold for another: copy a file and change it.
"""


def prepare_folder(folder: Path) -> None:
    """Make the folder of the page and that of its pictures, before a long computation.

    Raises
    ------
    ReportError
        If they cannot be made.
    """
    with system_failures_reported(f"cannot write the gallery into {folder}", "choose a folder that may be written to"):
        (folder / IMAGES).mkdir(parents=True, exist_ok=True)


def write_gallery(solved: Sequence[tuple[GalleryStudy, StudyResult]], folder: Path) -> Path:
    """Write page and pictures into a folder, the pictures under ``images``.

    Parameters
    ----------
    solved : sequence of (GalleryStudy, StudyResult)
        Studies with what was solved of them.
    folder : Path
        Where to; made if it is missing.

    Returns
    -------
    Path
        The page.

    Raises
    ------
    ReportError
        If a file cannot be written.
    """
    prepare_folder(folder)
    for study, result in solved:
        save_figure(study.draw(result), folder / IMAGES / f"{study.name}.png")
    page = folder / PAGE
    with system_failures_reported(f"cannot write the gallery into {folder}", "choose a folder that may be written to"):
        page.write_text(gallery_page(solved), encoding="utf-8")
    return page


def gallery_page(pairs: Sequence[tuple[GalleryStudy, StudyResult]]) -> str:
    """The page: rule, finding and verdict of every study."""
    return "\n".join([_HEAD, *(_chapter(study, result) for study, result in pairs)])


def _chapter(study: GalleryStudy, result: StudyResult) -> str:
    finding = study.find(result)
    return f"""\
## {result.scenario.title}

![{result.scenario.title}]({IMAGES}/{study.name}.png)

{finding.sentence}

The rule: “{study.rule}” ({study.source}). **{finding.verdict[:1].upper()}{finding.verdict[1:]}.**

Scenario: `geometries/scenarios/{study.name}.toml`
"""


def studies_named(names: Iterable[str]) -> tuple[GalleryStudy, ...]:
    """Studies of these names, all if there is none named.

    Raises
    ------
    ReportError
        If there is no study of a name.
    """
    known = {study.name: study for study in STUDIES}
    wanted = tuple(names)
    for name in wanted:
        if name not in known:
            raise ReportError(f"the gallery has no study {name!r}; its studies are {', '.join(known)}")
    return tuple(known[name] for name in wanted) or STUDIES
