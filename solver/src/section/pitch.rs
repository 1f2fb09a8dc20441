//! Pitches as people write them.
//!
//! In: "E4", "F#3", "Bb2", or a frequency in Hz. Out: Hz, in equal temperament from the concert
//! pitch of A4: f = A4 2^(n/12), n semitones above it; C4 is the C below A4.

/// Lowest and highest pitch a string may have, Hz.
const RANGE: std::ops::RangeInclusive<f64> = 10.0..=5_000.0;

/// Frequency of the note `text`, Hz, where A4 is `concert` Hz. `None` where it is no note.
pub fn pitch(text: &str, concert: f64) -> Option<f64> {
    let mut letters = text.trim().chars();
    let from_a = match letters.next()?.to_ascii_uppercase() {
        'C' => -9,
        'D' => -7,
        'E' => -5,
        'F' => -4,
        'G' => -2,
        'A' => 0,
        'B' => 2,
        _ => return None,
    };
    let rest = letters.as_str();
    let (accidental, octave) = match rest.chars().next()? {
        '#' | '\u{266f}' => (1, rest.trim_start_matches(['#', '\u{266f}'])),
        'b' | '\u{266d}' => (-1, rest.trim_start_matches(['b', '\u{266d}'])),
        _ => (0, rest),
    };
    if rest.chars().count() - octave.chars().count() > 1 {
        return None;
    }
    let octave: i32 = octave.parse().ok().filter(|o| (-1..=9).contains(o))?;
    let semitones = from_a + accidental + 12 * (octave - 4);
    let frequency = concert * 2.0_f64.powf(f64::from(semitones) / 12.0);
    RANGE.contains(&frequency).then_some(frequency)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_are_read() {
        // Equal-tempered table, printed to 0.01 Hz.
        for (note, want) in [
            ("A4", 440.0),
            ("E4", 329.63),
            ("E2", 82.41),
            ("C4", 261.63),
            ("F#3", 185.0),
            ("Bb2", 116.54),
            ("b0", 30.87),
            ("B\u{266d}2", 116.54),
        ] {
            let got = pitch(note, 440.0).unwrap_or(f64::NAN);
            assert!((got - want).abs() < 0.005, "{note}: {got}");
        }
        assert_eq!(pitch("A4", 432.0), Some(432.0));
        for no in ["", "H2", "E", "E##4", "E4x", "E99", "4E", "Ebb2", "C-1", "\u{1f3b8}2"] {
            assert_eq!(pitch(no, 440.0), None, "{no}");
        }
    }
}
