//! What a picture must have besides being right: every kind of it stands alone, in both themes,
//! and is the same whenever it is drawn.

use lodestring::report::picture::{
    Look, Picture, Theme, draw_density, draw_flux, draw_mesh, draw_saturation, draw_section,
};

use super::{layer, polyline, scene, shipped, solved};

fn every_kind(look: &Look) -> Vec<(&'static str, Picture)> {
    let prepared = shipped("steel-pole-disc.toml");
    let field = solved(&prepared);
    let scene = scene(&prepared);
    vec![
        ("section", draw_section(&scene, None, look)),
        ("mesh", draw_mesh(&scene, field.mesh(), None, look)),
        ("flux", draw_flux(&scene, &field, None, 24, look)),
        ("density", draw_density(&scene, &field, None, 10, look)),
        ("saturation", draw_saturation(&scene, &field, None, 0.5, look)),
    ]
}

#[test]
fn every_kind_stands_alone_and_is_reproducible() {
    for theme in [Theme::Light, Theme::Dark] {
        let look = Look { theme, id: "p7".into(), ..Look::default() };
        let (once, again) = (every_kind(&look), every_kind(&look));
        for ((kind, picture), (_, other)) in once.iter().zip(&again) {
            assert_eq!(picture, other, "{kind}");
            let svg = roxmltree::Document::parse(&picture.svg).unwrap();
            let root = svg.root_element();
            assert_eq!(root.attribute("role"), Some("img"));
            assert_eq!(super::number(root, "width") as u32, picture.width);
            assert_eq!(super::number(root, "height") as u32, picture.height);
            let mut ids: Vec<&str> = svg.descendants().filter_map(|n| n.attribute("id")).collect();
            assert!(ids.iter().all(|id| id.starts_with("p7-")), "{kind}: {ids:?}");
            // What is referred to is there, once.
            for used in svg.descendants().flat_map(|n| n.attributes()) {
                if let Some(id) = used.value().strip_prefix("url(#") {
                    assert!(ids.contains(&id.trim_end_matches(')')), "{kind}: {}", used.value());
                }
            }
            let n = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(n, ids.len(), "{kind}: an id twice");
            assert!(!picture.svg.contains("NaN") && !picture.svg.contains("inf"), "{kind}");
        }
    }
}

#[test]
fn materials_differ_in_form_and_not_only_in_colour() {
    let prepared = shipped("steel-pole-disc.toml");
    let picture = draw_section(&scene(&prepared), None, &Look::default());
    let svg = roxmltree::Document::parse(&picture.svg).unwrap();
    let mut forms: Vec<String> = svg
        .descendants()
        .filter(|n| n.tag_name().name() == "pattern")
        .map(|n| {
            // The drawing without its colours.
            let inner: Vec<String> = n
                .descendants()
                .flat_map(|d| {
                    d.attributes()
                        .map(|a| (a.name().to_owned(), a.value().to_owned()))
                        .collect::<Vec<_>>()
                })
                .filter(|(name, _)| !["fill", "stroke", "id"].contains(&name.as_str()))
                .map(|(name, value)| format!("{name}={value}"))
                .collect();
            inner.join(" ")
        })
        .collect();
    let n = forms.len();
    assert!(n >= 4, "{n} materials");
    forms.sort();
    forms.dedup();
    assert_eq!(forms.len(), n, "two materials are hatched alike");
}

#[test]
fn what_is_saturated_is_marked_and_measured() {
    let prepared = shipped("steel-pole-disc.toml");
    let field = solved(&prepared);
    let shares = [0.2, 0.5, 0.8].map(|share| {
        let picture = draw_saturation(&scene(&prepared), &field, None, share, &Look::default());
        let svg = roxmltree::Document::parse(&picture.svg).unwrap();
        let marked: f64 = layer(&svg, "saturation")
            .filter(|n| n.attribute("fill").is_some_and(|fill| fill.ends_with("beyond)")))
            .map(|n| {
                n.attribute("d")
                    .unwrap()
                    .split_terminator('Z')
                    .map(|loop_| {
                        let (p, _) = polyline(loop_);
                        (0..p.len())
                            .map(|i| {
                                let q = p[(i + 1) % p.len()];
                                0.5 * (p[i][0] * q[1] - p[i][1] * q[0])
                            })
                            .sum::<f64>()
                    })
                    // Mirrored loops run the other way round.
                    .map(f64::abs)
                    .sum::<f64>()
            })
            .sum();
        marked
    });
    // The higher the share, the less is beyond it.
    assert!(shares[0] > shares[1] && shares[1] > shares[2], "{shares:?}");
    assert!(shares[0] > 100.0, "{shares:?}");
}
