"""What all drawings share: sheet, colours, panels measured in inches, labels that keep apart, saving."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any, ParamSpec, TypeVar

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

from solver.errors import ReportError

P = ParamSpec("P")
R = TypeVar("R")

INK = "#1f2933"
"""Lines and text."""

FAINT = "#8a949e"
"""Leaders, extension lines, grids."""

COPPER = "#b87343"
"""Copper where no current density is drawn, and bars."""

SHEET_WIDTH = 9.6
"""Width of every drawing [in]."""

SMALL, NORMAL, LARGE = 8.4, 9.0, 11.5
"""Sizes of type [pt]; the smallest is 11 pixels of a page that shows the sheet as wide as it is."""

POINTS_PER_INCH = 72.0

_RASTER_DPI = 200
_CHARACTER_WIDTH = 0.56
_BOLD_WIDTH = 0.66
"""Of an average bold letter over its size."""

_HEADLINE_LENGTH = 96
_SETTINGS: Any = {  # matplotlib types the keys as literals, which differ from release to release
    "font.family": ["DejaVu Sans"],
    "font.size": NORMAL,
    "text.color": INK,
    "text.parse_math": False,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.7,
    "axes.labelsize": NORMAL,
    "axes.titlesize": NORMAL,
    "axes.titlelocation": "left",
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "legend.fontsize": SMALL,
    "legend.frameon": False,
    "figure.facecolor": "white",
    "hatch.linewidth": 0.5,
    "svg.fonttype": "none",
    "svg.hashsalt": "copperfield",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LineLook:
    """How one variant's line looks: colour, dashes and marker differ, so that grey tells them apart too."""

    colour: str
    dashes: Any
    marker: str


# Eight colours that colour-blind readers tell apart: M. Okabe, K. Ito, "Color Universal Design", 2008 (values
# from memory), with grey in place of their yellow, which does not show on paper.
_COLOURS = ("#000000", "#d55e00", "#0072b2", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#6b7280")
_DASHES = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (7, 2, 1.5, 2)), (0, (1, 1.2)))
_MARKERS = ("o", "s", "^", "D", "v", "P", "X")


def line_look(index: int) -> LineLook:
    """Look of the line of the variant with this index; colour, dashes and marker have different periods."""
    return LineLook(
        colour=_COLOURS[index % len(_COLOURS)],
        dashes=_DASHES[index % len(_DASHES)],
        marker=_MARKERS[index % len(_MARKERS)],
    )


def styled(draw: Callable[P, R]) -> Callable[P, R]:
    """Run a drawing function with the sheet's settings, leaving those of the caller as they were."""

    @wraps(draw)
    def drawn(*args: P.args, **kwargs: P.kwargs) -> R:
        with matplotlib.rc_context(_SETTINGS):
            return draw(*args, **kwargs)

    return drawn


def new_sheet(height: float, title: str, subtitle: str = "", *, width: float = SHEET_WIDTH) -> Figure:
    """An empty sheet [in] with a headline at its upper left and a smaller line under it."""
    figure = Figure(figsize=(width, height))
    FigureCanvasAgg(figure)
    longest = min(_HEADLINE_LENGTH, int((width - 0.2) * POINTS_PER_INCH / (_BOLD_WIDTH * LARGE)))
    figure.text(0.1 / width, 1 - 0.08 / height, shortened(title, longest), size=LARGE, weight="bold", va="top")
    figure.text(0.1 / width, 1 - 0.33 / height, subtitle, size=SMALL, va="top")
    return figure


