"""One parcel on the drawing board: what stands on it, and the turf that is left."""

import numpy as np
from shapely.geometry import Point
from shapely.ops import unary_union

from shapes import CHORD_ERROR_M, disc, polygons, snapped, strip

LEAST_TURF_WIDTH_M = 1.2
LEAST_MEAN_WIDTH_M = 2.0  # thinner left-overs are mown, not watered
LEAST_TURF_AREA_M2 = 12.0
PATH_OVERRUN_M = 2.0


class Ground:
    """Collects obstacles; earlier kinds win over later ones: building, water, paving, bed."""

    def __init__(self, parcel, name, shape, soil, season=None):
        self.parcel, self.name, self.shape = parcel, name, shape
        self.soil, self.season = soil, season
        self.areas = []
        self.paths = []
        self.trees = []
        self.water_point = None

    def building(self, shape, use):
        self._area("building", shape, use)

    def water(self, shape, use):
        self._area("water", shape, use)

    def paving(self, shape, use):
        self._area("paving", shape, use)

    def bed(self, shape, use="shrubs"):
        self._area("bed", shape, use)

    def path(self, line, width_m, use="path"):
        """Stays a centre line with a width; runs a little past the parcel's edge into the road."""
        line = line.simplify(CHORD_ERROR_M).intersection(self.shape.buffer(PATH_OVERRUN_M))
        for part in getattr(line, "geoms", [line]):
            if part.length > 1.0:
                self.paths.append((snapped(part), width_m, use))

    def _area(self, kind, shape, use):
        clipped = shape.intersection(self.shape)
        taken = unary_union([s for k, s, _ in self.areas if _rank(k) < _rank(kind)])
        if kind == "bed":
            taken = unary_union([taken, self._path_ground()])
        for part in polygons(clipped.difference(taken)):
            if part.buffer(-0.3).is_empty:
                continue
            self.areas.append((kind, snapped(part.simplify(CHORD_ERROR_M / 2)), use))

    def _path_ground(self):
        return unary_union([strip(line, width) for line, width, _ in self.paths])

    def turf(self):
        """Turf polygons, largest first: the parcel less all that stands on it."""
        pits = [t["pit"] for t in self.trees if t["pit"] is not None]
        covered = unary_union([s for _, s, _ in self.areas] + [self._path_ground()] + pits)
        left = snapped(self.shape.difference(covered))
        pieces = [q for p in polygons(left) for q in polygons(_without_slivers(p))]
        pieces = [snapped(p) for p in pieces if p.area >= LEAST_TURF_AREA_M2 and _mean_width(p) >= LEAST_MEAN_WIDTH_M]
        return sorted((p for piece in pieces for p in polygons(piece)), key=lambda p: -p.area)

    def open_ground(self):
        """The parcel less everything but trees: where trees can be set."""
        covered = unary_union([s for _, s, _ in self.areas] + [self._path_ground()])
        return self.shape.difference(covered)

    def plant(self, spots, seed, root_m=(1.5, 4.0), clear_m=1.6, apart_m=6.5, pit_share=0.0):
        """Sets trees at those spots that are far enough from edges and from other trees."""
        rng = np.random.default_rng(seed)
        room = self.open_ground().buffer(-clear_m)
        for spot in spots:
            root = round(float(rng.uniform(*root_m)) * 4) / 4
            in_pit = bool(rng.random() < pit_share)
            pit_radius = round(float(rng.uniform(0.5, 0.8)), 2)
            if not room.contains(spot) or self._too_near(spot, apart_m):
                continue
            pit = snapped(disc(spot.x, spot.y, pit_radius)) if in_pit else None
            self.trees.append({"at": snapped(spot), "root": root, "pit": pit})

    def scatter(self, x, y, half_x, half_y, count, seed, **how):
        """A loose group of trees."""
        rng = np.random.default_rng(seed)
        spots = []
        while len(spots) < count:
            u, v = rng.uniform(-1, 1, 2)
            if u * u + v * v <= 1:
                spots.append(Point(x + half_x * u, y + half_y * v))
        self.plant(spots, seed + 1, **how)

    def _too_near(self, spot, apart_m):
        return any(t["at"].distance(spot) < apart_m for t in self.trees)


def _rank(kind):
    return ("building", "water", "paving", "bed").index(kind)


def _mean_width(piece):
    return 2 * piece.area / piece.exterior.length


def _without_slivers(piece):
    """Takes away tails narrower than the least width; all other borders stay as they are."""
    half = LEAST_TURF_WIDTH_M / 2
    core = piece.buffer(-half, join_style="mitre")
    opened = core.buffer(half * 1.02, join_style="mitre", mitre_limit=8.0)
    tails = [t for t in polygons(piece.difference(opened)) if t.area > 0.5]
    return piece.difference(unary_union(tails)) if tails else piece
