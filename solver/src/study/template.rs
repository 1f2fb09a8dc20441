//! A section file whose values can be replaced.
//!
//! In: the text and paths into it. Out: the text with other values at those paths, all else as it
//! was, comments too. A value that the file leaves to its default is put in. Whether the new values
//! make sense is not judged here: the text is read again as any section file. Only this file names
//! the TOML editor.

use toml_edit::{DocumentMut, Formatted, Item, Table, TableLike, Value};

use crate::section::nearest_name;
use crate::study::error::StudyError;
use crate::study::key::KeyPath;
use crate::study::values::Setting;

/// Most names that a message lists.
const MOST_LISTED: usize = 12;

/// A section file to be edited.
#[derive(Clone, Debug)]
pub struct Template {
    document: DocumentMut,
}

impl Template {
    /// Reads `text`.
    ///
    /// # Errors
    /// [`StudyError::Syntax`] where it is no TOML; read it as a section for the whole story.
    pub fn new(text: &str) -> Result<Self, StudyError> {
        match text.parse::<DocumentMut>() {
            Ok(document) => Ok(Self { document }),
            Err(error) => Err(StudyError::Syntax(error.message().to_owned())),
        }
    }

    /// The value that stands at `path`, as written there; `None` where the file leaves it out.
    ///
    /// # Errors
    /// [`StudyError::NoSuchPlace`] where the path does not lead to a place for a single value.
    pub fn value(&self, path: &KeyPath) -> Result<Option<Setting>, StudyError> {
        let mut document = self.document.clone();
        match place(document.as_table_mut(), path)? {
            Place::Key(table, key) => match table.get(key) {
                None => Ok(None),
                Some(item) => match item.as_value() {
                    Some(value) => setting(value).map(Some).ok_or_else(|| not_single(path)),
                    None => Err(not_single(path)),
                },
            },
            Place::Entry(value) => setting(value).map(Some).ok_or_else(|| not_single(path)),
        }
    }

    /// The text with each path's value replaced.
    ///
    /// # Errors
    /// [`StudyError::NoSuchPlace`] where a path does not lead to a place for a single value.
    pub fn with(&self, settings: &[(&KeyPath, &Setting)]) -> Result<String, StudyError> {
        let mut document = self.document.clone();
        for (path, setting) in settings {
            match place(document.as_table_mut(), path)? {
                Place::Entry(value) => replace(value, setting),
                Place::Key(table, key) => match table.get_mut(key).and_then(Item::as_value_mut) {
                    Some(value) => replace(value, setting),
                    None => {
                        table.insert(key, Item::Value(setting.to_toml()));
                    }
                },
            }
        }
        Ok(document.to_string())
    }
}

impl Setting {
    fn to_toml(&self) -> Value {
        match self {
            Self::Text(text) => Value::String(Formatted::new(text.clone())),
            Self::Truth(truth) => Value::Boolean(Formatted::new(*truth)),
            Self::Number(number) => {
                if number.fract() == 0.0 && number.abs() < 1e15 {
                    Value::Integer(Formatted::new(*number as i64))
                } else {
                    Value::Float(Formatted::new(*number))
                }
            }
        }
    }
}

/// The value as a setting, where it is a single one.
fn setting(value: &Value) -> Option<Setting> {
    match value {
        Value::String(text) => Some(Setting::Text(text.value().clone())),
        Value::Integer(number) => Some(Setting::Number(*number.value() as f64)),
        Value::Float(number) => Some(Setting::Number(*number.value())),
        Value::Boolean(truth) => Some(Setting::Truth(*truth.value())),
        Value::Datetime(_) | Value::Array(_) | Value::InlineTable(_) => None,
    }
}

/// Puts `setting` in the place of `value`; blanks and comments around it stay.
fn replace(value: &mut Value, setting: &Setting) {
    let decor = value.decor().clone();
    *value = setting.to_toml();
    *value.decor_mut() = decor;
}

/// Where a value stands or may stand.
enum Place<'a> {
    /// Under this key of a table.
    Key(&'a mut dyn TableLike, &'a str),
    /// As an entry of a list.
    Entry(&'a mut Value),
}

