"""The parcels south of the spine road: meadow, drive, pond park."""

from shapely.geometry import LineString, Polygon

from layout import DRIVE
from shapes import blob, box, disc, offset_points, oval, round_ended, skirt, smooth, strip, turned


def sports_meadow(g):
    """A level pitch inside a running loop, a pavilion, winding walks, a meadow on the bank."""
    loop_axis = turned(LineString([(66, 76), (136, 76)]), -4, (101, 76))
    loop = loop_axis.buffer(38, quad_segs=32).exterior
    pavilion = turned(box(186, 66, 199, 98), -4, (192, 82))
    changing = turned(box(170, 112, 192, 122), 6, (181, 117))
    g.building(pavilion, "pavilion")
    g.building(changing, "changing rooms")
    g.paving(pavilion.buffer(5.0, join_style="mitre").intersection(box(170, 50, 190, 110)), "terrace")
    g.paving(turned(box(192, 108, 214, 126), 6, (203, 117)), "parking")
    g.paving(smooth([(205, 122), (204, 131), (206, 150)]).buffer(2.4, cap_style="flat"), "parking access")
    g.path(LineString(loop.simplify(0.02).coords), 3.0, "running loop")
    g.path(smooth([(-16, 118), (-4, 107), (4, 90), (9, 60), (30, 30), (64, 22), (110, 20), (150, 14), (192, 24),
                   (212, 50), (210, 84), (203, 116)]), 2.5)
    g.path(smooth([(64, 22), (66, 30), (63.5, 40)]), 2.0)
    g.path(smooth([(182, 82), (178, 78), (174.5, 77)]), 3.0)
    g.path(smooth([(40, 143), (38, 128), (42, 117), (50, 112.5)]), 2.5)
    g.path(smooth([(181, 111.5), (179, 107), (183, 102)]), 2.0)
    g.bed(skirt(pavilion, 1.8, box(198.5, 60, 203, 104)))
    g.bed(skirt(changing, 1.6, turned(box(170, 121, 192, 126), 6, (181, 117))))
    g.bed(blob(24, 120, 9, 5, 11, degrees=-10), "flowers")
    g.bed(blob(150, 121.5, 7, 3.2, 12), "flowers")
    g.bed(blob(176, 44, 6, 9, 13, degrees=20), "shrubs")
    g.bed(smooth([(0, 54), (9, 42), (22, 30), (44, 20.5), (72, 13), (98, 9), (108, 2), (60, -6), (0, 10)],
                 closed=True), "shelter belt")
    g.bed(smooth([(128, 4), (146, 6), (168, 5), (190, 9), (206, 12), (220, 6), (230, -6), (170, -12)],
                 closed=True), "shelter belt")
    g.plant(offset_points(LineString([(-4, 138), (150, 126)]), 14, -5.0), 101, root_m=(2, 3.5))
    g.scatter(22, 68, 18, 26, 11, 102, root_m=(1.5, 3.5))
    g.scatter(112, 14, 50, 8, 14, 103, root_m=(2, 4))
    g.scatter(216, 20, 9, 22, 9, 104, root_m=(2, 4))
    g.scatter(158, 34, 14, 10, 7, 105, root_m=(1.5, 3))
    g.water_point = (219.0, 133.0)


def entrance_drive(g):
    """A carriageway with verges of 2.6 to 3.4 m, two walks, rows of trees outside, an oval turn."""
    axis = smooth([(245, -20), (244.5, 30), (243.5, 80), (244, 104)])
    island = oval(244, 121, 9, 11)
    carriage = strip(axis, 5.6).union(oval(244, 121, 14.4, 16.4).difference(island))
    north = strip(smooth([(244, 136), (244.5, 142), (245, 150)]), 6.0)
    lodge = turned(box(228.6, 6, 236, 15), 1, (232, 10))
    g.building(lodge, "gate lodge")
    g.paving(carriage.union(north).buffer(1.5).buffer(-1.5).simplify(0.02).difference(island), "carriageway")
    for side, gap in ((1, 3.0), (-1, 2.6)):
        shift = side * (2.8 + gap + 0.9)
        walk = axis.offset_curve(shift)
        start, end = (walk.coords[0], walk.coords[-1]) if walk.coords[0][1] < walk.coords[-1][1] else (
            walk.coords[-1], walk.coords[0])
        points = [start] + [(walk.interpolate(d).x, walk.interpolate(d).y) for d in (30, 60, 90)]
        g.path(smooth(points + [(end[0] - side * 0.6, end[1] - 2), (end[0] - side * 1.5, end[1] + 5)]), 1.8, "walk")
    g.paving(turned(box(236, 6, 240, 15), 1, (232, 10)).difference(lodge), "lodge step")
    g.bed(oval(244, 121, 4.6, 6.2), "flowers")
    g.bed(skirt(lodge, 1.2, box(226, 14.5, 240, 18)))
    g.bed(DRIVE.exterior.buffer(1.0).intersection(box(220, -20, 230, 134)), "hedge")
    g.bed(DRIVE.exterior.buffer(1.0).intersection(box(258, -20, 268, 137)), "hedge")
    g.plant(offset_points(LineString([(231, 22), (230.6, 132)]), 13, 0), 111, root_m=(1.5, 2.0), clear_m=0.9)
    g.plant(offset_points(LineString([(257.6, 4), (257.6, 132)]), 13, 0), 112, root_m=(1.5, 2.0), clear_m=0.9)
    g.water_point = (259.2, 140.0)


