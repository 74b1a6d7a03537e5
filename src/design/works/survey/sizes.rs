//! Sizes of surveyed pipe: of the catalogue by name and bore, else as they lie, else as the rules assume.

use super::goods::listed;
use crate::brief::{Catalogue, Friction, PipeSize, Rules};
use crate::finding::Finding;
use crate::site::existing::ExistingPipe;
use crate::site::{Parcel, ServicePipe};

/// Departure of a surveyed bore from the catalogue's up to which both are one size, as a share.
const BORE_GRACE: f64 = 0.02;
/// Outside diameter over bore of a size that only lies in the ground. Common practice, no source; only trenches are wider by it.
const OUTSIDE_OVER_BORE: f64 = 1.12;
/// Rating of laid pipe where none is told, kPa: so high that it is not judged.
const RATING_UNKNOWN_KPA: f64 = 10_000.0;
/// Whether neither words nor bore tell a pipe's size.
fn is_sizeless(pipe: &ExistingPipe, catalogue: &Catalogue) -> bool {
    pipe.inside_mm.is_none() && named(pipe, catalogue).is_none()
}

fn assumed_mm(pipe: &ExistingPipe, rules: &Rules) -> f64 {
    if pipe.is_main == Some(true) {
        rules.existing_main_mm
    } else {
        rules.existing_lateral_mm
    }
}

/// Tells the pipes whose size a rule assumes.
pub(super) fn tell_assumed(
    parcel: &Parcel,
    catalogue: &Catalogue,
    rules: &Rules,
    findings: &mut Vec<Finding>,
) {
    let assumed = parcel.existing.pipes.iter();
    let assumed = assumed
        .filter(|pipe| is_sizeless(pipe, catalogue) && assumed_mm(pipe, rules) > 0.0)
        .map(|pipe| pipe.from.id.as_str());
    let assumed: Vec<&str> = assumed.collect();
    if assumed.is_empty() {
        return;
    }
    let message = format!(
        "{} pipes without a size are reckoned with the bore that the rules existing_lateral_mm and existing_main_mm assume: {}. Dig one up, and give the true size.",
        assumed.len(),
        listed(assumed.into_iter())
    );
    findings.push(Finding::warning("existing_size_assumed", message));
}

/// The catalogue's size of that nominal size and material; of that nominal size alone where only one material has it.
fn named(pipe: &ExistingPipe, catalogue: &Catalogue) -> Option<usize> {
    let nominal = pipe.nominal.as_deref()?;
    let of_nominal = |size: &PipeSize| size.nominal.eq_ignore_ascii_case(nominal);
    let of_material = |size: &PipeSize| match &pipe.material {
        Some(material) => size.material.eq_ignore_ascii_case(material),
        None => true,
    };
    let mut found = (0..catalogue.pipes.len()).filter(|&i| {
        let size = &catalogue.pipes[i];
        of_nominal(size) && of_material(size)
    });
    let first = found.next()?;
    (pipe.material.is_some() || found.next().is_none()).then_some(first)
}

/// The size of a pipe: its place in the catalogue, or among the new ones behind it; `None` where nothing tells it.
pub(super) fn size_of(
    pipe: &ExistingPipe,
    catalogue: &Catalogue,
    rules: &Rules,
    new_sizes: &mut Vec<PipeSize>,
) -> Option<usize> {
    let own = named(pipe, catalogue);
    let inside_mm = match (own, pipe.inside_mm) {
        (Some(size), None) => return Some(size),
        (Some(size), Some(mm)) => {
            let of_catalogue = &catalogue.pipes[size];
            let near = |told: Option<f64>, known: f64| {
                told.is_none_or(|told| (told / known - 1.0).abs() <= BORE_GRACE)
            };
            if near(Some(mm), of_catalogue.inside_mm)
                && near(pipe.roughness_c, of_catalogue.roughness_c)
            {
                return Some(size);
            }
            mm
        }
        (None, Some(mm)) => mm,
        (None, None) => Some(assumed_mm(pipe, rules)).filter(|mm| *mm > 0.0)?,
    };
    let size = laid_size(pipe, inside_mm);
    let known = new_sizes.iter().position(|known| *known == size);
    Some(
        catalogue.pipes.len()
            + known.unwrap_or_else(|| {
                new_sizes.push(size);
                new_sizes.len() - 1
            }),
    )
}

fn laid_size(pipe: &ExistingPipe, inside_mm: f64) -> PipeSize {
    PipeSize {
        nominal: pipe
            .nominal
            .clone()
            .unwrap_or_else(|| format!("{inside_mm:.0} inside")),
        material: pipe
            .material
            .clone()
            .unwrap_or_else(|| "as laid".to_owned()),
        outside_mm: inside_mm * OUTSIDE_OVER_BORE,
        inside_mm,
        roughness_c: pipe.roughness_c.unwrap_or(ServicePipe::ROUGHNESS_C),
        roughness_mm: PipeSize::PLASTIC_ROUGHNESS_MM,
        friction: Friction::default(),
        rating_kpa: pipe.rating_kpa.unwrap_or(RATING_UNKNOWN_KPA),
        coil_m: 100.0,
        price_per_m: 0.0,
        only_laid: true,
    }
}