/// Where one stands on the way.
enum At<'a> {
    Table(&'a mut dyn TableLike),
    Value(&'a mut Value),
}

fn place<'a>(root: &'a mut Table, path: &'a KeyPath) -> Result<Place<'a>, StudyError> {
    let steps = path.steps();
    let mut at = At::Table(root);
    let mut i = 0;
    loop {
        let step = steps.get(i).map(String::as_str);
        at = match at {
            At::Table(table) => {
                let Some(step) = step else { return Err(not_single(path)) };
                if i + 1 == steps.len() {
                    // A list of tables or a table is no single value: `value` says so.
                    let single = table.get(step).is_none_or(|item| {
                        item.as_value().is_some_and(|v| !v.is_array() && !v.is_inline_table())
                    });
                    return if single {
                        Ok(Place::Key(table, step))
                    } else {
                        Err(not_single(path))
                    };
                }
                let known: Vec<String> = table.iter().map(|(k, _)| k.to_owned()).collect();
                let Some(item) = table.get_mut(step) else {
                    return Err(nowhere(path, &format!("there is no `{step}`"), step, &known));
                };
                i += 1;
                match item {
                    Item::Table(inner) => At::Table(inner),
                    Item::ArrayOfTables(list) => {
                        let names =
                            names(list.iter().map(|t| t.get("name").and_then(Item::as_str)));
                        let index = index(path, step, &steps[i], &names)?;
                        i += 1;
                        match list.get_mut(index) {
                            Some(inner) => At::Table(inner),
                            None => return Err(not_single(path)),
                        }
                    }
                    Item::Value(value) => At::Value(value),
                    Item::None => return Err(not_single(path)),
                }
            }
            At::Value(value) => match (value, step) {
                (Value::InlineTable(inner), Some(_)) => At::Table(inner),
                (Value::Array(list), Some(step)) => {
                    let names = names(list.iter().map(|v| {
                        v.as_inline_table().and_then(|t| t.get("name")).and_then(Value::as_str)
                    }));
                    let axis = match (step, list.len()) {
                        ("x", 2) => Some(0),
                        ("y", 2) => Some(1),
                        _ => None,
                    };
                    let index = match axis {
                        Some(axis) => axis,
                        None => index(path, &steps[i - 1], step, &names)?,
                    };
                    i += 1;
                    match list.get_mut(index) {
                        Some(inner) => At::Value(inner),
                        None => return Err(not_single(path)),
                    }
                }
                (value, None) if !value.is_array() && !value.is_inline_table() => {
                    return Ok(Place::Entry(value));
                }
                (value, Some(step)) if !value.is_array() && !value.is_inline_table() => {
                    let reason = format!("nothing lies below `{}`, so no `{step}`", steps[i - 1]);
                    return Err(StudyError::NoSuchPlace { key: path.to_string(), reason });
                }
                _ => return Err(not_single(path)),
            },
        };
    }
}

/// The names of the entries of a list; empty where an entry has none.
fn names<'a>(entries: impl Iterator<Item = Option<&'a str>>) -> Vec<String> {
    entries.map(|name| name.unwrap_or_default().to_owned()).collect()
}

/// The entry that `step` means.
fn index(path: &KeyPath, list: &str, step: &str, names: &[String]) -> Result<usize, StudyError> {
    if let Some(found) = names.iter().position(|name| name == step) {
        return Ok(found);
    }
    match step.parse::<usize>() {
        Ok(number) if (1..=names.len()).contains(&number) => Ok(number - 1),
        Ok(number) => {
            let reason = format!("`{list}` has {} entries, so no number {number}", names.len());
            Err(StudyError::NoSuchPlace { key: path.to_string(), reason })
        }
        Err(_) => Err(nowhere(path, &format!("no `{list}` is called `{step}`"), step, names)),
    }
}

fn nowhere(path: &KeyPath, what: &str, step: &str, known: &[String]) -> StudyError {
    let known: Vec<&str> = known.iter().map(String::as_str).filter(|k| !k.is_empty()).collect();
    let way_out = match nearest_name(step, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if known.is_empty() => "write the number of the entry, from 1".to_owned(),
        None => {
            let listed: Vec<String> =
                known.iter().take(MOST_LISTED).map(|k| format!("`{k}`")).collect();
            format!("there is {}", listed.join(", "))
        }
    };
    StudyError::NoSuchPlace { key: path.to_string(), reason: format!("{what}; {way_out}") }
}

