"""File names for the names of variants."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence

_LONGEST_SLUG = 60


ENDINGS = ("", "-potential", "-test")
"""What is put behind a variant's file name, before the suffix, for its further files."""


def file_names(names: Iterable[str], endings: Sequence[str] = ENDINGS) -> dict[str, str]:
    """File names for names: lower case, letters, digits and hyphens, all different, with every ending too.

    Examples
    --------
    >>> file_names(["4 layers, 7628", "4 Layers (7628)", "../x"])
    {'4 layers, 7628': '4-layers-7628', '4 Layers (7628)': '4-layers-7628-2', '../x': 'x'}
    >>> file_names(["a", "a potential"])
    {'a': 'a', 'a potential': 'a-potential-2'}
    """
    found: dict[str, str] = {}
    taken: set[str] = set()
    for name in names:
        plain = _slug(name)
        candidate, number = plain, 1
        while not taken.isdisjoint(candidate + ending for ending in endings):
            number += 1
            candidate = f"{plain}-{number}"
        found[name] = candidate
        taken.update(candidate + ending for ending in endings)
    return found


def _slug(name: str) -> str:
    ascii_only = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^a-z0-9]+", "-", ascii_only.lower()).strip("-")[:_LONGEST_SLUG].rstrip("-") or "variant"
