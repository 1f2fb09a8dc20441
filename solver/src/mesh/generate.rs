//! Regions to a mesh, the whole way.

use super::canonical::canonical;
use super::curved::{Curved, curve};
use super::cut::cut;
use super::error::MeshError;
use super::label::regions_of;
use super::mirror::{Symmetric, right_half, symmetric, with_reflection};
use super::model::Mesh;
use super::number::numbered;
use super::plan::Plan;
use super::predict::predict;
use super::size::SizeField;
use super::size_map::SizeMap;
use super::triangulate::{Triangulation, triangulate};
use crate::geometry::Regions;
use crate::point::Point;

/// Most triangles a mesh may have.
const MOST_TRIANGLES: usize = 3_000_000;

/// Meshes the regions: graded triangles of second order, sides on true arcs.
///
/// # Errors
///
/// [`MeshError::TooLarge`] when it would take more than three million triangles, told before the
/// memory is spent; [`MeshError::Crossing`] and the others where the arrangement cannot be
/// triangulated.
pub fn mesh(regions: &Regions) -> Result<Mesh, MeshError> {
    mesh_of(regions, None, MOST_TRIANGLES)
}

/// As [`mesh`], of at most `most` triangles: work and memory are bounded by it.
///
/// # Errors
///
/// As [`mesh`], with this limit.
pub fn mesh_within(regions: &Regions, most: usize) -> Result<Mesh, MeshError> {
    mesh_of(regions, None, most.min(MOST_TRIANGLES))
}

/// As [`mesh`], with sizes that an earlier solve asks for.
///
/// # Errors
///
/// As [`mesh`].
pub fn mesh_with(regions: &Regions, wanted: Option<&SizeMap>) -> Result<Mesh, MeshError> {
    mesh_of(regions, wanted, MOST_TRIANGLES)
}

fn mesh_of(regions: &Regions, wanted: Option<&SizeMap>, most: usize) -> Result<Mesh, MeshError> {
    let scale = regions.mesh_scale;
    if !(0.01..=100.0).contains(&scale) {
        return Err(MeshError::Scale(scale));
    }
    let (plan, flipped) = canonical(Plan::new(regions));
    let mirror = symmetric(&plan);
    let plan = match &mirror {
        Some(_) => plan.with_mirrored_lines(),
        None => plan,
    };
    let mapped =
        wanted.map(|map| map.in_plan(|p| plan.placed(p), plan.unit, flipped, mirror.is_some()));
    let sizes = SizeField::new(&plan).with(mapped);
    let triangles = predict(&plan, &sizes, most);
    if triangles > most {
        return Err(MeshError::TooLarge { triangles, limit: most });
    }
    let curved = numbered(match mirror {
        Some(Symmetric { partner }) => {
            with_reflection(curved_mesh(&right_half(&plan), &sizes, most)?, &partner)
        }
        None => curved_mesh(&plan, &sizes, most)?,
    });
    Ok(in_metres(regions, &plan, &curved, flipped))
}

/// The part of the domain that `plan` describes, meshed.
fn curved_mesh(plan: &Plan, sizes: &SizeField, most: usize) -> Result<Curved, MeshError> {
    let flat = flat_mesh(plan, sizes, most)?;
    let region_of = regions_of(plan, &flat)?;
    Ok(curve(plan, flat, region_of))
}

/// Straight-sided triangles. Where the chords of an arc cross a neighbour, the arcs are cut more
/// finely and it is tried again.
fn flat_mesh(
    plan: &Plan,
    sizes: &SizeField,
    most_triangles: usize,
) -> Result<Triangulation, MeshError> {
    // A vertex stands for about two triangles.
    let most = most_triangles / 2;
    let mut outcome = Err(MeshError::TooLarge { triangles: 0, limit: most_triangles });
    for finer in [1.0, 3.0, 9.0, 27.0] {
        let cut = cut(plan, sizes, finer, most);
        if cut.points.len() > most {
            return Err(MeshError::TooLarge {
                triangles: 2 * cut.points.len(),
                limit: most_triangles,
            });
        }
        outcome = triangulate(plan, &cut, sizes, most);
        if !matches!(outcome, Err(MeshError::Crossing { .. })) {
            break;
        }
    }
    outcome
}

