//! "did you mean": the name in a list that is nearest to a mistyped one.
//!
//! In: what was typed and the names that would have been right. Out: the nearest, or nothing when
//! none is near. Nearness is the Damerau-Levenshtein distance (letters added, dropped, changed or
//! swapped) after folding case, `_` and `-`; up to a third of the letters may differ. Where nothing
//! is that near, a name that holds the typed word, or is held by it, will do.

/// Longest text that is compared; more is not a slip of the fingers.
const LONGEST: usize = 64;

/// The candidate nearest to `typed`, or `None` where none comes near. The first of equals wins.
pub(crate) fn nearest<'c>(
    typed: &str,
    candidates: impl IntoIterator<Item = &'c str> + Clone,
) -> Option<&'c str> {
    if typed.len() > LONGEST {
        return None;
    }
    let wanted = fold(typed);
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates.clone().into_iter().filter(|c| c.len() <= LONGEST) {
        let folded = fold(candidate);
        let allowed = (wanted.chars().count().max(folded.chars().count())).div_ceil(3);
        let distance = strsim::damerau_levenshtein(&wanted, &folded);
        if distance <= allowed && best.is_none_or(|(d, _)| distance < d) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, name)| name).or_else(|| {
        let holds = |a: &str, b: &str| b.len() >= 3 && a.contains(b);
        candidates.into_iter().filter(|c| c.len() <= LONGEST).find(|candidate| {
            let folded = fold(candidate);
            holds(&folded, &wanted) || holds(&wanted, &folded)
        })
    })
}

/// Lower case, with `_` and `-` as spaces.
fn fold(name: &str) -> String {
    name.trim().to_lowercase().replace(['_', '-'], " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_slips_of_the_fingers() {
        let keys = ["material", "rectangle", "passes_through", "at"];
        assert_eq!(nearest("materail", keys), Some("material"));
        assert_eq!(nearest("Passes-Through", keys), Some("passes_through"));
        assert_eq!(nearest("rectangel", keys), Some("rectangle"));
    }

    #[test]
    fn finds_a_word_of_a_longer_name() {
        let roles = ["magnet", "pole piece", "base plate"];
        assert_eq!(nearest("pole", roles), Some("pole piece"));
        assert_eq!(nearest("Plate", roles), Some("base plate"));
        assert_eq!(nearest("bar magnet", roles), Some("magnet"));
    }

    #[test]
    fn says_nothing_when_nothing_is_near() {
        assert_eq!(nearest("colour", ["material", "at"]), None);
        assert_eq!(nearest(&"a".repeat(100), ["a"]), None);
        assert_eq!(nearest("", ["material"]), None);
    }
}
