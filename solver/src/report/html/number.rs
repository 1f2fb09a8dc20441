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
    }
}
