//! One case's line of a study's output.
//!
//! Comma-separated: a line of heads, then one line per case. JSON lines: one object per case. Either
//! way a line starts with the number of the case, the mark of the study and the settings, all of
//! which are known before the case is solved, and holds no line feed but the one that ends it: an
//! interrupted file can be checked and taken up again.

use serde::ser::{Serialize, SerializeMap, Serializer};

use crate::study::values::Setting;

/// The form of an output.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Comma-separated values with a line of heads.
    Csv,
    /// One JSON object per line.
    JsonLines,
}

/// How a case was solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// On a mesh of its own.
    NewMesh,
    /// On the mesh of the section as it stands.
    SameMesh,
    /// On the mesh of the section as it stands, made to fit.
    MovedMesh,
    /// Strings were put elsewhere over the field of the section as it stands.
    StringsMoved,
}

impl How {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::NewMesh => "own mesh",
            Self::SameMesh => "same mesh",
            Self::MovedMesh => "moved mesh",
            Self::StringsMoved => "strings moved",
        }
    }
}

/// What came of a case.
#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    /// It was solved.
    Solved {
        /// How.
        how: How,
        /// A value for each column.
        values: Vec<Option<f64>>,
    },
    /// It could not be solved; why.
    Failed(String),
}

/// A case.
#[derive(Clone, Debug, PartialEq)]
pub struct Row<'a> {
    /// Its number, from 1.
    pub number: u64,
    /// The mark of the study.
    pub mark: &'a str,
    /// The keys.
    pub keys: &'a [String],
    /// Their settings.
    pub settings: &'a [Setting],
    /// The names of the columns.
    pub columns: &'a [String],
}

/// The line of heads, with its line feed; empty where the form has none.
pub fn heads(form: Form, keys: &[String], columns: &[String]) -> String {
    match form {
        Form::JsonLines => String::new(),
        Form::Csv => {
            let fixed = ["case", "study"].iter().copied();
            let known = keys.iter().map(String::as_str);
            let after = ["outcome", "how", "reason"].iter().copied();
            let columns = columns.iter().map(String::as_str);
            let all: Vec<String> =
                fixed.chain(known).chain(after).chain(columns).map(quoted).collect();
            format!("{}\n", all.join(","))
        }
    }
}

impl Row<'_> {
    /// What the line starts with, whatever came of the case.
    pub fn start(&self, form: Form) -> String {
        match form {
            Form::Csv => {
                let settings = self.settings.iter().map(|s| quoted(&s.shown()));
                let fixed = [self.number.to_string(), self.mark.to_owned()];
                let all: Vec<String> = fixed.into_iter().chain(settings).collect();
                format!("{},", all.join(","))
            }
            Form::JsonLines => {
                let head = Head(self);
                // The object goes on: its closing brace is left off.
                let mut text = serde_json::to_string(&head).unwrap_or_default();
                text.pop();
                text.push(',');
                text
            }
        }
    }

    /// The whole line, with its line feed.
    pub fn line(&self, form: Form, outcome: &Outcome) -> String {
        let mut line = self.start(form);
        match form {
            Form::Csv => {
                let (words, values) = match outcome {
                    Outcome::Solved { how, values } => (["solved", how.words(), ""], &values[..]),
                    Outcome::Failed(reason) => (["failed", "", reason.as_str()], &[][..]),
                };
                line.push_str(&words.map(quoted).join(","));
                for i in 0..self.columns.len() {
                    line.push(',');
                    if let Some(value) = values.get(i).copied().flatten() {
                        // Debug's form has an exponent where the plain one would be all zeros.
                        line.push_str(&format!("{value:?}"));
                    }
                }
            }
            Form::JsonLines => {
                let rest = serde_json::to_string(&Rest(self, outcome)).unwrap_or_default();
                line.push_str(rest.strip_prefix('{').unwrap_or(&rest));
            }
        }
        line.push('\n');
        line
    }
}

/// Number, mark and settings as JSON.
struct Head<'a>(&'a Row<'a>);

