"""The board's construction: what its job file says, and what had to be assumed."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.board.stackup import CopperLayer, DielectricLayer, Stackup
from geometries.errors import GeometryError
from geometries.fabrication.errors import FabricationError
from geometries.fabrication.job import JobFile, JobLayer
from geometries.quantities import MM, UM

ASSUMED_THICKNESS = 1.6 * MM
"""Thickness of a board that does not say (common practice)."""
ASSUMED_COPPER = 35 * UM
"""Copper of a layer that does not say: one ounce (common practice)."""
ASSUMED_PREPREG = 0.2 * MM
"""Dielectric below an outer layer of a board that does not say (common practice)."""
ASSUMED_PERMITTIVITY = 4.3
"""Of glass fabric and epoxy (common practice)."""

_UNTOUCHED = ({0.1, 1.24, 0.48, 1.51}, "are a board editor's untouched default")
"""Dielectric thicknesses in mm that stand identically in unrelated projects (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardStack:
    """A construction and where it comes from.

    Parameters
    ----------
    stackup : Stackup
        Copper and dielectric layers; the copper is called L1, L2 … from the top.
    source : str
        Where it was read, or that it was assumed.
    assumptions : tuple of str
        What no file says, and what to doubt; to be confirmed by the user.
    """

    stackup: Stackup
    source: str
    assumptions: tuple[str, ...]

    def height(self, layer: int) -> float:
        """Height of the middle of a copper layer [m]; y = 0 is the underside of the top copper."""
        return sum(self.stackup.heights(f"L{layer}")) / 2

    def thickness(self, layer: int) -> float:
        """Thickness of a copper layer [m]."""
        lower, upper = self.stackup.heights(f"L{layer}")
        return upper - lower


def given_stack(stackup: Stackup, copper_layers: int) -> BoardStack:
    """A construction that the user names; its copper must be as many layers as the board has."""
    names = stackup.copper_names
    if len(names) != copper_layers:
        raise FabricationError(
            f"construction {stackup.name!r} has {len(names)} copper layers, but the files have {copper_layers}; "
            "name one that fits"
        )
    renamed = {name: f"L{number}" for number, name in enumerate(names, start=1)}
    layers = tuple(
        CopperLayer(name=renamed[layer.name], thickness=layer.thickness) if isinstance(layer, CopperLayer) else layer
        for layer in stackup.layers
    )
    named = Stackup(name=stackup.name, layers=layers, copper=stackup.copper, note=stackup.note)
    return BoardStack(stackup=named, source=f"construction {stackup.name!r}, as given", assumptions=())


def board_stack(job: JobFile | None, copper_layers: int) -> BoardStack:
    """The construction by the job file, or an assumed one if there is none.

    Raises
    ------
    FabricationError
        If the job file's construction has another number of copper layers than the files.
    """
    if job is None or not job.layers:
        return _assumed(copper_layers)
    inner = _between_copper(job)
    found = sum(layer.kind == "Copper" for layer in inner)
    if found != copper_layers:
        raise FabricationError(
            f"{job.name}: the construction has {found} copper layers, but there are files for {copper_layers}; "
            "give the files of one revision"
        )
    return _read(job, inner)


def _between_copper(job: JobFile) -> tuple[JobLayer, ...]:
    places = [place for place, layer in enumerate(job.layers) if layer.kind == "Copper"]
    return job.layers[places[0] : places[-1] + 1] if places else ()


def _read(job: JobFile, inner: tuple[JobLayer, ...]) -> BoardStack:
    assumptions: list[str] = []
    layers: list[CopperLayer | DielectricLayer] = []
    for place, layer in enumerate(inner):
        if layer.kind == "Copper":
            number = sum(isinstance(one, CopperLayer) for one in layers) + 1
            thickness = layer.thickness or _fall_back(assumptions, f"copper L{number}", ASSUMED_COPPER)
            layers.append(CopperLayer(name=f"L{number}", thickness=thickness))
        else:
            name = layer.name or f"dielectric {place}"
            thickness = layer.thickness or _fall_back(assumptions, name, ASSUMED_PREPREG)
            permittivity = layer.relative_permittivity or ASSUMED_PERMITTIVITY
            layers.append(DielectricLayer(name=name, thickness=thickness, relative_permittivity=permittivity))
    assumptions += _suspicions(layers)
    try:
        stackup = Stackup(name=job.name, layers=tuple(layers))
    except GeometryError as failure:
        raise FabricationError(f"{job.name}: {failure}") from failure
    return BoardStack(stackup=stackup, source=f"read from {job.name}", assumptions=tuple(assumptions))


def _fall_back(assumptions: list[str], name: str, thickness: float) -> float:
    assumptions.append(f"{name} has no thickness in the job file; {thickness / MM:g} mm is assumed")
    return thickness


def _suspicions(layers: list[CopperLayer | DielectricLayer]) -> list[str]:
    """Doubt about thicknesses that nobody seems to have chosen."""
    suspected, words = _UNTOUCHED
    thicknesses = {round(layer.thickness / MM, 4) for layer in layers if isinstance(layer, DielectricLayer)}
    if not thicknesses or not thicknesses <= suspected:
        return []
    listed = ", ".join(f"{value:g} mm" for value in sorted(thicknesses))
    return [f"the dielectric thicknesses {listed} {words}; confirm them with the board maker"]


def _assumed(copper_layers: int) -> BoardStack:
    """One ounce of copper, outer prepregs, and the rest of the usual thickness shared by what lies between."""
    gaps = copper_layers - 1
    rest = ASSUMED_THICKNESS - copper_layers * ASSUMED_COPPER
    outer = ASSUMED_PREPREG if gaps > 2 else rest / max(gaps, 1)
    between = (rest - 2 * outer) / (gaps - 2) if gaps > 2 else outer
    layers: list[CopperLayer | DielectricLayer] = []
    for number in range(1, copper_layers + 1):
        layers.append(CopperLayer(name=f"L{number}", thickness=ASSUMED_COPPER))
        if number < copper_layers:
            height = outer if number in {1, gaps} else between
            layers.append(_dielectric(number, height))
    listed = ", ".join(f"{layer.thickness / MM:.3g}" for layer in layers if isinstance(layer, DielectricLayer))
    words = f"no file says the construction; assumed: {ASSUMED_COPPER / UM:g} µm copper, dielectrics of {listed} mm"
    return BoardStack(
        stackup=Stackup(name="assumed", layers=tuple(layers)),
        source="assumed",
        assumptions=(f"{words}; give the real one, inductance depends on it",),
    )


def _dielectric(number: int, thickness: float) -> DielectricLayer:
    return DielectricLayer(
        name=f"L{number}/L{number + 1}", thickness=thickness, relative_permittivity=ASSUMED_PERMITTIVITY
    )
