"""The land: its outline, the roads through it and the parcels between the roads.

Local metres: x to the east, y to the north.
"""

from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from shapes import CHORD_ERROR_M, box, polygons, rounded, smooth, snapped, strip

OUTLINE = Polygon([
    (6, 26), (96, 5), (214, -7), (287, 0), (393, -12), (477, 23), (487, 130), (500, 226),
    (479, 296), (383, 341), (287, 355), (174, 346), (61, 358), (-3, 287), (-16, 174),
])

SPINE_ROAD = smooth([(-60, 152), (-30, 148), (60, 137), (140, 133), (215, 141), (270, 149),
                     (340, 141), (420, 129), (480, 131), (540, 142)])
NORTH_ROAD = smooth([(-60, 250), (-30, 258), (60, 268), (140, 260), (215, 248), (290, 249),
                     (360, 260), (430, 249), (500, 232), (560, 225)])
WEST_LANE = smooth([(170, 135.5), (171, 160), (166, 200), (168, 235), (176, 254)])
EAST_LANE = smooth([(266, 149), (277, 161), (283, 185), (282, 215), (291, 249.5)])
HILL_LANE = smooth([(203, 250), (210, 264), (221, 290), (220, 325), (214, 370)])
FORK_LANE = smooth([(352, 260.5), (374, 268), (420, 288), (470, 299), (520, 306)])
GARDEN_LANE = smooth([(351, 260), (357, 280), (349, 312), (345, 360)])

ROADS = [
    (SPINE_ROAD, 7.0), (NORTH_ROAD, 6.5), (WEST_LANE, 5.5), (EAST_LANE, 5.5),
    (HILL_LANE, 5.0), (FORK_LANE, 5.5), (GARDEN_LANE, 4.5),
]

DRIVE = Polygon([(226, -60), (262, -60), (262, 148), (226, 143)])  # between two hedges

# id, name, a point inside, radius of the corners at the roads
PARCELS = [
    ("quadrangle", "Scholars' Quadrangle", (75, 200), 5.0),
    ("court-garden", "Court Garden", (225, 195), 5.0),
    ("great-lawn", "Great Lawn", (390, 190), 6.0),
    ("sports-meadow", "Lower Meadow", (110, 70), 5.0),
    ("entrance-drive", "South Drive", (244, 60), 2.0),
    ("pond-park", "Pond Park", (380, 60), 5.0),
    ("hillside", "Observatory Hill", (100, 310), 5.0),
    ("terraces", "Terrace Gardens", (285, 300), 4.0),
    ("cottage-lawn", "Warden's Cottage", (400, 310), 3.0),
    ("triangle-green", "Fork Green", (450, 270), 0.8),
]


def parcel_shapes():
    """Parcel id to polygon: the land cut by its roads and by the two hedges of the drive."""
    roads = unary_union([strip(line, width) for line, width in ROADS])
    land = OUTLINE.difference(roads)
    blocks = polygons(land.difference(DRIVE)) + polygons(land.intersection(DRIVE))
    shapes = {}
    for parcel, _, inside, radius in PARCELS:
        block = next(b for b in blocks if b.contains(Point(inside)))
        shapes[parcel] = snapped(_round_road_corners(block, radius).simplify(CHORD_ERROR_M))
    return shapes


def _round_road_corners(block, radius):
    """Corners are rounded at roads only; those of property lines and hedges stay as surveyed."""
    near_line = unary_union([OUTLINE.exterior, DRIVE.exterior]).buffer(0.5)
    cut_off = block.difference(rounded(block, radius))
    return block.difference(unary_union([c for c in polygons(cut_off) if not c.intersects(near_line)]))
