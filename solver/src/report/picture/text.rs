//! Text in a picture: how wide it is, what is cut off, what is not let through.
//!
//! Widths are those of the sans-serif face the PNG is drawn with, in thousandths of the type size,
//! rounded up a little for wider faces in a browser.

/// Advance widths of U+0020 to U+007E, thousandths of the type size.
const WIDTHS: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];

/// How much wider bold is.
pub(super) const BOLD: f64 = 1.12;

/// Width of `text` at type size `size`, px.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    let thousandths: f64 = text.chars().map(advance).sum();
    thousandths * 1e-3 * size * if bold { BOLD } else { 1.0 }
}

fn advance(c: char) -> f64 {
    let code = c as u32;
    match code {
        0x20..=0x7e => f64::from(WIDTHS[(code - 0x20) as usize]),
        0xa0 => 318.0,
        // Marks that stand over or under their letter, and joiners.
        0x300..=0x36f | 0x591..=0x5bd | 0x610..=0x61a | 0x64b..=0x65f | 0x200b..=0x200f => 0.0,
        // Scripts written in full squares, and pictures.
        0x1100..=0x11ff | 0x2e80..=0xd7a3 | 0xf900..=0xfaff | 0xff00..=0xff60 => 1000.0,
        0x1f000.. => 1250.0,
        _ => 720.0,
    }
}

/// `text` on one line without control characters: line ends and tabs become spaces, characters
/// that turn the writing direction of what follows are dropped, others become U+FFFD.
pub fn plain(text: &str) -> String {
    text.chars()
        .filter(|c| !matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'))
        .map(|c| match c {
            '\n' | '\r' | '\t' => ' ',
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => '\u{fffd}',
            c => c,
        })
        .collect()
}

/// [`plain`] text, cut with an ellipsis where it is wider than `room` px.
pub fn fitted(text: &str, size: f64, bold: bool, room: f64) -> String {
    let text = plain(text);
    if width(&text, size, bold) <= room {
        return text;
    }
    let scale = 1e-3 * size * if bold { BOLD } else { 1.0 };
    let mut used = 1000.0 * scale;
    let mut cut = String::new();
    for c in text.chars() {
        used += advance(c) * scale;
        if used > room {
            break;
        }
        cut.push(c);
    }
    format!("{}\u{2026}", cut.trim_end())
}

/// Breaks [`plain`] text into at most `most` lines of at most `room` px, the last one cut.
pub fn wrapped(text: &str, size: f64, room: f64, most: usize) -> Vec<String> {
    let text = plain(text);
    let mut lines: Vec<String> = Vec::new();
    let mut words = text.split(' ').filter(|word| !word.is_empty()).peekable();
    while let Some(&first) = words.peek() {
        if lines.len() + 1 >= most {
            lines.push(fitted(&words.collect::<Vec<_>>().join(" "), size, false, room));
            break;
        }
        let mut line = fitted(first, size, false, room);
        words.next();
        while let Some(&word) = words.peek() {
            let longer = format!("{line} {word}");
            if width(&longer, size, false) > room {
                break;
            }
            line = longer;
            words.next();
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_text_is_cut_to_its_room() {
        let text = "a very long name ".repeat(30);
        let cut = fitted(&text, 12.0, false, 150.0);
        assert!(cut.ends_with('\u{2026}') && width(&cut, 12.0, false) <= 150.0, "{cut}");
        assert_eq!(fitted("rod", 12.0, false, 150.0), "rod");
    }

    #[test]
    fn lines_hold_every_word_and_none_is_too_wide() {
        let text = "the quick brown fox jumps over the lazy dog";
        let lines = wrapped(text, 12.0, 120.0, 10);
        assert_eq!(lines.join(" "), text);
        assert!(lines.iter().all(|line| width(line, 12.0, false) <= 120.0), "{lines:?}");
        assert_eq!(wrapped(text, 12.0, 120.0, 2).len(), 2);
    }

    #[test]
    fn nothing_that_turns_or_breaks_gets_through() {
        assert_eq!(plain("a\u{202e}b\nc\u{7}\u{2067}d"), "ab c\u{fffd}d");
        assert_eq!(
            plain("\u{5d2}\u{5d9}\u{5d8}\u{5e8}\u{5d4}"),
            "\u{5d2}\u{5d9}\u{5d8}\u{5e8}\u{5d4}"
        );
    }
}
