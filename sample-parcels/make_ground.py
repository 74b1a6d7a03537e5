"""Makes the sample campus: parcels, turf, obstacles, water points and terrain.

Everything is invented: the land, its names, its heights and its supplies. It lies at coordinates
in open country so that map viewers show it in a plausible place.

Run:       python make_ground.py            (writes beside this file)
           python make_ground.py DIRECTORY  (writes there)
Packages:  numpy, shapely (2 or newer), pyproj, rasterio
Again:     the same versions of the packages give the same bytes; all chance has fixed seeds.

The drawing is in metres east and north of ORIGIN, a corner of UTM zone 33N.
  layout.py                       outline, roads, parcels
  middle.py, north.py, south.py   what stands on each parcel
  ground.py                       the turf that is left between
  terrain.py                      the relief
  supply.py                       what each water point gives
"""

import json
import sys
from pathlib import Path

import numpy as np
import shapely
from pyproj import Transformer
from shapely.geometry import Point, mapping
from shapely.geometry.polygon import orient

import terrain
from campus import draw_campus
from supply import SUPPLIES

CRS = "EPSG:32633"
ORIGIN = (286400.0, 5455300.0)
DECIMALS = 8

_TO_WGS84 = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)


def to_wgs84(geometry):
    """Longitude and latitude; outer rings counter-clockwise."""
    moved = shapely.transform(geometry, _lon_lat)
    return orient(moved) if moved.geom_type == "Polygon" else moved


def _lon_lat(points):
    return np.column_stack(_TO_WGS84.transform(points[:, 0] + ORIGIN[0], points[:, 1] + ORIGIN[1]))


def feature(geometry, **properties):
    return {"type": "Feature", "properties": {k: v for k, v in properties.items() if v is not None},
            "geometry": rounded_mapping(to_wgs84(geometry))}


def rounded_mapping(geometry):
    drawn = mapping(geometry)
    return {"type": drawn["type"], "coordinates": _rounded(drawn["coordinates"])}


def _rounded(coordinates):
    if isinstance(coordinates[0], float):
        return [round(c, DECIMALS) for c in coordinates]
    points = [_rounded(c) for c in coordinates]
    return [p for i, p in enumerate(points) if i == 0 or p != points[i - 1]]


def parcel_features(grounds):
    return [feature(g.shape, id=g.parcel, name=g.name) for g in grounds]


def turf_features(grounds):
    return [feature(shape, id=f"{g.parcel}-t{i:02d}", parcel=g.parcel, soil=g.soil, season=g.season)
            for g in grounds for i, shape in enumerate(g.turf(), 1)]


def obstacle_features(grounds):
    out = []
    for g in grounds:
        count = 0
        for kind, shape, use in g.areas:
            count += 1
            out.append(feature(shape, id=f"{g.parcel}-o{count:03d}", kind=kind, use=use))
        for line, width, use in g.paths:
            count += 1
            out.append(feature(line, id=f"{g.parcel}-o{count:03d}", kind="paving", use=use, width_m=width))
        for tree in g.trees:
            count += 1
            out.append(feature(tree["pit"] or tree["at"], id=f"{g.parcel}-o{count:03d}", kind="tree",
                               root_radius_m=tree["root"]))
    return out


def water_point_features(grounds):
    return [feature(Point(g.water_point), id=f"{g.parcel}-w1", parcel=g.parcel, **SUPPLIES[g.parcel])
            for g in grounds]


def write_collection(path, features):
    lines = ",\n".join(json.dumps(f, separators=(",", ":")) for f in features)
    path.write_text('{"type":"FeatureCollection","features":[\n' + lines + "\n]}\n", encoding="utf-8")


def main(folder):
    folder.mkdir(parents=True, exist_ok=True)
    grounds = draw_campus()
    write_collection(folder / "parcels.geojson", parcel_features(grounds))
    write_collection(folder / "turf.geojson", turf_features(grounds))
    write_collection(folder / "obstacles.geojson", obstacle_features(grounds))
    write_collection(folder / "water_points.geojson", water_point_features(grounds))
    relief = terrain.build(grounds)
    terrain.write(relief, folder / "terrain.tif", ORIGIN, CRS)
    _tell(grounds)


def _tell(grounds):
    land = sum(g.shape.area for g in grounds) / 1e4
    grass = sum(p.area for g in grounds for p in g.turf()) / 1e4
    print(f"{len(grounds)} parcels, {land:.2f} ha, of which turf {grass:.2f} ha")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)
