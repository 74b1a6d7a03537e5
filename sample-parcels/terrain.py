"""The invented relief: a hill, a valley, levelled grounds, terraces, a bank, a pond, fine noise."""

import numpy as np
import rasterio
import shapely
from rasterio.transform import from_origin

import north
from layout import OUTLINE, ROADS
from shapes import smooth

CELL_M = 0.5
MARGIN_M = 42.0
NODATA = -9999.0
KEEP_M = 1 / 512  # heights are kept to 2 mm, which lets the file compress


class Relief:
    """Heights on a regular grid over the campus and its surroundings."""

    def __init__(self):
        x0, y0, x1, y1 = (round(v) for v in OUTLINE.buffer(MARGIN_M + 4).bounds)
        self.left, self.top = x0, y1
        xs = np.arange(x0 + CELL_M / 2, x1, CELL_M)
        ys = np.arange(y1 - CELL_M / 2, y0, -CELL_M)
        self.x, self.y = np.meshgrid(xs, ys)
        self.z = np.zeros_like(self.x)

    def at(self, x, y):
        """Height of the cell a point lies in."""
        return float(self.z[int((self.top - y) / CELL_M), int((x - self.left) / CELL_M)])

    def distance_to(self, shape, reach_m):
        """Distance of each cell from a shape (0 inside), `reach_m` and more where it does not matter."""
        out = np.full(self.z.shape, reach_m + 1.0)
        x0, y0, x1, y1 = shape.bounds
        near = ((self.x > x0 - reach_m) & (self.x < x1 + reach_m)
                & (self.y > y0 - reach_m) & (self.y < y1 + reach_m))
        shapely.prepare(shape)
        out[near] = shapely.distance(shape, shapely.points(self.x[near], self.y[near]))
        return out

    def level(self, shape, blend_m, height_m=None, east=0.0, north_rise=0.0):
        """Lays a plane over a shape and eases it into the ground around within `blend_m`."""
        centre = shape.centroid
        if height_m is None:
            height_m = self.at(centre.x, centre.y)
        plane = height_m + east * (self.x - centre.x) + north_rise * (self.y - centre.y)
        share = ease(1 - self.distance_to(shape, blend_m) / blend_m)
        self.z += share * (plane - self.z)


def ease(t):
    """0 below 0, 1 above 1, smooth between."""
    t = np.clip(t, 0.0, 1.0)
    return t * t * (3 - 2 * t)


def rise(t):
    """The positive part of t, with its kink rounded over about 20 m."""
    return 10.0 * np.logaddexp(0.0, t / 10.0)


def build(grounds):
    """The relief under the drawn parcels."""
    relief = Relief()
    x, y = relief.x, relief.y
    drawn = {g.parcel: g for g in grounds}
    relief.z = 404.5 + 0.018 * y + 0.035 * rise(y - 235.0)
    relief.z += 9.0 * np.exp(-((x - 80) / 165) ** 2 - ((y - 390) / 95) ** 2)
    relief.z += 0.5 * np.sin(x / 47 + 0.6) * np.cos(y / 61) + 0.3 * np.sin((x + y) / 33)
    _carve_valley(relief)
    _shape_great_lawn(relief)
    _level_grounds(relief, drawn)
    _build_terraces(relief, drawn["terraces"])
    _build_bank(relief)
    whole_pond = _flatten_pond(relief, drawn["pond-park"])
    _grade_roads(relief)
    relief.z += np.where(relief.distance_to(whole_pond, 2.0) > 0.0, _noise(relief), 0.0)
    relief.z = np.round(relief.z / KEEP_M) * KEEP_M
    return relief


def _carve_valley(relief):
    valley = smooth([(560, 40), (470, 48), (392, 56), (330, 38), (292, -20), (286, -90)])
    away = relief.distance_to(valley, 160.0)
    relief.z -= 4.6 * np.exp(-(away / 46.0) ** 2)


def _shape_great_lawn(relief):
    x, y = relief.x, relief.y
    bowl = ((x - 395) / 62) ** 2 + ((y - 192) / 30) ** 2
    relief.z -= 1.3 * np.exp(-bowl)
    mound = ((x - 306) / 15) ** 2 + ((y - 230) / 11) ** 2
    relief.z += 1.6 * np.exp(-mound)


