"""Copper area of every layer of two real boards against two other readers of Gerber files.

gerbv 2.9.6 (Debian package, GPL; it shares no code with this project or with the other reader): each layer exported as
a picture without antialiasing (``gerbv -x png -D 7620 -f '#ffffff' -b '#000000'``, six layers at 2540 dots per inch,
layer 3 of them at 5080), its white dots counted times the area of a dot. gerbonara 1.5.0 (PyPI, Apache-2.0): its
primitives as polygons, joined, their area; for the layer that gerbv cannot export. Areas in mm² as the programs gave
them.
"""

import pytest

from geometries.quantities import MM

RASTER = "gerbv 2.9.6"
POLYGONS = "gerbonara 1.5.0"

AREAS = [
    ("four-layers", 1, RASTER, 1454.2036),
    ("four-layers", 2, RASTER, 1484.5976),
    ("four-layers", 3, RASTER, 158.8072),
    ("four-layers", 4, RASTER, 1261.1247),
    ("four-layers", 1, POLYGONS, 1454.3424),
    ("four-layers", 2, POLYGONS, 1484.6315),
    ("four-layers", 3, POLYGONS, 158.8360),
    ("four-layers", 4, POLYGONS, 1261.3353),
    ("six-layers", 1, RASTER, 7028.2663),
    ("six-layers", 2, RASTER, 9710.7258),
    ("six-layers", 3, RASTER, 9197.8264),
    ("six-layers", 4, RASTER, 8740.8655),
    ("six-layers", 5, RASTER, 9929.6811),
    ("six-layers", 1, POLYGONS, 7026.8001),
    ("six-layers", 3, POLYGONS, 9194.9922),
    ("six-layers", 6, POLYGONS, 8666.9731),
]
ALLOWED = 1e-3
"""Dots of 3 to 10 µm on outlines; arcs as chords at most 1 µm inside."""


@pytest.mark.parametrize(("name", "layer", "reader", "area"), AREAS)
def test_copper_area(real_board, references, name, layer, reader, area):
    references.compare(
        found=real_board(name).layers[layer - 1].area / MM**2,
        reference=area,
        rtol=ALLOWED,
        source=f"{reader}, board {name}",
        item=f"copper of layer {layer}",
        unit="mm²",
        reason="dots or chords of a few micrometres along every outline",
        mark="computed independently",
    )
