"""The parcels between the two roads: quadrangle, court garden, great lawn."""

from shapely.geometry import LineString, Point, Polygon

from shapes import blob, box, disc, offset_points, oval, round_ended, rounded, skirt, smooth, turned

QUAD_TURN_DEG, QUAD_CENTRE = -2.5, (75, 196)
COURT_TURN_DEG, COURT_CENTRE = 4.0, (224, 176)


def quadrangle(g):
    """Three ranges round a lawn with crossing walks and a round bed; lawns outside the ranges."""
    def put(shape):
        return turned(shape, QUAD_TURN_DEG, QUAD_CENTRE)

    north = round_ended(46, 238, 104, 238, 15)
    west = Polygon([(8, 164), (22, 164), (22, 226), (38, 226), (38, 240), (8, 240)])
    east = Polygon([(128, 162), (154, 162), (154, 174), (141, 174), (141, 214), (154, 214), (154, 226), (128, 226)])
    walk = box(25, 163, 125, 227)
    lawn = rounded(box(29, 167, 121, 223), 2.0)
    ring = disc(75, 195, 12.0).difference(disc(75, 195, 8.6))
    for shape, use in ((north, "north range"), (west, "west range"), (east, "east range")):
        g.building(put(shape), use)
    g.paving(put(walk.difference(lawn)), "quad walk")
    g.paving(put(ring), "ring walk")
    g.paving(put(box(70, 227, 80, 231)), "porch")
    g.paving(put(box(141, 190, 158, 198)), "east yard")
    corners = ((29, 167), (121, 167), (121, 223), (29, 223))
    for x, y in corners:
        dx, dy = (75 - x), (195 - y)
        g.path(put(LineString([(x - 0.02 * dx, y - 0.02 * dy), (75 - 0.2 * dx, 195 - 0.2 * dy)])), 2.4, "diagonal")
    g.path(put(LineString([(75, 120), (75, 165)])), 4.0, "south approach")
    g.path(put(LineString([(75, 165), (75, 184)])), 3.0, "south approach")
    g.path(put(smooth([(-30, 232), (-10, 224), (0, 200), (1, 176), (12, 156), (40, 152), (74, 152)])), 2.2)
    g.path(put(smooth([(76, 152), (110, 152), (140, 153), (154, 158), (172, 158)])), 2.2)
    g.path(put(smooth([(157, 194), (163, 194), (172, 193)])), 3.0, "yard access")
    g.path(put(smooth([(40, 262), (42, 252), (30, 247), (8, 247), (-4, 238), (-7.5, 222)])), 2.2)
    g.bed(put(disc(75, 195, 4.4)), "flowers")
    g.bed(put(skirt(north, 1.8, box(44, 245, 106, 250))))
    g.bed(put(skirt(west, 2.0, box(4, 176, 8, 230))))
    g.bed(put(skirt(east, 1.6, box(141, 174, 153, 214))))
    g.bed(put(box(84, 228.5, 104, 230.5)), "roses")
    g.bed(put(box(46, 228.5, 66, 230.5)), "roses")
    g.bed(put(blob(-3, 160, 5, 3, 71)), "shrubs")
    g.plant([turned(p, QUAD_TURN_DEG, QUAD_CENTRE) for p in
             offset_points(LineString([(8, 146.5), (150, 146.5)]), 14, 0)], 171, root_m=(1.5, 2.5), clear_m=1.4)
    g.scatter(-8, 200, 7, 40, 6, 172, root_m=(2, 4))
    g.scatter(120, 250, 26, 8, 5, 173, root_m=(2, 3.5))
    g.scatter(12, 256, 14, 5, 4, 174, root_m=(2, 3))
    g.plant([turned(Point(*p), QUAD_TURN_DEG, QUAD_CENTRE) for p in ((44, 196), (106, 196), (75, 214), (60, 176),
                                                                     (90, 176))], 175, root_m=(2.5, 3.5), pit_share=1.0)
    g.water_point = (160.5, 146.0)


