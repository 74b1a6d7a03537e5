"""The parcels north of the north road: hill, terraces, cottage, fork green."""

from shapely.geometry import LineString, Point, Polygon

from shapes import blob, box, disc, offset_points, round_ended, skirt, smooth, turned

# The bank on the hill and the terrace edges: the terrain steps along these lines.
BANK_LINE = smooth([(10, 285), (40, 296), (80, 301), (120, 297), (160, 289), (196, 278)])
TERRACE_LINES = [
    smooth([(200, 280), (228, 279), (260, 274), (290, 275), (325, 281), (365, 284)]),
    smooth([(200, 303), (228, 302), (262, 296), (292, 296), (322, 301), (365, 304)]),
    smooth([(200, 326), (228, 325), (264, 319), (296, 319), (322, 322), (365, 325)]),
]


def hillside(g):
    """Steep lawn below a round observatory; a hairpin walk; a bank with shrubs on part of it."""
    tower = disc(96, 332, 8.5)
    hut = turned(box(24, 306, 34, 313), 40, (29, 310))
    g.building(tower, "observatory")
    g.building(hut, "instrument hut")
    g.paving(disc(96, 332, 13.5), "belvedere")
    g.path(smooth([(150, 256), (146, 268), (120, 277), (84, 283), (56, 281), (40, 283), (35, 288), (40, 293),
                   (62, 300), (100, 308), (136, 306), (160, 304), (166, 310), (160, 316), (138, 322),
                   (118, 327), (106, 330)]), 2.5)
    g.path(smooth([(166, 310), (184, 306), (204, 310), (222, 314)]), 2.0)
    g.path(smooth([(86, 337), (66, 334), (46, 322), (34, 315)]), 2.0)
    bank = BANK_LINE.buffer(2.2, cap_style="flat")
    g.bed(bank.intersection(box(86, 280, 120, 310)), "bank planting")
    g.bed(bank.intersection(box(150, 270, 184, 300)), "bank planting")
    g.bed(blob(190, 328, 9, 6, 31, degrees=15), "shrubs")
    g.bed(blob(20, 277, 8, 3.5, 33), "flowers")
    g.bed(smooth([(30, 330), (44, 334), (56, 346), (72, 351), (96, 349), (120, 351), (150, 342), (178, 340),
                  (200, 343), (222, 336), (230, 360), (60, 376), (10, 330)], closed=True), "wood edge")
    g.scatter(64, 340, 16, 7, 4, 131, root_m=(2, 4))
    g.scatter(196, 292, 16, 12, 6, 132, root_m=(2, 4))
    g.scatter(14, 294, 12, 10, 5, 133, root_m=(2, 4))
    g.scatter(150, 332, 22, 6, 5, 134, root_m=(1.5, 3.5))
    g.plant(offset_points(LineString([(14, 271), (136, 272)]), 15, 0), 135, root_m=(1.5, 2.5))
    g.water_point = (186.0, 261.0)