def shortened(text: str, longest: int = _HEADLINE_LENGTH) -> str:
    """The text on one line, cut off with an ellipsis where it is too long."""
    line = " ".join(text.split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


def add_panel(figure: Figure, left: float, top: float, width: float, height: float) -> Axes:
    """Axes at a distance from the sheet's left and upper edge; all lengths in inches."""
    sheet_width, sheet_height = figure.get_size_inches()
    box = (left / sheet_width, 1 - (top + height) / sheet_height, width / sheet_width, height / sheet_height)
    return figure.add_axes(box)


def leader_label(
    axes: Axes, words: str, start: tuple[float, float], place: tuple[float, float], *, indent: float = 3
) -> None:
    """A label beside the axes, `indent` [pt] from a thin line to what it names; x in fractions, y in data."""
    mixed = axes.get_yaxis_transform()
    outward = 1 if place[0] > start[0] else -1
    axes.plot([start[0], place[0]], [start[1], place[1]], color=FAINT, lw=0.6, transform=mixed, clip_on=False)
    axes.annotate(
        words,
        place,
        (indent * outward, 0),
        xycoords=mixed,
        textcoords="offset points",
        size=SMALL,
        ha="left" if outward > 0 else "right",
        va="center",
        annotation_clip=False,
    )


def open_frame(axes: Axes, *, keep: tuple[str, ...] = ("left", "bottom")) -> None:
    """Leave only some sides of the frame."""
    for side, spine in axes.spines.items():
        spine.set_visible(side in keep)


def text_width(text: str, size: float) -> float:
    """Estimated width of a line of text [in]."""
    return _CHARACTER_WIDTH * size / POINTS_PER_INCH * len(text)


def keep_apart(wanted: NDArray[np.float64], spacing: float, low: float, high: float) -> NDArray[np.float64]:
    """Positions nearest to the wanted ones (least squares) that keep `spacing` and stay between two limits.

    Parameters
    ----------
    wanted : (n,) array
        Where the labels would like to be, in any order.
    spacing : float
        Least distance of neighbours.
    low, high : float
        Limits; if the labels do not fit, they start at `low` and pass `high`.

    Returns
    -------
    (n,) array

    Examples
    --------
    >>> keep_apart(np.array([1.0, 1.0, 5.0]), 1.0, 0.0, 9.0).tolist()
    [0.5, 1.5, 5.0]
    """
    order = np.argsort(wanted, kind="stable")
    steps = spacing * np.arange(len(wanted))
    level = isotonic_regression(wanted[order] - steps).x
    placed = np.empty(len(wanted))
    placed[order] = np.clip(level, low, max(low, high - steps[-1])) + steps
    return placed


def name_rows(axes: Axes, names: Sequence[str], longest: int) -> None:
    """One row per name from the top, without frame."""
    axes.set_yticks(np.arange(len(names)), [shortened(name, longest) for name in names])
    axes.set_ylim(len(names) - 0.5, -0.5)
    axes.tick_params(axis="y", length=0, labelsize=SMALL)
    open_frame(axes)


def plain_number(value: float, _position: object = None) -> str:
    """A number on an axis, with a typographic minus."""
    return f"{value:g}".replace("-", "−")


def nice_step(rough: float) -> float:
    """The largest of 1, 2, 5 times a power of ten that is not above `rough`.

    Examples
    --------
    >>> nice_step(0.7), nice_step(23.0)
    (0.5, 20.0)
    """
    power = 10.0 ** math.floor(math.log10(rough))
    return max(step for step in (1.0, 2.0, 5.0) if step * power <= rough * (1 + 1e-9)) * power


@styled
def save_figure(figure: Figure, path: Path) -> None:
    """Save a figure as PNG or SVG, by the suffix of `path`.

    Raises
    ------
    ReportError
        If the suffix is neither ``.png`` nor ``.svg``, or the file cannot be written.
    """
    kind = path.suffix.lower().removeprefix(".")
    if kind not in {"png", "svg"}:
        raise ReportError(f"cannot save a figure as {path.name!r}; name it .png or .svg")
    try:
        figure.savefig(path, format=kind, dpi=_RASTER_DPI, metadata=_NO_METADATA if kind == "svg" else None)
    except OSError as failure:
        raise ReportError(
            f"cannot write the figure {path}: {failure.strerror or failure}; choose a folder that exists and "
            "may be written to"
        ) from failure


@styled
def figure_svg(figure: Figure) -> str:
    """The figure as the text of an SVG file."""
    buffer = io.StringIO()
    figure.savefig(buffer, format="svg", dpi=_RASTER_DPI, metadata=_NO_METADATA)
    return buffer.getvalue()


@styled
def figure_png(figure: Figure) -> bytes:
    """The figure as the content of a PNG file."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format="png", dpi=_RASTER_DPI)
    return buffer.getvalue()


_NO_METADATA = dict.fromkeys(("Creator", "Date", "Format", "Type"))
