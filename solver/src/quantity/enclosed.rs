//! Which triangles lie together in air, or together in one part, with nothing else between them.
//!
//! In: a field. Out: for each triangle of its mesh the room that it lies in: triangles of one room are joined
//! by sides that they share, all of one region or all as permeable as air. The bore of a shield is another
//! room than the air around it, and how large the field and its errors are in one says nothing of the other.

use crate::field::Field;
use crate::material::Law;

/// The room of each triangle, as the lowest triangle in it, `[n_triangles]`.
pub fn rooms(field: &Field) -> Vec<u32> {
    let mesh = field.mesh();
    let bodies = &field.setup().bodies;
    let like_air: Vec<bool> =
        bodies.iter().map(|b| matches!(b.law, Law::Linear { mu_r } if mu_r == 1.0)).collect();
    let joined = |a: usize, b: usize| {
        let [a, b] = [a, b].map(|t| mesh.region_of[t] as usize);
        a == b || like_air[a] && like_air[b]
    };
    let mut room: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
    // The first triangle at each mid-side node; two share one.
    let mut first: Vec<Option<u32>> = vec![None; mesh.nodes.len()];
    for (t, nodes) in mesh.triangles.iter().enumerate() {
        for &middle in &nodes[3..] {
            match first[middle as usize] {
                None => first[middle as usize] = Some(t as u32),
                Some(other) if joined(t, other as usize) => {
                    let (a, b) = (root(&mut room, t as u32), root(&mut room, other));
                    room[a.max(b) as usize] = a.min(b);
                }
                Some(_) => {}
            }
        }
    }
    (0..room.len() as u32).map(|t| root(&mut room, t)).collect()
}

/// The lowest triangle that `t` is joined to so far; halves the way there.
fn root(room: &mut [u32], mut t: u32) -> u32 {
    while room[t as usize] != t {
        let above = room[room[t as usize] as usize];
        room[t as usize] = above;
        t = above;
    }
    t
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::material::Library;
    use crate::mesh::Locator;
    use crate::pipeline::{fields, prepare};
    use crate::point::Point;

    /// A box of four bars: the air in it is the region of that outside.
    #[test]
    fn air_in_a_box_is_a_room_of_its_own_and_a_coil_is_not() {
        let bar = |name: &str, [width, height]: [f64; 2], [x, y]: [f64; 2]| {
            format!(
                "[[part]]\nname = \"{name}\"\nrole = \"cover\"\nmaterial = \"steel\"\n\
                 rectangle = {{ width = \"{width} mm\", height = \"{height} mm\" }}\n\
                 at = [\"{x} mm\", \"{y} mm\"]\n"
            )
        };
        let text = [
            "format = 1\ntitle = \"box\"\nsymmetry = \"planar\"\nstrings_run = \"through\"\n\
             mesh_scale = 4\napplied_field_T = [0, 0.01]\n\
             [[material]]\nname = \"steel\"\nlaw = \"linear\"\npermeability = 1000\n"
                .to_owned(),
            bar("left", [2.0, 12.0], [-9.0, 0.0]),
            bar("right", [2.0, 12.0], [9.0, 0.0]),
            bar("upper", [20.0, 2.0], [0.0, 7.0]),
            bar("lower", [20.0, 2.0], [0.0, -7.0]),
            "[[coil]]\nname = \"coil\"\nturns = 100\nwire = \"42 awg\"\nwindow = { rectangle = \
             { x = [\"13 mm\", \"16 mm\"], y = [\"-3 mm\", \"3 mm\"] }, mirror = \"0 mm\" }\n"
                .to_owned(),
        ];
        let prepared = prepare(&text.concat(), &Library::built_in()).expect("no mistakes");
        let fields = fields(&prepared).expect("solves");
        let rooms = rooms(&fields.without);
        let locator = Locator::new(&fields.mesh);
        let at = |x: f64, y: f64| {
            let (t, _) = locator.locate(Point::new(x * 1e-3, y * 1e-3)).expect("in the mesh");
            rooms[t]
        };
        let (inside, outside) = (at(0.0, 0.0), at(0.0, 20.0));
        assert_ne!(inside, outside);
        assert_eq!(at(-7.9, 5.9), inside);
        assert_eq!([at(-40.0, -3.0), at(14.0, 0.0), at(-14.0, 0.0)], [outside; 3]);
        let walls = [at(-9.0, 0.0), at(9.0, 0.0), at(0.0, 7.0), at(0.0, -7.0)];
        let mut all = [walls.as_slice(), &[inside, outside]].concat();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), 6, "each bar is a part of its own");
    }
}
