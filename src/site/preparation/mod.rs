//! One parcel made ready for design, step by step: frame, boundary, obstacles, turf, water points, terrain.

mod layers;

use crate::finding::{Finding, Severity};
use crate::site::assignment::Member;
use crate::site::cleaning::clean;
use crate::site::feature::{Feature, RawShape};
use crate::site::ground::Ground;
use crate::site::parcel::{Frame, Parcel};
use crate::site::projector::Projector;
use crate::site::sampling::Samples;
use crate::site::shapes::bounds;
use crate::site::{Terrain, TurfArea, gaps, noise, relief, window};
use geo::{Coord, MultiPolygon, Rect};

/// Half the extent within which the frame's lengths are true to one part in a million (the projection's own law).
const FRAME_REACH_M: f64 = 9_000.0;
/// Lattice for looking at the ground under turf, m; finer than any terrain cell is of no use.
const SAMPLE_STEP_LEAST_M: f64 = 0.5;

impl Ground {
    /// A parcel made ready for design: in its own frame, cleaned, clipped, with its window of terrain.
    ///
    /// May be called from several threads at once.
    ///
    /// # Errors
    /// Everything found about the parcel, when at least one thing keeps it from being designed.
    pub fn parcel(&self, id: &str) -> Result<Parcel, Vec<Finding>> {
        let Some(member) = self.members.get(id) else {
            let known = self.parcel_ids();
            let known: Vec<&str> = known.iter().map(String::as_str).collect();
            let advice = crate::brief::problems::suggestion(id, &known);
            let message = format!("there is no parcel `{id}`; {advice}");
            let finding = Finding::error("unknown_parcel", message).in_file(&self.parcels.file);
            return Err(vec![finding]);
        };
        Preparation::new(self, member).run()
    }
}

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
        let existing = self.existing(&projector);
        let edits = self.edits(&projector, &boundary);
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
            existing,
            edits,
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
        let frame = Frame::about(&extent);
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
                "its geometry is {}, not a polygon; draw parcels as polygons.",
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

    fn terrain(
        &mut self,
        projector: &Projector,
        boundary: &MultiPolygon<f64>,
        area: &Rect<f64>,
        turf: &[TurfArea],
    ) -> Result<Terrain, Refused> {
        let read = window::read(&self.ground.tiles, projector, boundary, area);
        let (mut terrain, thinned) = read.map_err(|findings| {
            self.findings.extend(findings);
            Refused
        })?;
        self.findings.extend(thinned);
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
        let mut told = gaps::tell(&terrain, &samples, rules);
        let of_parcel = Samples::inside([boundary], step_m);
        told.extend(gaps::tell_beside(&terrain, &of_parcel, &samples));
        let refused = told
            .iter()
            .any(|finding| finding.severity == Severity::Error);
        self.findings
            .extend(told.into_iter().map(|finding| finding.in_file(&files)));
        gaps::bridge(&mut terrain);
        let doubt = relief::doubt(&terrain, &samples, rules);
        self.findings
            .extend(doubt.map(|finding| finding.in_file(&files)));
        let noise = noise::level(&mut terrain, rules);
        self.findings
            .extend(noise.map(|finding| finding.in_file(&files)));
        if refused { Err(Refused) } else { Ok(terrain) }
    }
}
