//! One parcel made ready for design, step by step: frame, boundary, obstacles, turf, water points, terrain.

use crate::finding::{Finding, Severity};
use crate::site::assignment::Member;
use crate::site::cleaning::clean;
use crate::site::feature::{Feature, RawShape, boxes_meet};
use crate::site::ground::Ground;
use crate::site::obstacles::obstacle;
use crate::site::parcel::{Frame, Obstacle, ObstacleKind, Parcel, WaterPoint};
use crate::site::projector::Projector;
use crate::site::sampling::Samples;
use crate::site::shapes::bounds;
use crate::site::turf::TurfCutter;
use crate::site::water::{into_parcel, water_point};
use crate::site::{Terrain, TurfArea, gaps, relief, window};
use geo::{Coord, Intersects, MultiPolygon, Rect};
use std::collections::BTreeMap;

/// Obstacles this near to the parcel's bounds are kept: they stop water and roots reach over.
const OBSTACLE_MARGIN_M: f64 = 15.0;
/// Half the extent within which the frame's lengths are true to one part in a million (the projection's own law).
const FRAME_REACH_M: f64 = 9_000.0;
/// Lattice for looking at the ground under turf, m; finer than any terrain cell is of no use.
const SAMPLE_STEP_LEAST_M: f64 = 0.5;

/// The work on one parcel.
pub(crate) struct Preparation<'g> {
    ground: &'g Ground,
    member: &'g Member,
    findings: Vec<Finding>,
}

/// The parcel cannot be designed; why stands in the findings.
struct Refused;

impl<'g> Preparation<'g> {
    pub(crate) fn new(ground: &'g Ground, member: &'g Member) -> Self {
        Self {
            ground,
            member,
            findings: member.findings.clone(),
        }
    }

    /// All steps; on refusal everything that was found.
    pub(crate) fn run(mut self) -> Result<Parcel, Vec<Finding>> {
        match self.steps() {
            Ok(mut parcel) => {
                parcel.findings = self.findings;
                Ok(parcel)
            }
            Err(Refused) => Err(self.findings),
        }
    }

    fn steps(&mut self) -> Result<Parcel, Refused> {
        let feature = self.ground.parcel_feature(self.member);
        let (frame, projector) = self.frame(feature)?;
        let boundary = self.boundary(feature, &projector)?;
        let area = bounds(&boundary).ok_or(Refused)?;
        let obstacles = self.obstacles(&projector, &area, &frame);
        let turf = self.turf(&projector, &boundary, &obstacles);
        let water_points = self.water_points(&projector, &boundary, &obstacles);
        let terrain = self.terrain(&projector, &boundary, &area, &turf);
        if turf.is_empty() {
            self.refuse(
                "no_turf",
                "has no turf to water; nothing is designed. Draw turf in it, or take it out.",
            );
        }
        if water_points.is_empty() {
            self.refuse("no_water_point", "has no usable water point; nothing is designed. Draw one in it, or name the parcel in one.");
        }
        let duplicate = |finding: &Finding| {
            finding.code == "duplicate_id"
                && finding.file.as_deref() == Some(&self.ground.parcels.file)
        };
        if turf.is_empty() || water_points.is_empty() || self.findings.iter().any(duplicate) {
            return Err(Refused);
        }
        Ok(Parcel {
            id: feature.id.clone(),
            name: feature.text("name"),
            frame,
            boundary,
            turf,
            obstacles,
            water_points,
            terrain: terrain?,
            findings: Vec::new(),
        })
    }

    fn refuse(&mut self, code: &'static str, message: &str) -> Refused {
        let feature = self.ground.parcel_feature(self.member);
        let finding = Finding::error(code, message);
        self.findings
            .push(finding.in_file(&self.ground.parcels.file).of(&feature.id));
        Refused
    }

    fn frame(&mut self, feature: &Feature) -> Result<(Frame, Projector), Refused> {
        let Some(extent) = feature.bounds else {
            return Err(self.refuse("not_a_polygon", "has no geometry; draw it as a polygon."));
        };
        let frame = frame_about(&extent);
        let projector = Projector::new(&frame)
            .map_err(|error| self.refuse("projection_failed", &error.to_string()))?;
        let corner = projector.forward(extent.max().x, extent.max().y);
        let near = |at: &Coord<f64>| at.x.hypot(at.y) <= FRAME_REACH_M;
        if extent.width() > 1.0 || !corner.as_ref().is_ok_and(near) {
            let message = "reaches more than 9 km from its middle, too far for one design; cut it into parcels, or check its coordinates.";
            return Err(self.refuse("parcel_too_large", message));
        }
        Ok((frame, projector))
    }

