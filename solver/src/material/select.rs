//! Which grades of a library are meant by a few words.
//!
//! In: names of grades, names of families, and patterns in which `*` stands for anything. Out: the
//! grades they mean, each once, in the order of the words and within a word in that of the library.

use crate::material::library::{Library, fold};
use crate::problem::Problem;
use crate::section::{Grade, nearest_name};

impl Library {
    /// The grades of which `keep` holds that the words of `wanted` mean; all such grades where there
    /// are no words.
    ///
    /// A word is a family, a pattern with `*`, or the name of one grade; all without regard to case.
    ///
    /// # Errors
    /// A problem without a place for every word that means none, or more than one by accident.
    pub fn select(
        &self,
        wanted: &[String],
        keep: impl Fn(&Grade) -> bool,
    ) -> Result<Vec<&Grade>, Vec<Problem>> {
        let grades: Vec<&Grade> = self.grades().filter(|grade| keep(grade)).collect();
        if wanted.is_empty() {
            return Ok(grades);
        }
        let mut found: Vec<&Grade> = Vec::new();
        let mut problems = Vec::new();
        for word in wanted {
            let meant = meant(&grades, word);
            if meant.is_empty() {
                problems.push(self.unknown(&grades, word));
            }
            for grade in meant {
                if !found.iter().any(|f| f.name == grade.name) {
                    found.push(grade);
                }
            }
        }
        if problems.is_empty() { Ok(found) } else { Err(problems) }
    }

    fn unknown(&self, grades: &[&Grade], word: &str) -> Problem {
        let shared: Vec<String> = grades
            .iter()
            .filter(|grade| is_also(grade, &fold(word)))
            .map(|grade| format!("`{}`", grade.name))
            .collect();
        if shared.len() > 1 {
            return Problem::general(format!("`{word}` names more than one grade"))
                .help(format!("say which one: {}", shared.join(" or ")));
        }
        let mut families: Vec<&str> = Vec::new();
        for grade in grades {
            if !families.contains(&grade.family.as_str()) {
                families.push(&grade.family);
            }
        }
        let names = grades.iter().map(|grade| grade.name.as_str());
        let names: Vec<&str> = families.iter().copied().chain(names).collect();
        let help = match nearest_name(word, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("there are these families: {}", families.join(", ")),
        };
        if self.find(word).is_ok() {
            let message = format!("`{word}` is no grade that can be chosen here");
            return Problem::general(message).help(help);
        }
        Problem::general(format!("no grade and no family is called `{word}`")).help(help)
    }
}

/// The grades that `word` means, as a family, as a pattern or as a name, in that order.
fn meant<'g>(grades: &[&'g Grade], word: &str) -> Vec<&'g Grade> {
    let wanted = fold(word);
    let all = |is: &dyn Fn(&Grade) -> bool| -> Vec<&'g Grade> {
        grades.iter().copied().filter(|grade| is(grade)).collect()
    };
    if wanted.contains('*') {
        return all(&|grade| matches(&wanted, &fold(&grade.name)));
    }
    let own = all(&|grade| fold(&grade.name) == wanted);
    if !own.is_empty() {
        return own;
    }
    let family = all(&|grade| fold(&grade.family) == wanted);
    if !family.is_empty() {
        return family;
    }
    let also = all(&|grade| is_also(grade, &wanted));
    if also.len() == 1 { also } else { Vec::new() }
}

fn is_also(grade: &Grade, wanted: &str) -> bool {
    grade.also.iter().any(|also| fold(also) == wanted)
}

/// Whether `name` is `pattern` with anything in place of each `*`.
fn matches(pattern: &str, name: &str) -> bool {
    let Some((head, rest)) = pattern.split_once('*') else { return pattern == name };
    let Some(mut left) = name.strip_prefix(head) else { return false };
    let mut pieces: Vec<&str> = rest.split('*').collect();
    let last = pieces.pop().unwrap_or_default();
    for piece in pieces {
        match left.find(piece) {
            Some(at) => left = &left[at + piece.len()..],
            None => return false,
        }
    }
    left.ends_with(last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::is_magnet;

    fn names(wanted: &[&str]) -> Result<Vec<String>, String> {
        let library = Library::built_in();
        let wanted: Vec<String> = wanted.iter().map(|w| (*w).to_owned()).collect();
        match library.select(&wanted, |grade| is_magnet(&grade.law)) {
            Ok(grades) => Ok(grades.iter().map(|grade| grade.name.clone()).collect()),
            Err(problems) => {
                let said = problems
                    .iter()
                    .map(|p| format!("{}: {}", p.message, p.help.clone().unwrap_or_default()));
                Err(said.collect::<Vec<_>>().join("; "))
            }
        }
    }

    #[test]
    fn families_patterns_and_names_are_understood() {
        let ferrite = names(&["ferrite"]).expect("a family");
        assert!(ferrite.len() >= 5 && ferrite.iter().all(|name| name.starts_with("ferrite")));
        let sintered = names(&["alnico *sintered"]).expect("a pattern");
        assert!(sintered.len() == 5 && sintered.iter().all(|name| name.ends_with("sintered")));
        assert_eq!(names(&["n42", "Alnico_5", "ceramic 8", "N42"]).expect("names").len(), 3);
        let magnets = names(&[]).expect("all");
        assert!(magnets.len() > 40 && !magnets.contains(&"mild steel".to_owned()));
    }

    #[test]
    fn what_means_nothing_is_told_with_a_way_out() {
        let said = names(&["alnico 55", "colour", "mild steel", "alnico 4"]).expect_err("four");
        assert!(said.contains("did you mean `alnico 5`?"), "{said}");
        assert!(said.contains("families: alnico, ferrite"), "{said}");
        assert!(said.contains("`mild steel` is no grade that can be chosen here"), "{said}");
        assert!(said.contains("say which one: `alnico 4 low` or `alnico 4 high`"), "{said}");
    }
}
