//! Text from a section file comes out as text, whatever it holds.

use lodestring::report::picture::{Look, draw_flux, draw_section};
use lodestring::report::png::png;

use super::{prepared, scene, solved};

/// A rod with this title and name, both cut to what a section file may hold.
fn section(title: &str, name: &str) -> String {
    let cut = |text: &str, most| text.chars().take(most).collect::<String>().trim().to_owned();
    let (title, name) = (&cut(title, 200), &cut(name, 64));
    let text = |s: &str| serde_json::to_string(s).unwrap();
    format!(
        r#"
        format = 1
        title = {}
        symmetry = "axisymmetric"
        [[part]]
        name = {}
        role = "magnet"
        material = "alnico 5"
        rectangle = {{ width = "5 mm", height = "5 mm" }}
        at = ["0 mm", "0 mm"]
        anchor = "top"
        charge = "up"
        "#,
        text(title),
        text(name)
    )
}

const NASTY: [&str; 7] = [
    "</text><script>alert(1)</script>",
    "\"><image href='http://example.invalid/x.png'/>",
    "]]> <!-- & &amp; &#x3c; 'quoted' \"twice\"",
    "\u{5de}\u{5d2}\u{5e0}\u{5d8} \u{5d7}\u{5d6}\u{5e7} (alnico 5) \u{645}\u{63a}\u{646}\u{627}\u{637}\u{64a}\u{633}",
    "\u{202e}desrever\u{202c} \u{2066}isolated\u{2069} \u{200f}marked",
    "\u{1f9f2}\u{1f3b8} \u{78c1}\u{94c1} n\u{303}e\u{301}",
    "a name that never ends, ",
];

#[test]
fn nothing_in_a_title_or_name_becomes_markup() {
    for nasty in NASTY {
        let long = nasty.repeat(if nasty.ends_with(' ') { 8 } else { 1 });
        let long = long.trim();
        let prepared = prepared(&section(long, long));
        let picture = draw_section(&scene(&prepared), None, &Look::default());
        let svg = roxmltree::Document::parse(&picture.svg).unwrap();
        let allowed = [
            "svg", "title", "desc", "defs", "clipPath", "pattern", "g", "rect", "path", "circle",
            "text",
        ];
        for node in svg.descendants().filter(roxmltree::Node::is_element) {
            let name = node.tag_name().name();
            assert!(allowed.contains(&name), "{name} from {nasty}");
            for attribute in node.attributes() {
                assert!(!attribute.name().starts_with("on") && attribute.name() != "href");
                assert!(
                    !attribute.value().contains("url(") || attribute.value().starts_with("url(#")
                );
            }
        }
        // The title is all there for those who hear it, without what would turn other text round.
        let said = svg.descendants().find(|n| n.tag_name().name() == "title").unwrap();
        let kept: String = long
            .chars()
            .filter(|c| {
                !('\u{202a}'..='\u{202e}').contains(c) && !('\u{2066}'..='\u{2069}').contains(c)
            })
            .collect();
        assert_eq!(said.text().unwrap(), kept);
        // And a PNG comes of it.
        assert!(png(&picture, 1.0).unwrap().starts_with(b"\x89PNG"));
    }
}

#[test]
fn type_stays_on_the_picture() {
    let long = "very long indeed ".repeat(12);
    let long = long.trim();
    let prepared = prepared(&section(long, long));
    for width in [360.0, 960.0] {
        let look = Look { width, ..Look::default() };
        let picture = draw_flux(&scene(&prepared), &solved(&prepared), None, 20, &look);
        // Every letter drawn: nothing but paper along the picture's edges.
        let (columns, rows, pixels) = super::pixels(&picture, 1);
        let paper = &pixels[..3];
        for y in 0..rows {
            for x in (0..4).chain(columns - 4..columns) {
                let at = 4 * (y * columns + x);
                assert_eq!(&pixels[at..at + 3], paper, "{width}: something at ({x}, {y})");
            }
        }
        for x in 0..columns {
            let at = 4 * ((rows - 3) * columns + x);
            assert_eq!(&pixels[at..at + 3], paper, "{width}: something at the bottom, {x}");
        }
    }
}
