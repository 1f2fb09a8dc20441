//! The shipped instruments: their files read, and their strings are such as hold.

use lodestring::problem::render;
use lodestring::section::{ParsedInstrument, parse_instrument};
use lodestring::strings::tuning::Wire;

/// The shipped sets pull as strings are known to: 40 to 130 N each on a guitar, 120 to 220 N on a
/// bass, and no core beyond 2000 N/mm2, the most that music wire is drawn to.
#[test]
fn every_shipped_instrument_reads_and_holds() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../meshes/instruments");
    let mut seen = 0;
    for file in std::fs::read_dir(folder).expect("the folder is there") {
        let path = file.expect("readable").path();
        let text = std::fs::read_to_string(&path).expect("readable");
        let ParsedInstrument { instrument, problems } = parse_instrument(&text);
        let shown = render(&problems, &text, &path.display().to_string());
        assert!(problems.is_empty(), "{shown}");
        let range = if instrument.scale > 0.8 { 120.0..220.0 } else { 40.0..130.0 };
        for string in &instrument.strings {
            let wire = match string.core_diameter {
                None => Wire::plain(string.gauge),
                Some(core) => Wire::wound(string.gauge, core),
            };
            let tension = wire.tension(instrument.scale, string.pitch);
            let what = format!("{} of {}", string.name, path.display());
            assert!(range.contains(&tension), "{what}: {tension} N");
            assert!(wire.stress(tension) < 2000e6, "{what}: {:e} Pa", wire.stress(tension));
        }
        seen += 1;
    }
    assert!(seen >= 4, "only {seen} instruments found");
}
