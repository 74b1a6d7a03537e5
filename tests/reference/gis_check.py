#!/usr/bin/python3
"""Opens finished parcels in QGIS, a public GIS, as a reviewer would.

    /usr/bin/python3 tests/reference/gis_check.py OUT | --starts

Needs QGIS's own Python (Debian: python3-qgis, qgis-providers), no display. For every layer of every parcel: QGIS opens the
GeoJSON file and the GeoPackage's tables, sees as many features as the files hold (read here with plain json), in
WGS 84, valid, with a stored style that loads and draws something. Ends with 1 where anything is wrong.
"""

import json
import os
import pathlib
import sys
import tempfile

HOME = tempfile.mkdtemp(prefix="gis_check_")
os.environ.update(QT_QPA_PLATFORM="offscreen", XDG_RUNTIME_DIR=HOME, HOME=HOME, QGIS_CUSTOM_CONFIG_PATH=HOME)

from qgis.core import QgsApplication, QgsMapRendererParallelJob, QgsMapSettings, QgsVectorLayer  # noqa: E402
from qgis.PyQt.QtCore import QSize  # noqa: E402
from qgis.PyQt.QtGui import QColor  # noqa: E402


def held(path):
    """Features with geometry, by id."""
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    return {f["properties"]["id"] for f in features if f["geometry"] is not None}


def opened(uri, name):
    layer = QgsVectorLayer(uri, name, "ogr")
    return layer if layer.isValid() else None


def ids(layer):
    return {f["id"] for f in layer.getFeatures() if f.hasGeometry()}


def draws(layer):
    """Whether a picture of the layer holds more than one colour."""
    settings = QgsMapSettings()
    settings.setLayers([layer])
    extent = layer.extent()
    extent.grow(max(extent.width(), extent.height(), 1e-5) * 0.1)
    settings.setExtent(extent)
    settings.setOutputSize(QSize(200, 200))
    settings.setBackgroundColor(QColor("white"))
    job = QgsMapRendererParallelJob(settings)
    job.start()
    job.waitForFinished()
    picture = job.renderedImage()
    return any(picture.pixel(x, y) != picture.pixel(0, 0) for x in range(200) for y in range(200))


def check_layer(layer, want, styled, wrong):
    if layer is None:
        wrong("does not open")
        return
    if want is not None and ids(layer) != want:
        wrong(f"holds {layer.featureCount()} features, not those of the GeoJSON file")
    if layer.crs().authid() != "EPSG:4326":
        wrong(f"is in {layer.crs().authid()}")
    broken = [f["id"] for f in layer.getFeatures() if f.hasGeometry() and not f.geometry().isGeosValid()]
    if broken:
        wrong(f"holds {len(broken)} features that are not valid, {broken[0]} among them")
    if styled:
        message, loaded = layer.loadDefaultStyle()
        if not loaded:
            wrong(f"has no style that loads: {message}")
        elif layer.featureCount() and not draws(layer):
            wrong("draws nothing")


def check_parcel(folder, wrong):
    count = 0
    package = folder / "design.gpkg"
    for path in sorted((folder / "layers").glob("*.geojson")):
        name, want = path.stem, held(path)
        if want:
            count += 1
            # Layers of mixed geometry open as one layer a type.
            first = opened(str(path), name)
            check_layer(first, None, False, lambda what: wrong(f"{path}: {what}"))
        seen = set()
        for table in [name] + ([f"{name}_points"] if name == "obstacles" else []):
            layer = opened(f"{package}|layername={table}", table)
            if layer is None and table != name:
                continue
            count += 1
            check_layer(layer, None, True, lambda what: wrong(f"{package}, {table}: {what}"))
            seen |= ids(layer) if layer else set()
        if seen != want:
            wrong(f"{package}, {name}: {len(seen)} features for {len(want)} of the GeoJSON file")
    return count


def main():
    QgsApplication.setPrefixPath("/usr", True)
    application = QgsApplication([], False)
    application.initQgis()
    if sys.argv[1] == "--starts":
        os._exit(0)
    faults, count = [], 0
    folders = sorted(p.parent for p in (pathlib.Path(sys.argv[1]) / "parcels").glob("*/design.gpkg"))
    for folder in folders:
        count += check_parcel(folder, faults.append)
    for fault in faults:
        print("WRONG", fault)
    print(f"QGIS opened {count} layers of {len(folders)} parcels, {len(faults)} things wrong")
    # QGIS may crash while Python takes its objects apart.
    sys.stdout.flush()
    os._exit(1 if faults or not folders else 0)


if __name__ == "__main__":
    main()
