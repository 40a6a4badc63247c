"""What each fabrication file is for: by its own attribute, by the job file, or by the ending of its name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import PurePath

from geometries.fabrication.attributes import Fields
from geometries.fabrication.drill import DrillFile, holes_of_gerber, read_excellon
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.gerber import GerberFile
from geometries.fabrication.gerber_reading import read_gerber
from geometries.fabrication.job import JobFile, read_job
from geometries.fabrication.netlist import TestPoint, is_netlist, read_netlist
from geometries.fabrication.sources import SourceFile

_OWN_FUNCTION = re.compile(r"TF\.FileFunction,([^*%\n]+)")
_GERBER = re.compile(r"%FS[LT]?A?I?X|%MO(MM|IN)\*%|%ADD\d+|%TF\.|G04 ")
_ENDINGS = {
    ".gtl": "Copper,L1,Top", ".cmp": "Copper,L1,Top", ".gbl": "Copper,L{last},Bot", ".sol": "Copper,L{last},Bot",
    ".gko": "Profile,NP", ".gm1": "Profile,NP", ".gml": "Profile,NP", ".oln": "Profile,NP",
}  # fmt: skip
_INNER = re.compile(r"\.(?:gl?|in|gp)(\d+)$")
"""Endings that board editors commonly give to layers (common practice); inner copper counts from 1 or from 2."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFiles:
    """The files of a board, read and sorted by what they are for.

    Parameters
    ----------
    copper : tuple of (number, GerberFile)
        Copper layers from the top.
    profile : tuple of GerberFile
        The outline.
    drills : tuple of DrillFile
        Holes.
    job : JobFile or None
        Job file, if there is one.
    points : tuple of TestPoint
        Net names by coordinates, if there is such a file.
    remarks : tuple of str
        What was assumed or doubtful.
    """

    copper: tuple[tuple[int, GerberFile], ...]
    profile: tuple[GerberFile, ...]
    drills: tuple[DrillFile, ...]
    job: JobFile | None
    points: tuple[TestPoint, ...]
    remarks: tuple[str, ...]


def sort_files(place: str, sources: Sequence[SourceFile]) -> BoardFiles:
    """Read the files that matter; masks, paste and legend are left aside.

    Raises
    ------
    FabricationError
        If no copper is found, a layer is missing or given twice, or a file that matters cannot be read.
    """
    job = _only_job(sources)
    functions, guessed = _functions(sources, job)
    chosen = {name: words for name, words in functions.items() if words[0] in {"Copper", "Profile"} or _drills(words)}
    texts = {source.name: source.text for source in sources}
    gerbers = {name: read_gerber(name, texts[name]) for name in chosen if not _excellon(texts[name])}
    copper = _copper(place, {name: words for name, words in chosen.items() if words[0] == "Copper"}, gerbers, job)
    drills = [holes_of_gerber(gerbers[name]) for name, words in chosen.items() if _drills(words) and name in gerbers]
    drills += [read_excellon(source.name, source.text) for source in sources if _excellon(source.text)]
    _require_span(drills, len(copper))
    return BoardFiles(
        copper=copper,
        profile=tuple(gerbers[name] for name, words in chosen.items() if words[0] == "Profile"),
        drills=tuple(drills),
        job=job,
        points=tuple(point for one in sources if is_netlist(one.text) for point in read_netlist(one.name, one.text)),
        remarks=(*guessed, *_disagreements(copper, job), *_doubts([*gerbers.values(), *drills])),
    )


def _doubts(files: Sequence[GerberFile | DrillFile]) -> list[str]:
    return [f"{file.name}: {remark}" for file in files for remark in file.remarks]


def _excellon(text: str) -> bool:
    return text[:400].lstrip().startswith("M48") or "\nM48" in text[:400]


def _drills(function: Fields) -> bool:
    return function[0] in {"Plated", "NonPlated"}


def _only_job(sources: Sequence[SourceFile]) -> JobFile | None:
    found = [source for source in sources if source.name.lower().endswith(".gbrjob")]
    if len(found) > 1:
        names = " and ".join(source.name for source in found)
        raise FabricationError(f"{names} are two job files; give the files of one board")
    return read_job(found[0].name, found[0].text) if found else None


