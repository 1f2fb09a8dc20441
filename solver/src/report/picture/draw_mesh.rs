//! The mesh: every side of every triangle, curved where it follows an arc.

use crate::geometry::AIR;
use crate::mesh::Mesh;
use crate::point::Point;
use crate::report::picture::flux_lines::{right_half, triangles_in};
use crate::report::picture::scene::Scene;
use crate::report::picture::sheet::{Look, Picture, Sheet};
use crate::report::picture::svg::N;
use crate::report::picture::view::Window;
use crate::report::picture::{draw_section, key, parts};

/// Shorter sides are left out, px.
const SHORTEST: f64 = 0.35;

/// Draws the mesh. `window` (m) is what is shown at least; `None` shows all parts.
pub fn draw_mesh(scene: &Scene<'_>, mesh: &Mesh, window: Option<Window>, look: &Look) -> Picture {
    let window =
        window.unwrap_or_else(|| draw_section::with_room(scene.extent(), 40.0, look.width));
    let kind = format!("Mesh; {}", draw_section::symmetry(scene));
    let mut sheet = Sheet::new(&scene.section.title, &kind, window, look);
    let fills = scene.fills();
    parts::define(&mut sheet, &fills, 0.0);
    parts::fill(&mut sheet, scene, &fills);
    let seen = triangles_in(mesh, right_half(sheet.view.window, scene.is_round()), |_| true);
    let (air, solid) = (sheet.palette.muted.clone(), sheet.palette.ink.clone());
    for (colour, in_air) in [(air, true), (solid, false)] {
        let sides = sides(mesh, &seen, in_air);
        sheet.inside.put(format_args!(
            "<path data-layer=\"mesh\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"0.6\" d=\""
        ));
        for side in sides {
            draw(&mut sheet, scene, side);
        }
        sheet.inside.put(format_args!("\"/>\n"));
    }
    parts::outlines_over(&mut sheet, scene, 1.4, true);
    key::parts(&mut sheet, scene, &fills);
    sheet.caption(format!(
        "{} triangles of second order with {} nodes, {} of the triangles in this picture.",
        mesh.triangles.len(),
        mesh.nodes.len(),
        seen.len()
    ));
    sheet.finish()
}

/// Ends and middle of every side of the triangles in or out of air, each side once.
fn sides(mesh: &Mesh, seen: &[u32], in_air: bool) -> Vec<[Point; 3]> {
    let mut drawn = vec![false; mesh.nodes.len()];
    let mut sides = Vec::new();
    for &t in seen {
        if (mesh.region_of[t as usize] == AIR) != in_air {
            continue;
        }
        let nodes = &mesh.triangles[t as usize];
        for i in 0..3 {
            let middle = nodes[3 + i] as usize;
            if !std::mem::replace(&mut drawn[middle], true) {
                let at = |node: u32| mesh.nodes[node as usize];
                sides.push([at(nodes[i]), at(nodes[(i + 1) % 3]), mesh.nodes[middle]]);
            }
        }
    }
    sides
}

fn draw(sheet: &mut Sheet, scene: &Scene<'_>, [a, b, middle]: [Point; 3]) {
    let view = sheet.view;
    if a.distance(b) * view.scale < SHORTEST {
        return;
    }
    let reach = Window::EMPTY.with(a).with(b).with(middle);
    for mirrored in if scene.is_round() { &[false, true][..] } else { &[false][..] } {
        let (reach, flip) = if *mirrored { (reach.mirrored(), -1.0) } else { (reach, 1.0) };
        if !reach.meets(view.window) {
            continue;
        }
        let at = |p: Point| view.place(Point::new(flip * p.x, p.y));
        let ([ax, ay], [bx, by]) = (at(a), at(b));
        let bulge = (middle - (a + b) * 0.5).norm() * view.scale;
        if bulge < 0.05 {
            sheet.inside.put(format_args!("M{} {}L{} {}", N(ax), N(ay), N(bx), N(by)));
        } else {
            // A parabola through the middle has its control point twice as far out.
            let [cx, cy] = at(middle * 2.0 - (a + b) * 0.5);
            sheet.inside.put(format_args!(
                "M{} {}Q{} {} {} {}",
                N(ax),
                N(ay),
                N(cx),
                N(cy),
                N(bx),
                N(by)
            ));
        }
    }
}
