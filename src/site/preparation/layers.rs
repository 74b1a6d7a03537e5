//! The layers of one parcel, moved into its frame: obstacles, turf, water points.

use super::Preparation;
use crate::finding::Finding;
use crate::site::edits::{self, Edits};
use crate::site::existing::{self, Existing};
use crate::site::feature::{Feature, Layer, RawShape, bounds_of, boxes_meet};
use crate::site::led_out::led_out;
use crate::site::obstacles::{obstacle, several_points};
use crate::site::parcel::{Frame, Obstacle, TurfArea, WaterPoint};
use crate::site::projector::Projector;
use crate::site::turf::TurfCutter;
use crate::site::water::{into_parcel, water_point};
use geo::{MultiPolygon, Rect};
use std::collections::BTreeMap;

/// Obstacles this near to the parcel's bounds are kept: they stop water and roots reach over.
const OBSTACLE_MARGIN_M: f64 = 15.0;

impl Preparation<'_> {
    pub(super) fn obstacles(
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
            let about = bounds_of(local.coords());
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

    pub(super) fn turf(
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

    pub(super) fn water_points(
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
            if places.len() > 1 {
                self.findings.push(told(several_points(places.len())));
            }
            let (at, moved) = match into_parcel(*at, boundary) {
                Ok(placed) => placed,
                Err(finding) => {
                    self.findings.push(told(finding));
                    continue;
                }
            };
            self.findings.extend(moved.map(told));
            let (at, led_out) = led_out(at, boundary, obstacles);
            self.findings.extend(led_out.map(told));
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

    /// The parcel's part of an existing system, moved into its frame.
    pub(super) fn existing(&mut self, projector: &Projector) -> Existing {
        let ground = self.ground;
        let picked = &self.member.existing;
        let layers = &ground.existing;
        Existing {
            heads: self.surveyed(&layers.heads, &picked.heads, projector, |l, f, s, told| {
                existing::heads(l, f, s, told).into_iter().collect()
            }),
            pipes: self.surveyed(&layers.pipes, &picked.pipes, projector, existing::pipes),
            valves: self.surveyed(
                &layers.valves,
                &picked.valves,
                projector,
                |l, f, s, told| existing::valves(l, f, s, told).into_iter().collect(),
            ),
        }
    }

    /// The parcel's part of a design changed by hand.
    pub(super) fn edits(
        &mut self,
        projector: &Projector,
        boundary: &MultiPolygon<f64>,
    ) -> Option<Edits> {
        let ground = self.ground;
        let book = ground.edits.as_ref()?;
        let parcel = &ground.parcel_feature(self.member).id;
        let own = book.own(parcel).unwrap_or_else(|finding| {
            self.findings.push(finding);
            None
        });
        let at = edits::At {
            parcel,
            boundary,
            projector,
            own_folder: own.is_some(),
        };
        let layers = own.as_ref().or(book.whole())?;
        edits::of_parcel(book.written(), layers, &at, &mut self.findings)
    }

    fn surveyed<T>(
        &mut self,
        layers: &[Layer],
        picked: &[(usize, usize)],
        projector: &Projector,
        read: impl Fn(&Layer, &Feature, &RawShape, &mut Vec<Finding>) -> Vec<T>,
    ) -> Vec<T> {
        let mut things = Vec::new();
        for &(layer, feature) in picked {
            let layer = &layers[layer];
            let feature = &layer.features[feature];
            if let Some(local) = self.local(feature, projector) {
                things.extend(read(layer, feature, &local, &mut self.findings));
            }
        }
        things
    }
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
