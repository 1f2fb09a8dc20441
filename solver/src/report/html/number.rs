//! Numbers as a page shows them: a true minus sign, no zeros that mean nothing.

use crate::report::text;

/// `value` with at most `digits` significant digits.
pub fn shown(value: f64, digits: usize) -> String {
    let text = text::number(value, digits);
    let text = match text.contains('.') && !text.contains('e') {
        true => text.trim_end_matches('0').trim_end_matches('.'),
        false => &text,
    };
    signed(text)
}

/// `value` with its error in brackets, in units of the last digit; where it has none that shows, as
/// [`shown`].
pub fn with_error(value: f64, error: Option<f64>, digits: usize) -> String {
    let text = text::number_with_error(value, error, digits);
    if text.contains('(') { signed(&text) } else { shown(value, digits) }
}

/// With a minus sign for a hyphen.
pub(super) fn signed(text: &str) -> String {
    text.replace('-', "\u{2212}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        assert_eq!(shown(-2.5, 4), "\u{2212}2.5");
        assert_eq!(shown(300.0, 4), "300");
        assert_eq!(shown(0.0, 4), "0");
        assert_eq!(with_error(-2.5, Some(0.013), 4), "\u{2212}2.50(2)");
        assert_eq!(with_error(-2.5, Some(1e-9), 4), "\u{2212}2.5");
    }
}