    fn boundary(
        &mut self,
        feature: &Feature,
        projector: &Projector,
    ) -> Result<MultiPolygon<f64>, Refused> {
        let local = self.local(feature, projector).ok_or(Refused)?;
        let RawShape::Polygons(polygons) = &local else {
            let message = format!(
                "is a {}, not a polygon; draw parcels as polygons.",
                local.kind()
            );
            return Err(self.refuse("not_a_polygon", &message));
        };
        let cleaned = clean(polygons, self.ground.parcels.winding_matters);
        let told = |finding: Finding| finding.in_file(&self.ground.parcels.file).of(&feature.id);
        if let Some(at) = cleaned.crossing {
            let message = "its boundary crosses itself, so it is unclear what belongs to it; nothing is designed. Redraw it without the crossing.";
            self.findings
                .push(told(Finding::error("self_crossing", message).at(at)));
            return Err(Refused);
        }
        if !cleaned.repairs.is_empty() {
            let message = format!("repaired: {}.", cleaned.repairs.join("; "));
            self.findings
                .push(told(Finding::note("ring_repaired", message)));
        }
        if cleaned.shape.0.is_empty() {
            return Err(self.refuse("not_a_polygon", "has no area; draw its boundary."));
        }
        Ok(cleaned.shape)
    }

    /// The feature's shape in the frame; a projection that fails is told.
    fn local(&mut self, feature: &Feature, projector: &Projector) -> Option<RawShape> {
        let mut shape = feature.shape.clone();
        for at in shape.coords_mut() {
            match projector.forward(at.x, at.y) {
                Ok(moved) => *at = moved,
                Err(error) => {
                    let finding = Finding::error("projection_failed", error.to_string());
                    self.findings.push(finding.of(&feature.id));
                    return None;
                }
            }
        }
        Some(shape)
    }

    fn obstacles(
        &mut self,
        projector: &Projector,
        area: &Rect<f64>,
        frame: &Frame,
    ) -> Vec<Obstacle> {
        let ground = self.ground;
        let Some(extent) = ground.parcel_feature(self.member).bounds else {
            return Vec::new();
        };
        // Root zones reach at most 60 m; degrees of longitude are shorter than those of latitude.
        let margin_deg = 80.0 / (111_000.0 * frame.lat0_deg.to_radians().cos().max(0.05));
        let mut obstacles = Vec::new();
        for known in &ground.known_obstacles {
            let feature = &ground.obstacles.features[known.feature];
            let near = feature
                .bounds
                .is_none_or(|there| boxes_meet(&extent, &there, margin_deg));
            if !near {
                continue;
            }
            let Some(local) = self.local(feature, projector) else {
                continue;
            };
            let mut found = Vec::new();
            let made = obstacle(&ground.obstacles, feature, known.kind, &local, &mut found);
            let about = crate::site::feature::bounds_of(local.coords());
            let reaches = about.is_none_or(|there| {
                let roots_m = made
                    .as_ref()
                    .and_then(|made| made.root_zone)
                    .map_or(0.0, |zone| zone.1);
                boxes_meet(area, &there, OBSTACLE_MARGIN_M.max(roots_m))
            });
            if reaches {
                self.findings.extend(found);
                obstacles.extend(made);
            }
        }
        obstacles.sort_by(|a, b| a.id.cmp(&b.id));
        self.tell_double_obstacles(&obstacles);
        number_doubles(&mut obstacles, |obstacle| &mut obstacle.id);
        obstacles
    }

    fn tell_double_obstacles(&mut self, obstacles: &[Obstacle]) {
        let mut doubles: Vec<&str> = obstacles
            .windows(2)
            .filter(|pair| pair[0].id == pair[1].id)
            .map(|pair| pair[0].id.as_str())
            .collect();
        doubles.dedup();
        for id in doubles {
            let message = "is the id of several obstacles of this parcel; ids must be unique. The second is called `id (2)` here, and so on.";
            let finding = Finding::warning("duplicate_id", message);
            self.findings
                .push(finding.in_file(&self.ground.obstacles.file).of(id));
        }
    }

