//! Which region holds a point.

use super::cover::on_top;
use super::model::{AIR, OUTSIDE, RegionId, Regions};
use crate::point::Point;

impl Regions {
    /// The region that holds `point`: of all that cover it, the one no other passes through.
    /// [`AIR`] where there is none, [`OUTSIDE`] beyond the outer boundary. On an edge it is one of
    /// the regions beside it.
    pub fn region_at(&self, point: Point) -> RegionId {
        let covering: Vec<RegionId> = (0..self.regions.len() as RegionId)
            .filter(|&r| {
                let outline = self.regions[r as usize].outline.as_ref();
                outline.is_some_and(|o| o.bounds().holds(point) && o.contains(point))
            })
            .collect();
        match on_top(&covering, &self.displaced_by) {
            Some(region) => region,
            None if point.distance(self.centre) > self.outer_radius => OUTSIDE,
            None => AIR,
        }
    }
}