/// The mesh in the section's own place and size. `flipped` says that the plan is the mirror image
/// of the section.
fn in_metres(regions: &Regions, plan: &Plan, curved: &Curved, flipped: bool) -> Mesh {
    let place = |p: &Point| {
        let x = if flipped { -p.x } else { p.x };
        plan.metres(Point::new(x, p.y))
    };
    let n = curved.points.len() as u32;
    let triangles = curved.triangles.iter().zip(&curved.sides_of).map(|(&[a, b, c], s)| {
        let [ab, bc, ca] = s.map(|s| n + s);
        // A mirrored triangle runs the other way round.
        if flipped { [a, c, b, ca, bc, ab] } else { [a, b, c, ab, bc, ca] }
    });
    let mut outer_nodes: Vec<u32> = (0..curved.ends.len())
        .filter(|&s| curved.outer[s])
        .flat_map(|s| [curved.ends[s][0], curved.ends[s][1], n + s as u32])
        .collect();
    outer_nodes.sort_unstable();
    outer_nodes.dedup();
    Mesh {
        symmetry: plan.symmetry,
        nodes: curved.points.iter().chain(&curved.middles).map(place).collect(),
        n_vertices: curved.points.len(),
        triangles: triangles.collect(),
        region_of: curved.region_of.clone(),
        regions: regions.regions.clone(),
        outer_nodes,
        flattened_area: curved.flattened_area * plan.unit * plan.unit,
        outer_radius: regions.outer_radius,
        centre: regions.centre,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::samples::{
        empty, lone_rod, mm, named, part, rectangle, regions, six_rods,
    };
    use crate::section::{Role, Shape, StringRun, Symmetry};
    use crate::units::MM;

    fn checked(section: &crate::section::Section) -> Mesh {
        let mesh = mesh(&regions(section)).expect("a sample can be meshed");
        assert_eq!(mesh.check(), Ok(()));
        mesh
    }

    #[test]
    fn six_rods_are_economical_and_well_shaped() {
        let q = checked(&six_rods()).quality();
        // The budget of the default mesh; below it the strings are not resolved.
        assert!((20_000..55_000).contains(&q.nodes), "{q:?}");
        assert!(q.least_angle >= 25.0, "{q:?}");
    }

    #[test]
    fn lone_rod_is_economical_and_well_shaped() {
        let q = checked(&lone_rod()).quality();
        assert!((4_000..14_000).contains(&q.nodes), "{q:?}");
        assert!(q.least_angle >= 25.0, "{q:?}");
    }

    /// Triangles get their region from the edges around them; looking their centres up in the
    /// outlines must give the same.
    #[test]
    fn triangles_lie_in_the_region_they_name() {
        let mut pierced = six_rods();
        let mut plate = part("plate", Role::BasePlate, rectangle(70.0, 2.0), mm(0.0, -15.0));
        plate.passes_through.push(named("coil"));
        pierced.parts.push(plate);
        for rod in &mut pierced.parts[..6] {
            rod.passes_through.push(named("plate"));
        }
        for section in [six_rods(), lone_rod(), pierced] {
            let regions = regions(&section);
            let mesh = checked(&section);
            let mut seen = vec![false; regions.regions.len()];
            for t in 0..mesh.triangles.len() {
                let p = mesh.triangle_nodes(t);
                let middle = (p[0] + p[1] + p[2]) * (1.0 / 3.0);
                assert_eq!(regions.region_at(middle), mesh.region_of[t], "{middle:?}");
                seen[mesh.region_of[t] as usize] = true;
            }
            assert!(seen.iter().all(|s| *s));
        }
    }

    #[test]
    fn foil_and_thin_string_in_a_wide_domain() {
        let mut s = six_rods();
        s.parts.push(part("foil", Role::Cover, rectangle(64.0, 0.1), mm(0.0, 0.05)));
        s.strings[5].gauge = 0.23 * MM;
        s.strings[5].core_diameter = 0.23 * MM;
        s.outer_radius = Some(200.0 * MM);
        let q = checked(&s).quality();
        assert!(q.nodes < 100_000 && q.least_angle >= 25.0, "{q:?}");
    }

    #[test]
    fn a_round_bar_on_a_plate_leaves_a_cusp() {
        let mut s = empty(Symmetry::Planar, StringRun::Through);
        s.parts.push(part("plate", Role::BasePlate, rectangle(20.0, 3.0), mm(0.0, -1.5)));
        let bar = Shape::Circle { radius: 2.5 * MM };
        s.parts.push(part("bar", Role::Magnet, bar, mm(1.0, 2.5)));
        let q = checked(&s).quality();
        assert!(q.nodes < 30_000, "{q:?}");
    }

    /// A known limit: the chords of the inner circle cross those of the outer one.
    #[test]
    fn circles_that_touch_from_within_are_refused_in_words() {
        let mut s = empty(Symmetry::Planar, StringRun::InPlane);
        let circle = |radius: f64| Shape::Circle { radius: radius * MM };
        s.parts.push(part("outer", Role::Body, circle(3.0), mm(6.5, -4.0)));
        s.parts.push(part("inner", Role::Body, circle(2.0), mm(5.5, -4.0)));
        s.parts[1].passes_through.push(named("outer"));
        let refused = mesh(&regions(&s)).expect_err("they touch in a point").to_string();
        assert!(refused.contains("near (3.50"), "{refused}");
        assert!(refused.ends_with("or touch along more than a point"), "{refused}");
    }

    #[test]
    fn too_fine_a_mesh_is_refused_before_it_is_made() {
        let mut r = regions(&six_rods());
        r.mesh_scale = 0.05;
        let refused = mesh(&r).expect_err("some ten million triangles");
        assert!(
            matches!(refused, MeshError::TooLarge { triangles, .. } if triangles > MOST_TRIANGLES)
        );
        r.mesh_scale = f64::NAN;
        assert!(matches!(mesh(&r), Err(MeshError::Scale(_))));
    }

    #[test]
    fn half_the_scale_makes_about_four_times_the_triangles() {
        let mut r = regions(&six_rods());
        let one = mesh(&r).expect("meshes");
        r.mesh_scale = 0.5;
        let fine = mesh(&r).expect("meshes");
        assert_eq!(fine.check(), Ok(()));
        let ratio = fine.triangles.len() as f64 / one.triangles.len() as f64;
        // The far field grows by less: its sides are bound to 24 to a circle.
        assert!((3.2..4.6).contains(&ratio), "{ratio}");
    }

    #[test]
    fn a_larger_scale_does_not_make_a_finer_mesh() {
        for section in [six_rods(), lone_rod()] {
            let mut r = regions(&section);
            let mut last = usize::MAX;
            for scale in [2.0, 8.0, 32.0] {
                r.mesh_scale = scale;
                let mesh = mesh(&r).expect("meshes");
                assert_eq!(mesh.check(), Ok(()));
                let now = mesh.triangles.len();
                // Where the parts alone make the mesh its triangles fall now so, now so: by 8 % here.
                assert!(now as f64 <= 1.15 * last as f64, "{scale}: {now} after {last}");
                last = now;
            }
        }
    }

    /// What is predicted decides whether a mesh is made at all.
    #[test]
    fn the_prediction_is_near_what_is_made() {
        for section in [six_rods(), lone_rod()] {
            let plan = Plan::new(&regions(&section));
            let predicted = predict(&plan, &SizeField::new(&plan), usize::MAX) as f64;
            let made = checked(&section).triangles.len() as f64;
            assert!((0.6..1.6).contains(&(predicted / made)), "{predicted} {made}");
        }
    }
}