    fn turf(
        &mut self,
        projector: &Projector,
        boundary: &MultiPolygon<f64>,
        obstacles: &[Obstacle],
    ) -> Vec<TurfArea> {
        let ground = self.ground;
        let mut cutter = TurfCutter {
            layer: &ground.turf,
            boundary,
            obstacles,
            areas: Vec::new(),
            findings: Vec::new(),
        };
        for index in &self.member.turf {
            let feature = &ground.turf.features[*index];
            if let Some(local) = self.local(feature, projector) {
                cutter.add(feature, &local);
            }
        }
        let TurfCutter {
            mut areas,
            findings,
            ..
        } = cutter;
        self.findings.extend(findings);
        areas.sort_by(|a, b| a.id.cmp(&b.id));
        number_doubles(&mut areas, |area| &mut area.id);
        areas
    }

    fn water_points(
        &mut self,
        projector: &Projector,
        boundary: &MultiPolygon<f64>,
        obstacles: &[Obstacle],
    ) -> Vec<WaterPoint> {
        let ground = self.ground;
        let mut points = Vec::new();
        for index in &self.member.water_points {
            let feature = &ground.water_points.features[*index];
            let told =
                |finding: Finding| finding.in_file(&ground.water_points.file).of(&feature.id);
            let Some(RawShape::Points(places)) = self.local(feature, projector) else {
                continue;
            };
            let Some(at) = places.first() else {
                continue;
            };
            let (at, moved) = match into_parcel(*at, boundary) {
                Ok(placed) => placed,
                Err(finding) => {
                    self.findings.push(told(finding));
                    continue;
                }
            };
            self.findings.extend(moved.map(told));
            if let Some(inside) = standing_in(at, obstacles) {
                let message = format!(
                    "stands in the {} {}; pipe cannot be laid from there unless it leaves at the edge. Put the point where the pipe comes out.",
                    inside.kind.word(),
                    inside.id
                );
                self.findings.push(told(
                    Finding::warning("water_point_in_obstacle", message).at(at),
                ));
            }
            match water_point(feature, at) {
                Ok(point) => points.push(point),
                Err(message) => {
                    let message = format!("{message} It is not used.");
                    self.findings
                        .push(told(Finding::error("bad_supply_test", message).at(at)));
                }
            }
        }
        points.sort_by(|a, b| a.id.cmp(&b.id));
        number_doubles(&mut points, |point| &mut point.id);
        points
    }

    fn terrain(
        &mut self,
        projector: &Projector,
        boundary: &MultiPolygon<f64>,
        area: &Rect<f64>,
        turf: &[TurfArea],
    ) -> Result<Terrain, Refused> {
        let read = window::read(&self.ground.tiles, projector, boundary, area);
        let mut terrain = read.map_err(|findings| {
            self.findings.extend(findings);
            Refused
        })?;
        let step_m = terrain.cell_m.max(SAMPLE_STEP_LEAST_M);
        let samples = Samples::under(turf, step_m);
        let rules = &self.ground.project.rules;
        let files: Vec<&str> = self
            .ground
            .tiles
            .iter()
            .map(|tile| tile.written.as_str())
            .collect();
        let files = files.join(", ");
        let told = gaps::tell(&terrain, &samples, rules);
        let refused = told
            .iter()
            .any(|finding| finding.severity == Severity::Error);
        self.findings
            .extend(told.into_iter().map(|finding| finding.in_file(&files)));
        gaps::bridge(&mut terrain);
        let doubt = relief::doubt(&terrain, &samples, rules);
        self.findings
            .extend(doubt.map(|finding| finding.in_file(&files)));
        if refused { Err(Refused) } else { Ok(terrain) }
    }
}

/// The frame centred on a box of degrees.
pub(crate) fn frame_about(extent: &Rect<f64>) -> Frame {
    let centre = extent.center();
    Frame {
        lon0_deg: centre.x,
        lat0_deg: centre.y,
    }
}

/// The building or water that a place stands in.
fn standing_in(at: Coord<f64>, obstacles: &[Obstacle]) -> Option<&Obstacle> {
    obstacles.iter().find(|obstacle| {
        matches!(obstacle.kind, ObstacleKind::Building | ObstacleKind::Water)
            && obstacle.shape.intersects(&at)
    })
}

/// Calls the second of a name `name (2)`, the third `name (3)`.
fn number_doubles<T>(members: &mut [T], id: impl Fn(&mut T) -> &mut String) {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for member in members {
        let name = id(member);
        let times = seen.entry(name.clone()).or_default();
        *times += 1;
        if *times > 1 {
            *name = format!("{name} ({times})");
        }
    }
}
