"""All parcels of the campus, drawn."""

import middle
import north
import south
from ground import Ground
from layout import PARCELS, parcel_shapes

# parcel: what draws it, soil texture, season of the grass
DRAWN_BY = {
    "quadrangle": (middle.quadrangle, "loam", "cool"),
    "court-garden": (middle.court_garden, "sandy loam", "cool"),
    "great-lawn": (middle.great_lawn, "loam", "cool"),
    "sports-meadow": (south.sports_meadow, "loamy sand", "cool"),
    "entrance-drive": (south.entrance_drive, "sand", "warm"),
    "pond-park": (south.pond_park, "clay loam", "cool"),
    "hillside": (north.hillside, "clay", None),
    "terraces": (north.terraces, "sandy loam", "warm"),
    "cottage-lawn": (north.cottage_lawn, "loam", None),
    "triangle-green": (north.triangle_green, None, None),
}


def draw_campus():
    """The list of drawn parcels, in the order of the layout."""
    shapes = parcel_shapes()
    grounds = []
    for parcel, name, _, _ in PARCELS:
        draw, soil, season = DRAWN_BY[parcel]
        ground = Ground(parcel, name, shapes[parcel], soil, season)
        draw(ground)
        grounds.append(ground)
    return grounds