def terraces(g):
    """Four levels with planted steps between them, a stair and ramps, a dining hall with a court."""
    hall = turned(Polygon([(262, 328), (314, 328), (314, 349), (302, 349), (302, 339), (274, 339), (274, 349),
                           (262, 349)]), -1, (288, 338))
    g.building(hall, "dining hall")
    g.paving(turned(box(256, 321.5, 320, 328.2), -1, (288, 338)), "terrace")
    g.paving(turned(box(284.5, 339, 291.5, 352), -1, (288, 338)), "court walk")
    g.paving(turned(box(257, 347, 319, 352.5), -1, (288, 338)), "yard")
    g.path(smooth([(212, 342), (232, 347.5), (259, 350)]), 3.0, "yard access")
    g.path(LineString([(287, 246), (287.4, 285), (287.6, 324)]), 4.0, "stair")
    g.path(smooth([(219, 300), (232, 291), (262, 285), (288, 285)]), 2.5)
    g.path(smooth([(288, 285), (314, 290), (340, 293), (356, 291)]), 2.5)
    g.path(smooth([(288, 308), (262, 308), (240, 314), (235, 324), (240, 333), (250, 335), (261.7, 333)]), 2.5)
    g.path(smooth([(288, 308), (318, 311), (334, 320), (330, 331), (314, 332)]), 2.5)
    for line, reaches in zip(TERRACE_LINES, (((222, 279), (295, 340)), ((236, 280), (295, 336)),
                                             ((244, 262), (316, 328)))):
        for start, end in reaches:
            g.bed(line.buffer(1.5, cap_style="flat").intersection(box(start, 250, end, 350)), "wall planting")
    g.bed(disc(252, 263, 4.0), "flowers")
    g.bed(disc(322, 268, 4.0), "flowers")
    g.bed(blob(338, 338, 5, 4, 41), "shrubs")
    g.plant(offset_points(LineString([(232, 258), (345, 259)]), 14, 0), 141, root_m=(1.5, 2.5), pit_share=0.4)
    g.scatter(232, 340, 9, 10, 4, 142, root_m=(1.5, 3))
    g.scatter(335, 300, 12, 6, 3, 143, root_m=(1.5, 2.5))
    g.scatter(246, 292, 10, 4, 3, 144, root_m=(1.5, 2.5))
    g.scatter(345, 272, 6, 8, 2, 145, root_m=(1.5, 2.5))
    g.water_point = (216.0, 256.0)


def cottage_lawn(g):
    """A small level garden on an old thin service pipe."""
    house = turned(Polygon([(372, 306), (388, 306), (388, 313), (380, 313), (380, 323), (372, 323)]), 8, (380, 312))
    shed = turned(box(362, 332, 368, 337), 8, (365, 335))
    g.building(house, "cottage")
    g.building(shed, "shed")
    g.paving(smooth([(397, 278), (394, 290), (386, 299)]).buffer(1.6, cap_style="flat"), "drive")
    g.paving(turned(box(380, 298, 392, 305.8), 8, (380, 312)), "yard")
    g.path(smooth([(368.6, 318.5), (364.4, 322), (363.6, 331)]), 1.5)
    g.path(smooth([(391, 302), (404, 304), (418, 310), (430, 312), (440, 305), (442, 292)]), 1.5)
    g.bed(turned(box(380, 313, 388, 319), 8, (380, 312)), "flowers")
    g.bed(skirt(house, 1.2, box(365, 300, 374, 316)), "flowers")
    g.bed(blob(398, 322, 6, 3, 51, degrees=-25), "vegetables")
    g.bed(blob(426, 302, 4, 2.6, 52), "roses")
    g.plant([Point(356, 344), Point(366, 284), Point(373, 340), Point(410, 296), Point(412, 318),
             Point(446, 303), Point(388, 330), Point(360, 300)], 151, root_m=(1.5, 2.5))
    g.water_point = (364.0, 276.5)


def triangle_green(g):
    """Acute corners between two roads, a round basin, walks from corner to corner."""
    centre = (449, 271)
    memorial = round_ended(476, 283, 484, 285, 6)
    g.building(memorial, "shelter")
    g.water(disc(*centre, 3.2), "basin")
    g.paving(disc(*centre, 6.4), "basin walk")
    g.path(smooth([(388, 282), (396, 271), (408, 267), (424, 269), (444, 271)]), 2.0)
    g.path(smooth([(453, 273), (462, 280), (468, 290), (469, 302)]), 2.0)
    g.path(smooth([(453, 268), (468, 264), (482, 252), (487, 236)]), 2.0)
    g.bed(blob(430, 262, 6, 2.6, 61, degrees=-10), "flowers")
    g.bed(blob(470, 272, 3.4, 5, 62, degrees=-20), "flowers")
    g.plant(offset_points(LineString([(410, 277), (458, 293)]), 12, 0), 161, root_m=(1.5, 2.5))
    g.scatter(486, 268, 7, 10, 4, 162, root_m=(1.5, 2.5))
    g.plant([Point(440, 255.5), Point(456, 251.5), Point(472, 247)], 163, root_m=(1.5, 2.5), pit_share=0.7)
    g.water_point = (490.5, 244.0)