impl Serialize for Head<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let Row { number, mark, keys, settings, .. } = self.0;
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("case", number)?;
        map.serialize_entry("study", mark)?;
        for (key, setting) in keys.iter().zip(*settings) {
            match setting {
                Setting::Number(number) => map.serialize_entry(key, number)?,
                Setting::Text(text) => map.serialize_entry(key, text)?,
                Setting::Truth(truth) => map.serialize_entry(key, truth)?,
            }
        }
        map.end()
    }
}

/// Outcome and values as JSON.
struct Rest<'a>(&'a Row<'a>, &'a Outcome);

impl Serialize for Rest<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        match self.1 {
            Outcome::Failed(reason) => {
                map.serialize_entry("outcome", "failed")?;
                map.serialize_entry("reason", reason)?;
            }
            Outcome::Solved { how, values } => {
                map.serialize_entry("outcome", "solved")?;
                map.serialize_entry("how", how.words())?;
                for (name, value) in self.0.columns.iter().zip(values) {
                    map.serialize_entry(name, value)?;
                }
            }
        }
        map.end()
    }
}

/// A field of a CSV line: in quotes where it has to be (RFC 4180). Line breaks become blanks.
fn quoted(text: &str) -> String {
    let text = one_line(text);
    if text.contains([',', '"']) || text.trim() != text {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

/// Text without control characters.
pub fn one_line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn lines(form: Form) -> [String; 2] {
        let keys = ["string.G3.gap".to_owned(), "part.rod.material".to_owned(), "n".to_owned()];
        let columns = ["strings.G3.pull_mN".to_owned(), "a,b".to_owned()];
        let settings = [
            Setting::Text("1.5 mm".to_owned()),
            Setting::Text("odd \"one\", cast".to_owned()),
            Setting::Number(2.0),
        ];
        let row =
            Row { number: 3, mark: "ab12", keys: &keys, settings: &settings, columns: &columns };
        let solved = Outcome::Solved { how: How::NewMesh, values: vec![Some(-1.25e-7), None] };
        let failed = Outcome::Failed("overlap:\n\"rod\", and more".to_owned());
        let lines = [solved, failed].map(|outcome| row.line(form, &outcome));
        for line in &lines {
            assert!(line.starts_with(&row.start(form)));
            assert_eq!(line.find('\n'), Some(line.len() - 1));
        }
        lines
    }

    #[test]
    fn csv_reads_back() {
        let keys = ["string.G3.gap".to_owned(), "part.rod.material".to_owned(), "n".to_owned()];
        let columns = ["strings.G3.pull_mN".to_owned(), "a,b".to_owned()];
        let text = heads(Form::Csv, &keys, &columns) + &lines(Form::Csv).concat();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let heads: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
        assert_eq!(heads[..4], ["case", "study", "string.G3.gap", "part.rod.material"]);
        assert_eq!(heads[5..], ["outcome", "how", "reason", "strings.G3.pull_mN", "a,b"]);
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(&rows[0][3], "odd \"one\", cast");
        assert_eq!((&rows[0][5], &rows[0][6], &rows[0][9]), ("solved", "own mesh", ""));
        assert_eq!(rows[0][8].parse(), Ok(-1.25e-7));
        assert_eq!((&rows[1][5], &rows[1][7]), ("failed", "overlap: \"rod\", and more"));
    }

    #[test]
    fn json_reads_back() {
        let [solved, failed] = lines(Form::JsonLines);
        let solved: serde_json::Value = serde_json::from_str(&solved).unwrap();
        assert_eq!(solved["case"], 3);
        assert_eq!(solved["string.G3.gap"], "1.5 mm");
        assert_eq!(solved["n"], 2.0);
        assert_eq!(solved["strings.G3.pull_mN"], -1.25e-7);
        assert!(solved["a,b"].is_null());
        let failed: serde_json::Value = serde_json::from_str(&failed).unwrap();
        assert_eq!(failed["reason"], "overlap:\n\"rod\", and more");
        assert_eq!(heads(Form::JsonLines, &[], &[]), "");
    }
}
