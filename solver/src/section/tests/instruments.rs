//! Instrument files: what they mean, and what is said of mistakes in them.

use crate::problem::render;
use crate::section::{ParsedInstrument, parse_instrument};

const GOOD: &str = "format = 1
title = \"two strings\"
scale = \"25.5 in\"
frets = 21
action = \"1.8 mm\"
nut_height = \"0.5 mm\"
pickup = { from_bridge = \"160 mm\", slant = 10, spacing = \"10.5 mm\" }

[[string]]
name = \"E2\"
pitch = \"E2\"
gauge = \"0.046 in\"
core_diameter = \"0.017 in\"

[[string]]
name = \"E4\"
pitch = 330
gauge = \"0.010 in\"
";

fn said(text: &str) -> String {
    let ParsedInstrument { problems, .. } = parse_instrument(text);
    render(&problems, text, "f")
}

#[test]
fn a_good_file_means_what_it_says() {
    let ParsedInstrument { instrument, problems } = parse_instrument(GOOD);
    assert!(problems.is_empty(), "{}", said(GOOD));
    assert_eq!((instrument.frets, instrument.strings.len()), (21, 2));
    assert!((instrument.scale - 0.6477).abs() < 1e-15);
    let [low, high] = [&instrument.strings[0], &instrument.strings[1]];
    assert!((low.pitch - 82.407).abs() < 1e-3 && high.pitch == 330.0);
    assert!(low.core_diameter.is_some() && high.core_diameter.is_none());
    // Half a spacing to either side of the middle, tan 10 degrees = 0.176327.
    let step = 10.5e-3 * 0.176_326_980_7;
    assert!((low.from_bridge - (0.16 + 0.5 * step)).abs() < 1e-12);
    assert!((high.from_bridge - (0.16 - 0.5 * step)).abs() < 1e-12);
}

#[test]
fn mistakes_are_all_said() {
    let text = "format = 1
scale = \"4 m\"
action = \"0.2 mm\"
nut_height = \"0.5 mm\"
pickup = { from_bridge = \"160 mm\", slant = 10 }
strnig = 3
[[string]]
name = \"E2\"
pitch = \"H2\"
gauge = \"0.010 in\"
core_diameter = \"0.02 in\"
";
    let all = said(text);
    for part in [
        "unknown key `strnig`",
        "did you mean `string`?",
        "`scale` is 4000 mm",
        "strings would meet the frets before the bridge",
        "`slant` but no `spacing`",
        "no pitch of a string: \"H2\"",
        "no less than the gauge",
    ] {
        assert!(all.contains(part), "{part} not in\n{all}");
    }
    assert!(said("").contains("has no `scale`"));
    let beyond = GOOD.replace("\"160 mm\"", "\"700 mm\"");
    assert!(said(&beyond).contains("beyond the nut"));
    let off = GOOD.replace("slant = 10", "slant = 79").replace("160 mm", "20 mm");
    assert!(said(&off).contains("does not pass under string `E4`"));
}