def _level_grounds(relief, drawn):
    pitch = shapely.LineString([(66, 78.5), (136, 73.5)]).buffer(41.5)
    relief.level(pitch, 9.0, height_m=relief.at(101, 76) + 1.6, north_rise=0.006)
    relief.level(shapely.box(18, 158, 132, 232), 14.0, north_rise=0.012, east=0.003)
    relief.level(shapely.box(196, 150, 254, 244), 12.0, north_rise=0.016)
    relief.level(shapely.Point(96, 332).buffer(14.5), 12.0)
    cottage = shapely.union(shapely.box(366, 288, 440, 350), shapely.box(346, 306, 370, 350))
    relief.level(cottage.intersection(drawn["cottage-lawn"].shape), 14.0, height_m=412.6, north_rise=0.02)
    for parcel, blend in (("quadrangle", 8.0), ("court-garden", 7.0), ("sports-meadow", 4.0), ("pond-park", 4.0),
                          ("great-lawn", 5.0), ("hillside", 7.0), ("cottage-lawn", 6.0), ("entrance-drive", 3.0)):
        for kind, shape, _ in drawn[parcel].areas:
            if kind == "building":
                relief.level(shape.convex_hull, blend, north_rise=0.01)


def _build_terraces(relief, ground):
    """Nearly level steps between the terrace lines, each with a slope of 1.7 m in 4.6 m."""
    x, y = relief.x, relief.y
    z = relief.at(286, 262) - 0.2 + 0.012 * (y - 262) - 0.014 * (x - 286)
    for line in north.TERRACE_LINES:
        points = np.asarray(line.coords)
        edge = np.interp(x, points[:, 0], points[:, 1])
        z = z + 1.7 * ease((y - edge + 2.3) / 4.6)
    share = ease(1 - relief.distance_to(ground.shape.buffer(-1.0), 9.0) / 9.0)
    relief.z += share * (z - relief.z)


def _build_bank(relief):
    """The upper hill stands 2.8 m higher behind the bank, fading out at the bank's ends."""
    points = np.asarray(north.BANK_LINE.coords)
    x, y = relief.x, relief.y
    edge = np.interp(x, points[:, 0], points[:, 1])
    ends = ease((x - 20) / 35) * ease((206 - x) / 30)
    step = ease((y - edge + 4.5) / 9.0) - ease((y - edge + 45) / 90)
    relief.z += 2.8 * ends * step


def _flatten_pond(relief, ground):
    water = [s for kind, s, _ in ground.areas if kind == "water"]
    whole = shapely.Polygon(water[0].exterior)
    level = relief.at(whole.centroid.x, whole.centroid.y) + 0.9
    relief.level(whole, 9.0, height_m=level)
    return whole


def _grade_roads(relief):
    """Each road gets an even long section, level across, and eases into the ground beside it."""
    for line, width in ROADS:
        line = line.intersection(OUTLINE.buffer(MARGIN_M))
        spots = [line.interpolate(d) for d in np.arange(0.0, line.length, 1.0)]
        raw = np.array([relief.at(p.x, p.y) for p in spots])
        padded = np.pad(raw, 15, mode="reflect", reflect_type="odd")
        even = np.convolve(padded, np.full(31, 1 / 31), mode="valid")
        reach = width / 2 + 5.0
        away = relief.distance_to(line, reach)
        near = away < reach
        along = shapely.line_locate_point(line, shapely.points(relief.x[near], relief.y[near]))
        road = np.interp(along, np.arange(len(even)), even)
        share = ease((reach - away[near]) / 5.0)
        relief.z[near] += share * (road - relief.z[near])


def _noise(relief):
    """Unevenness of one to two centimetres, correlated over a few metres."""
    rng = np.random.default_rng(5501)
    total = np.zeros(relief.z.shape)
    for spacing_m, size_m in ((9.0, 0.011), (4.0, 0.007), (1.5, 0.003)):
        total += size_m * _lattice(relief, spacing_m, rng)
    return total


def _lattice(relief, spacing_m, rng):
    """Random values at lattice points, eased between them."""
    u = (relief.x - relief.left) / spacing_m
    v = (relief.top - relief.y) / spacing_m
    values = rng.standard_normal((int(v.max()) + 2, int(u.max()) + 2))
    i, j = v.astype(int), u.astype(int)
    a, b = ease(v - i), ease(u - j)
    upper = values[i, j] * (1 - b) + values[i, j + 1] * b
    lower = values[i + 1, j] * (1 - b) + values[i + 1, j + 1] * b
    return upper * (1 - a) + lower * a


def write(relief, path, origin, crs):
    """A tiled float GeoTIFF; ground that was not surveyed is nodata."""
    surveyed = relief.distance_to(OUTLINE, MARGIN_M) < MARGIN_M
    heights = np.where(surveyed, relief.z, NODATA).astype("float32")
    profile = dict(driver="GTiff", width=heights.shape[1], height=heights.shape[0], count=1, dtype="float32",
                   crs=crs, nodata=NODATA, tiled=True, blockxsize=256, blockysize=256,
                   compress="deflate", predictor=3, zlevel=9,
                   transform=from_origin(origin[0] + relief.left, origin[1] + relief.top, CELL_M, CELL_M))
    with rasterio.open(path, "w", **profile) as out:
        out.write(heights, 1)
        out.units = ("metre",)
