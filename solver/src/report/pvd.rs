//! A list of grid files that belong together (`.pvd`), for viewers that play a study as a film.
//!
//! In: for each file a number that stands for time, which of the things shown at that time it is,
//! and its path. Out: XML.

use std::io::{self, Write};

use crate::report::vtk::push_escaped;

/// One file of a collection.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Stands for time: the number of the case.
    pub step: f64,
    /// Which of the things shown at that step: 0 the section, 1 the strings.
    pub part: u32,
    /// What that is, in words.
    pub name: String,
    /// The file, relative to the collection, with `/` between folders.
    pub file: String,
}

/// Writes a collection.
///
/// # Errors
/// `out` failed.
pub fn write_pvd(entries: &[Entry], out: &mut impl Write) -> io::Result<()> {
    let mut xml = String::from(concat!(
        "<?xml version=\"1.0\"?>\n",
        "<VTKFile type=\"Collection\" version=\"1.0\" byte_order=\"LittleEndian\">\n",
        "  <Collection>\n"
    ));
    for Entry { step, part, name, file } in entries {
        xml.push_str(&format!("    <DataSet timestep=\"{step}\" part=\"{part}\" name=\""));
        push_escaped(&mut xml, name);
        xml.push_str("\" file=\"");
        push_escaped(&mut xml, file);
        xml.push_str("\"/>\n");
    }
    xml.push_str("  </Collection>\n</VTKFile>\n");
    out.write_all(xml.as_bytes())?;
    out.flush()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_collection_names_its_files() {
        let entry =
            |step, part, file: &str| Entry { step, part, name: "a <b>".into(), file: file.into() };
        let mut out = Vec::new();
        let entries = [entry(1.0, 0, "gaps-1.vtu"), entry(1.5, 1, "\"x\" & y.vtu")];
        assert!(write_pvd(&entries, &mut out).is_ok());
        let text = String::from_utf8_lossy(&out);
        assert!(
            text.contains(
                r#"<DataSet timestep="1" part="0" name="a &lt;b&gt;" file="gaps-1.vtu"/>"#
            )
        );
        assert!(
            text.contains(r#"timestep="1.5" part="1""#)
                && text.contains("&quot;x&quot; &amp; y.vtu")
        );
    }
}