def _functions(sources: Sequence[SourceFile], job: JobFile | None) -> tuple[dict[str, Fields], list[str]]:
    """Function of every Gerber file by its name, and what was guessed."""
    functions: dict[str, Fields] = {}
    by_job = {PurePath(path.replace("\\", "/")).name: words for path, words in (job.functions if job else {}).items()}
    for source in sources:
        own = _OWN_FUNCTION.search(source.text[:20_000])
        if not _GERBER.search(source.text[:4_000]) or _excellon(source.text):
            continue
        if own:
            functions[source.name] = tuple(word.strip() for word in own[1].split(","))
        elif source.name in by_job:
            functions[source.name] = by_job[source.name]
    nameless = [one.name for one in sources if _GERBER.search(one.text[:4_000]) and one.name not in functions]
    endings = _by_ending([name for name in nameless if not _excellon(name)])
    return {**functions, **endings}, [
        f"{name} does not say what it is; by its name it was taken as {','.join(words)}"
        for name, words in endings.items()
    ]


def _by_ending(names: Sequence[str]) -> dict[str, Fields]:
    """Functions by the ending of the file's name."""
    found = {name: _ENDINGS[suffix] for name in names if (suffix := PurePath(name).suffix.lower()) in _ENDINGS}
    inner = sorted((int(match[1]), name) for name in names if (match := _INNER.search(name.lower())))
    copper = sum("Copper" in words for words in found.values()) + len(inner)
    found |= {name: f"Copper,L{place},Inr" for place, (_, name) in enumerate(inner, start=2)}
    return {name: tuple(words.format(last=copper).split(",")) for name, words in found.items()}


def _copper(
    place: str, functions: dict[str, Fields], files: dict[str, GerberFile], job: JobFile | None
) -> tuple[tuple[int, GerberFile], ...]:
    numbered = sorted((_layer_number(name, words), name) for name, words in functions.items())
    if not numbered:
        raise FabricationError(
            f"{place} holds no Gerber file of a copper layer; export the copper layers with attributes (X2), "
            "one file for each layer, and name their folder or zip archive"
        )
    for (number, name), (again, other) in pairwise(numbered):
        if number == again:
            raise FabricationError(f"{name} and {other} both are copper layer {number}; give the files of one board")
    _require_every_layer([number for number, _ in numbered], job)
    return tuple((number, files[name]) for number, name in numbered)


def _layer_number(name: str, function: Fields) -> int:
    if len(function) < 2 or not function[1][:1] == "L" or not function[1][1:].isdigit():
        raise FabricationError(f"{name}: file function {','.join(function)!r} names no layer; it is Copper,L1,Top …")
    return int(function[1][1:])


def _require_every_layer(numbers: Sequence[int], job: JobFile | None) -> None:
    expected = max(numbers[-1], job.copper_layers if job else 0)
    missing = sorted(set(range(1, expected + 1)) - set(numbers))
    if missing:
        listed = ", ".join(f"L{number}" for number in missing)
        raise FabricationError(f"copper layer {listed} of {expected} is missing; add its file")


def _require_span(drills: Sequence[DrillFile], copper_layers: int) -> None:
    for file in drills:
        spans = [hit.layers[1] for hit in file.hits if hit.layers[1]]
        if spans and max(spans) > copper_layers:
            raise FabricationError(
                f"{file.name} drills down to layer {max(spans)}, but there are files for {copper_layers} copper "
                "layers; add the missing ones"
            )


def _disagreements(copper: Sequence[tuple[int, GerberFile]], job: JobFile | None) -> list[str]:
    """Where the job file numbers the layers differently from the files themselves, which are believed."""
    said = [(number, file.name, job.functions.get(file.name, ()) if job else ()) for number, file in copper]
    wrong = [
        f"{name} is L{number}, not {words[1]}" for number, name, words in said if words and words[1] != f"L{number}"
    ]
    return (
        [f"the job file numbers the layers otherwise than the files, which are believed: {'; '.join(wrong)}"]
        if wrong
        else []
    )
