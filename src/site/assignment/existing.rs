//! Which parcel each feature of an existing system belongs to.

use super::{Assignment, parcel_at};
use crate::finding::Finding;
use crate::site::feature::{Feature, Layer};

/// Features of one parcel out of several layers: layer, feature.
pub(crate) type Picked = Vec<(usize, usize)>;

/// The layers of an existing system.
#[derive(Debug, Clone, Default)]
pub(crate) struct ExistingLayers {
    pub(crate) heads: Vec<Layer>,
    pub(crate) pipes: Vec<Layer>,
    pub(crate) valves: Vec<Layer>,
}

/// One parcel's part of them.
#[derive(Debug, Clone, Default)]
pub(crate) struct ExistingPicked {
    pub(crate) heads: Picked,
    pub(crate) pipes: Picked,
    pub(crate) valves: Picked,
}

impl Assignment {
    /// Gives every feature of the existing system to its parcel; what lies in none is told.
    pub(super) fn existing(&mut self, layers: &ExistingLayers) {
        type Part = fn(&mut ExistingPicked) -> &mut Picked;
        let parts: [(&[Layer], Part); 3] = [
            (&layers.heads, |picked| &mut picked.heads),
            (&layers.pipes, |picked| &mut picked.pipes),
            (&layers.valves, |picked| &mut picked.valves),
        ];
        for (of_kind, part) in parts {
            for (number, layer) in of_kind.iter().enumerate() {
                for (index, feature) in layer.features.iter().enumerate() {
                    let parcel = self.parcel_of(feature, layer);
                    match parcel.and_then(|name| self.members.get_mut(&name)) {
                        Some(member) => part(&mut member.existing).push((number, index)),
                        None => {
                            let message = "lies in no parcel, nor near one, and is not looked at: draw the parcel round it, or take it out.";
                            self.tell(
                                layer,
                                feature,
                                Finding::warning("existing_in_no_parcel", message),
                            );
                        }
                    }
                }
            }
        }
    }

    /// The parcel a feature names, else the one that any of its points lies in.
    fn parcel_of(&mut self, feature: &Feature, layer: &Layer) -> Option<String> {
        if let Some(named) = self.named_parcel(feature, layer) {
            return Some(named);
        }
        let places = feature.shape.coords();
        let mut places = places.iter().map(|at| self.plane.at(at));
        places.find_map(|at| parcel_at(at, &self.grounds))
    }
}
