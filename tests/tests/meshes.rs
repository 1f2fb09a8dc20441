//! Every shipped section is arranged and meshed, and every mesh is sound.

use std::path::Path;

use lodestring::geometry::arrange;
use lodestring::mesh::mesh;
use lodestring::section::parse;

#[test]
fn every_shipped_section_meshes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../meshes");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .expect("the folder of sections is there")
        .map(|f| f.expect("its files can be listed").path())
        .filter(|f| f.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    assert!(files.len() >= 5, "{files:?}");
    for file in files {
        let text = std::fs::read_to_string(&file).expect("a section can be read");
        let parsed = parse(&text);
        assert_eq!(parsed.problems, Vec::new(), "{file:?}");
        let arranged = arrange(&parsed.section);
        assert_eq!(arranged.problems, Vec::new(), "{file:?}");
        let mesh = mesh(&arranged.regions.expect("no problems")).expect("a shipped section meshes");
        assert_eq!(mesh.check(), Ok(()), "{file:?}");
        let quality = mesh.quality();
        assert!(quality.least_angle >= 25.0, "{file:?}: {quality:?}");
        // The default mesh is economical: half a second is promised at 50 000 unknowns.
        assert!(quality.nodes < 60_000, "{file:?}: {quality:?}");
    }
}