def pond_park(g):
    """A pond with a planted island and reeds, winding walks, a boat house, groups of trees."""
    pond = blob(392, 62, 44, 24, 21, roughness=0.13, degrees=-12)
    island = blob(404, 60, 7.5, 4.8, 22, roughness=0.1)
    boat_house = round_ended(328.6, 84.8, 339.4, 78.9, 10)
    kiosk = turned(Polygon([(452, 98), (464, 98), (464, 104), (458, 104), (458, 112), (452, 112)]), 8, (458, 105))
    shore = smooth(pond.buffer(9).simplify(3.0).exterior.coords[:-1], closed=True)
    g.building(boat_house, "boat house")
    g.building(kiosk, "tea house")
    g.water(pond.difference(island), "pond")
    g.paving(kiosk.buffer(4.0, join_style="mitre").intersection(box(446, 94, 470, 108)), "terrace")
    g.path(LineString(shore.exterior.coords), 2.5, "shore walk")
    g.path(smooth([(268, 150), (276, 126), (300, 110), (318, 96), (336, 93), (348.5, 84)]), 3.0)
    g.path(smooth([(301, 110), (330, 116), (372, 108), (410, 110), (440, 121), (446, 129)]), 2.5)
    g.path(smooth([(372, 108), (378, 103), (381.5, 97.5)]), 2.0)
    g.path(smooth([(436, 72.5), (446, 80), (449, 96), (440, 121)]), 2.5)
    g.path(smooth([(290, -4), (286, 30), (300, 58), (324, 72), (343, 70)]), 2.5)
    g.path(smooth([(286.3, 27), (320, 22), (360, 14), (404, 10), (440, 24), (457, 50), (454, 68), (446, 80)]), 2.5)
    g.bed(island, "island planting")
    g.bed(pond.buffer(2.2).difference(pond).intersection(disc(352, 64, 19)), "reeds")
    g.bed(pond.buffer(2.0).difference(pond).intersection(disc(424, 46, 17)), "reeds")
    g.bed(blob(310, 88, 8, 5, 23, degrees=-35), "shrubs")
    g.bed(blob(420, 96, 9, 4, 24), "flowers")
    g.bed(blob(270, 70, 3, 14, 25), "shrubs")
    g.bed(blob(340, 42, 6, 8, 26, degrees=30), "shrubs")
    g.bed(smooth([(420, 2), (440, 9), (456, 20), (467, 31), (473, 46), (477, 66), (490, 70), (492, 10), (420, -14)],
                 closed=True), "shelter belt")
    g.bed(skirt(kiosk, 1.5, box(448, 108, 460, 118)))
    g.scatter(296, 86, 14, 16, 6, 121, root_m=(2, 4))
    g.scatter(345, 128, 40, 9, 9, 122, root_m=(1.5, 3.5))
    g.scatter(345, 4, 44, 9, 10, 123, root_m=(2, 4))
    g.scatter(466, 70, 10, 18, 6, 124, root_m=(2, 4))
    g.scatter(316, 44, 13, 14, 7, 125, root_m=(2, 4), pit_share=0.5)
    g.scatter(430, 106, 16, 10, 5, 126, root_m=(1.5, 3))
    g.scatter(468, 116, 12, 9, 4, 127, root_m=(1.5, 3))
    g.scatter(410, 26, 30, 8, 7, 128, root_m=(1.5, 3))
    g.scatter(272, 24, 9, 24, 4, 129, root_m=(2, 4))
    g.water_point = (294.0, 139.5)
