//! A field carried to another mesh of the same section: where Newton's method begins there.
//!
//! In: two meshes, and unknowns on the first. Out: u at the nodes of the second, read from the triangle
//! of the first that holds each. It is not the field on the second mesh, only near it: what the two
//! meshes do not have in common is left to the solve.

use rayon::prelude::*;

use crate::field::solution::Field;
use crate::mesh::reference::shape;
use crate::mesh::{Locator, Mesh};

/// Where the nodes of one mesh lie in another.
#[derive(Debug)]
pub struct Transfer<'a> {
    to: &'a Mesh,
    /// Triangle and reference coordinates of each node; `None` outside. `[n_nodes]`.
    places: Vec<Option<(usize, [f64; 2])>>,
}

impl<'a> Transfer<'a> {
    /// Finds the nodes of `to` in `from`.
    pub fn new(from: &Mesh, to: &'a Mesh) -> Self {
        let locator = Locator::new(from);
        let places = to.nodes.par_iter().map(|&node| locator.locate(node)).collect();
        Self { to, places }
    }

    /// The unknowns of `field`, which is one on the first mesh, at the nodes of the second; beyond the
    /// first mesh those of the field laid on from far away. `[n_nodes]`.
    pub fn nodal(&self, field: &Field) -> Vec<f64> {
        let symmetry = field.mesh().symmetry;
        let places = self.places.iter().zip(&self.to.nodes);
        places
            .map(|(place, &node)| match *place {
                Some((t, [xi, eta])) => {
                    field.of_triangle(t).iter().zip(shape(xi, eta)).map(|(u, n)| u * n).sum()
                }
                None => field.setup().boundary_value(symmetry, node),
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::field::{Body, Setup, Space};
    use crate::geometry::Source;
    use crate::mesh::structured;
    use crate::point::Point;
    use crate::section::Symmetry;

    /// The flux density of a uniform field is the same whatever the mesh, and its unknowns are linear
    /// in the place: carried over they are exact to rounding, also where the meshes share no node.
    #[test]
    fn carries_a_uniform_field_exactly() {
        let sources: [Source; 0] = [];
        let grid = |n| {
            let (low, high) = (Point::new(-1.0, -1.0), Point::new(1.0, 1.0));
            structured::rectangle(Symmetry::Planar, low, high, n, &sources, |_| 0)
        };
        let (coarse, fine) = (grid(4), grid(7));
        let space = Arc::new(Space::of_potential(Arc::new(coarse)).expect("memory"));
        let setup = Setup { applied_field: [0.3, -0.2], ..Setup::new(vec![Body::air()]) };
        let field = Field::solve(space, setup).expect("linear");
        let carried = Transfer::new(field.mesh(), &fine).nodal(&field);
        for (node, value) in fine.nodes.iter().zip(&carried) {
            let exact = 0.3 * node.y + 0.2 * node.x;
            // Some roundings of numbers below one, and those of the solve.
            assert!((value - exact).abs() < 1e-13, "{node:?}: {value} against {exact}");
        }
        let beyond = grid(1);
        let far = Mesh { nodes: beyond.nodes.iter().map(|&p| p * 3.0).collect(), ..beyond };
        let carried = Transfer::new(field.mesh(), &far).nodal(&field);
        assert!((carried[0] - (0.3 * far.nodes[0].y + 0.2 * far.nodes[0].x)).abs() < 1e-13);
    }
}