def court_garden(g):
    """A library round a closed paved court in a ring of turf; a cloister open to one side by a gate."""
    def put(shape):
        return turned(shape, COURT_TURN_DEG, COURT_CENTRE)

    x, y = COURT_CENTRE
    library = box(x - 19, y - 15, x + 19, y + 15).difference(box(x - 10, y - 7, x + 10, y + 7))
    block = box(x - 19, y - 15, x + 19, y + 15)
    cloister = box(196, 205, 244, 239).difference(box(205, 213, 235, 231)).difference(box(217, 203, 223, 214))
    cloister_court = box(205, 213, 235, 231)
    g.building(put(library), "library")
    g.building(put(cloister), "cloister")
    g.paving(put(box(x - 10, y - 7, x + 10, y + 7)), "library court")
    g.paving(put(rounded(block.buffer(12.0), 8).difference(rounded(block.buffer(9.4), 6))), "ring walk")
    g.paving(put(box(x - 3, y - 26, x + 3, y - 15)), "south door")
    g.paving(put(cloister_court.difference(box(207.4, 215.4, 232.6, 228.6))), "cloister walk")
    g.path(put(LineString([(220, 214.5), (220, 202)])), 6.0, "gateway")
    g.path(put(LineString([(220, 202.5), (220, y + 25)])), 3.0, "gateway")
    g.path(put(LineString([(x, y - 25), (x, y - 45)])), 3.5, "south approach")
    g.path(put(smooth([(255, 184), (262, 190), (270, 193), (290, 194)])), 2.2)
    g.path(put(smooth([(193.5, 180), (186, 186), (178, 188), (160, 188)])), 2.2)
    g.path(put(smooth([(254, 190), (258, 206), (256, 226), (250, 238), (246, 256)])), 2.2)
    g.bed(put(disc(220, 222, 2.6)), "herbs")
    g.bed(put(skirt(block, 1.8, box(x - 24, y - 12, x - 19, y + 12))))
    g.bed(put(skirt(block, 1.8, box(x - 14, y + 15, x + 14, y + 18))))
    g.bed(put(skirt(block, 1.6, box(x + 19, y - 10, x + 22, y + 10))))
    g.bed(put(blob(183, 210, 4.5, 9, 81)), "shrubs")
    g.bed(put(blob(267, 222, 5, 8, 82, degrees=12)), "flowers")
    g.scatter(184, 160, 7, 11, 4, 181, root_m=(1.5, 3))
    g.scatter(268, 205, 9, 34, 8, 182, root_m=(1.5, 3))
    g.scatter(184, 228, 7, 14, 4, 183, root_m=(2, 3))
    g.plant([turned(Point(*p), COURT_TURN_DEG, COURT_CENTRE) for p in ((211, 222), (229, 222))], 184,
            root_m=(1.5, 2.0), pit_share=1.0)
    g.scatter(262, 168, 8, 12, 3, 185, root_m=(1.5, 2.5))
    g.water_point = (178.5, 145.5)


def great_lawn(g):
    """One wide bowl of grass with a winding walk, a round-ended stage and clumps of trees."""
    stage = round_ended(475, 221, 462, 214.5, 16)
    green = blob(382, 196, 76, 37, 91, roughness=0.05, degrees=-8)
    g.building(stage, "open-air stage")
    g.paving(disc(455, 211, 11), "stage floor")
    g.paving(smooth([(472, 221), (479, 227), (482, 236), (482, 246)]).buffer(2.2, cap_style="flat"), "service road")
    g.path(LineString(green.exterior.coords), 3.0, "lawn walk")
    g.path(smooth([(278, 196), (290, 199.5), (303.5, 203)]), 2.5)
    g.path(smooth([(330, 140), (332, 152), (337, 163), (342, 168)]), 2.5)
    g.path(smooth([(386, 262), (384, 246), (388, 239), (391, 233.5)]), 2.5)
    g.path(smooth([(450.5, 168.5), (466, 160), (478, 146), (482, 128)]), 2.5)
    g.bed(oval(352, 206, 8, 4.5, 25), "island bed")
    g.bed(blob(306, 168, 7, 4, 92, degrees=40), "shrubs")
    g.bed(blob(414, 146, 10, 4, 93, degrees=-5), "flowers")
    g.bed(blob(478, 190, 4, 9, 94), "shrubs")
    g.bed(smooth([(482, 146), (483.5, 162), (489, 182), (489, 202), (494, 224), (508, 222), (496, 140)], closed=True),
          "shelter belt")
    g.bed(skirt(stage, 1.5, box(464, 200, 486, 214)))
    g.scatter(314, 234, 16, 10, 8, 191, root_m=(2, 4))
    g.scatter(372, 222, 20, 7, 5, 192, root_m=(2.5, 4))
    g.scatter(410, 178, 14, 6, 4, 193, root_m=(2.5, 4))
    g.scatter(300, 176, 9, 18, 4, 194, root_m=(2, 3.5))
    g.scatter(470, 170, 14, 14, 7, 195, root_m=(2, 4))
    g.plant(offset_points(LineString([(345, 147.5), (470, 138)]), 15, 0), 196, root_m=(1.5, 3))
    g.scatter(430, 236, 22, 7, 6, 197, root_m=(2, 3.5))
    g.plant([Point(326, 190), Point(366, 182)], 198, root_m=(3, 4), pit_share=1.0)
    g.water_point = (290.0, 160.0)
