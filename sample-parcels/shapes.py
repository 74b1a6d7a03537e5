"""Plain drawing tools: curves, blocks, rings. All lengths are metres."""

import math

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

CHORD_ERROR_M = 0.02
GRID_M = 0.001


def smooth(points, closed=False, step_m=1.0):
    """A curve through the points (centripetal Catmull-Rom), thinned to a chord error of 2 cm."""
    p = np.asarray(points, dtype=float)
    if closed:
        p = np.vstack([p[-1], p, p[0], p[1]])
    else:
        p = np.vstack([2 * p[0] - p[1], p, 2 * p[-1] - p[-2]])
    out = [p[1]]
    for a, b, c, d in zip(p, p[1:], p[2:], p[3:]):
        out.extend(_one_span(a, b, c, d, step_m))
    line = LineString(out).simplify(CHORD_ERROR_M)
    return Polygon(line.coords) if closed else line


def _one_span(a, b, c, d, step_m):
    ta = 0.0
    tb = ta + math.sqrt(math.dist(a, b))
    tc = tb + math.sqrt(math.dist(b, c))
    td = tc + math.sqrt(math.dist(c, d))
    count = max(2, math.ceil(math.dist(b, c) / step_m))
    t = np.linspace(tb, tc, count + 1)[1:, None]
    ab = (tb - t) / (tb - ta) * a + (t - ta) / (tb - ta) * b
    bc = (tc - t) / (tc - tb) * b + (t - tb) / (tc - tb) * c
    cd = (td - t) / (td - tc) * c + (t - tc) / (td - tc) * d
    abc = (tc - t) / (tc - ta) * ab + (t - ta) / (tc - ta) * bc
    bcd = (td - t) / (td - tb) * bc + (t - tb) / (td - tb) * cd
    return (tc - t) / (tc - tb) * abc + (t - tb) / (tc - tb) * bcd


def box(x0, y0, x1, y1):
    return Polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def turned(geometry, degrees, about):
    return affinity.rotate(geometry, degrees, origin=about)


def disc(x, y, radius_m):
    """A circle whose chords stay within 2 cm of it."""
    turn = 2 * math.acos(1 - min(CHORD_ERROR_M, radius_m / 8) / radius_m)
    count = max(12, math.ceil(2 * math.pi / turn))
    angles = 2 * math.pi * np.arange(count) / count
    return Polygon(np.column_stack([x + radius_m * np.cos(angles), y + radius_m * np.sin(angles)]))


def oval(x, y, half_x, half_y, degrees=0.0):
    count = max(24, math.ceil(math.pi * (half_x + half_y) / 1.2))
    angles = 2 * math.pi * np.arange(count) / count
    ring = np.column_stack([x + half_x * np.cos(angles), y + half_y * np.sin(angles)])
    return turned(Polygon(ring), degrees, (x, y))


def blob(x, y, half_x, half_y, seed, roughness=0.12, degrees=0.0):
    """A free-hand closed curve: an oval with a few gentle waves."""
    rng = np.random.default_rng(seed)
    angles = 2 * math.pi * np.arange(14) / 14
    reach = np.ones(14)
    for waves in (2, 3, 4):
        reach += roughness * rng.uniform(0.4, 1.0) / waves * 2 * np.cos(waves * angles + rng.uniform(0, 6.28))
    ring = np.column_stack([x + half_x * reach * np.cos(angles), y + half_y * reach * np.sin(angles)])
    return turned(smooth(ring, closed=True), degrees, (x, y))


def strip(line, width_m):
    """The ground a path of this width covers, with flat ends."""
    return line.buffer(width_m / 2, cap_style="flat", join_style="mitre")


def rounded(polygon, radius_m):
    """The polygon with its outward corners rounded."""
    return polygon.buffer(-radius_m, join_style="mitre").buffer(radius_m, quad_segs=12)


def round_ended(x0, y0, x1, y1, width_m):
    """A block whose far end is a half circle."""
    body = LineString([(x0, y0), (x1, y1)])
    return shapely.union(strip(body, width_m), disc(x1, y1, width_m / 2)).simplify(CHORD_ERROR_M)


def skirt(core, width_m, within):
    """The strip of this width round a shape, as far as `within` reaches."""
    return core.buffer(width_m, join_style="mitre").difference(core).intersection(within)


def offset_points(line, spacing_m, offset_m, start_m=0.0):
    """Points beside a line at equal spacing; a positive offset is to the left."""
    out = []
    along = start_m
    while along <= line.length:
        here, ahead = line.interpolate(along), line.interpolate(along + 0.5)
        if along + 0.5 > line.length:
            here, ahead = line.interpolate(along - 0.5), here
        dx, dy = ahead.x - here.x, ahead.y - here.y
        size = math.hypot(dx, dy)
        out.append(Point(here.x - offset_m * dy / size, here.y + offset_m * dx / size))
        along += spacing_m
    return out


def polygons(geometry):
    """The polygon parts of any geometry, as a list."""
    if geometry.is_empty:
        return []
    if geometry.geom_type == "Polygon":
        return [geometry]
    return [p for part in getattr(geometry, "geoms", []) for p in polygons(part)]


def snapped(geometry):
    """Coordinates on a grid of one millimetre, still valid."""
    return shapely.set_precision(geometry, GRID_M)