fn not_single(path: &KeyPath) -> StudyError {
    StudyError::NoSuchPlace {
        key: path.to_string(),
        reason: "it is not a single value; go on to one below it".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# a comment
format = 1

[[part]]
name = \"rod\"   # the pole
rectangle = { width = \"4.8 mm\", height = \"17 mm\" }
at = [\"0 mm\", \"1 mm\"]
repeat = { count = 2, stagger = [\"0 mm\", \"0.8 mm\"] }

[[coil]]
name = \"coil\"
turns = 7000
[[coil.window]]
rectangle = { x = [\"3 mm\", \"7 mm\"] }
[[coil.window]]
sense = \"in\"

[[string]]
name = \"G3\"
gap = \"2 mm\"
";

    fn path(typed: &str) -> KeyPath {
        KeyPath::parse(typed).expect("a path")
    }

    fn text(text: &str) -> Setting {
        Setting::Text(text.to_owned())
    }

    #[test]
    fn reads_values_wherever_they_stand() {
        let template = Template::new(TEXT).expect("toml");
        let value = |typed: &str| template.value(&path(typed)).expect("a place");
        assert_eq!(value("string.G3.gap"), Some(text("2 mm")));
        assert_eq!(value("part.1.rectangle.width"), Some(text("4.8 mm")));
        assert_eq!(value("part.rod.at.y"), Some(text("1 mm")));
        assert_eq!(value("part.rod.at.1"), Some(text("0 mm")));
        assert_eq!(value("part.rod.repeat.stagger.2"), Some(text("0.8 mm")));
        assert_eq!(value("coil.coil.window.1.rectangle.x.2"), Some(text("7 mm")));
        assert_eq!(value("coil.coil.turns"), Some(Setting::Number(7000.0)));
        assert_eq!(value("temperature_C"), None);
        assert_eq!(value("string.G3.offset"), None);
    }

    #[test]
    fn replaces_what_is_asked_and_nothing_else() {
        let template = Template::new(TEXT).expect("toml");
        assert_eq!(template.with(&[]).as_deref(), Ok(TEXT));
        let edited = template
            .with(&[
                (&path("part.rod.at.y"), &text("2 mm")),
                (&path("part.rod.name"), &text("pole")),
                (&path("temperature_C"), &Setting::Number(60.0)),
                (&path("coil.coil.window.2.turns"), &Setting::Number(0.5)),
                (&path("string.1.passive"), &Setting::Truth(true)),
            ])
            .expect("places");
        let want = TEXT
            .replace("\"1 mm\"]", "\"2 mm\"]")
            .replace("\"rod\"", "\"pole\"")
            .replace("format = 1\n", "format = 1\ntemperature_C = 60\n")
            .replace("sense = \"in\"\n", "sense = \"in\"\nturns = 0.5\n")
            .replace("gap = \"2 mm\"\n", "gap = \"2 mm\"\npassive = true\n");
        assert_eq!(edited, want);
    }

    #[test]
    fn says_where_a_path_leads_nowhere() {
        let template = Template::new(TEXT).expect("toml");
        let said = |typed: &str| match template.value(&path(typed)) {
            Err(error) => error.to_string(),
            Ok(value) => format!("{value:?}"),
        };
        for (typed, part) in [
            ("strng.G3.gap", "there is no `strng`; did you mean `string`?"),
            ("string.G4.gap", "no `string` is called `G4`; did you mean `G3`?"),
            ("string.2.gap", "`string` has 1 entries, so no number 2"),
            ("string.0.gap", "no number 0"),
            ("part.rod.at", "not a single value"),
            ("part.rod.rectangle", "not a single value"),
            ("part.rod", "not a single value"),
            ("part", "not a single value"),
            ("part.rod.at.z", "no `at` is called `z`; write the number of the entry"),
            ("part.rod.name.x", "nothing lies below `name`"),
            ("coil.coil.windov.1.sense", "did you mean `window`?"),
        ] {
            assert!(said(typed).contains(part), "{typed}: {}", said(typed));
        }
        assert!(matches!(Template::new("a = "), Err(StudyError::Syntax(_))));
    }
}
