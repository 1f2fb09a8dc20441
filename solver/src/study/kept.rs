//! What an interrupted study has left behind.
//!
//! In: the output so far. Out: how many of its rows stand, and where they end. A row stands when it is
//! the next one, belongs to this study (the mark and the settings in it say so) and is whole. What
//! comes after the last row that stands, a line cut short or torn by a lost block, is to be cut off.

use std::io::{self, BufRead, Read};
use std::ops::RangeInclusive;

/// No row is longer, bytes.
const LONGEST: u64 = 1 << 24;

/// Rows that stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kept {
    /// How many rows.
    pub rows: u64,
    /// Where they end, bytes from the start.
    pub bytes: u64,
}

/// Why an output cannot be taken up again.
#[derive(Debug, thiserror::Error)]
pub enum KeptError {
    /// It cannot be read.
    #[error("{0}")]
    Read(#[from] io::Error),
    /// It is no output of this study.
    #[error(
        "line {line} is not of this study: the section, the keys and values, what is taken, the \
         piece or the version are not the same"
    )]
    Foreign {
        /// Number of the line, from 1.
        line: u64,
    },
}

/// Looks through `output`. `heads` is its first line (empty: none), `start(n)` what row n of
/// `numbers` starts with.
///
/// # Errors
/// It cannot be read, or holds something else than rows of this study with at most a torn end.
pub fn kept(
    output: &mut impl BufRead,
    heads: &str,
    numbers: RangeInclusive<u64>,
    start: impl Fn(u64) -> String,
) -> Result<Kept, KeptError> {
    let mut kept = Kept { rows: 0, bytes: 0 };
    let mut line = Vec::new();
    let mut number_of_line = 0;
    if !heads.is_empty() {
        number_of_line += 1;
        next_line(output, &mut line)?;
        if line != heads.as_bytes() {
            let torn = heads.as_bytes().starts_with(&line) && at_end(output)?;
            return if torn { Ok(kept) } else { Err(KeptError::Foreign { line: 1 }) };
        }
        kept.bytes = line.len() as u64;
    }
    for number in numbers {
        number_of_line += 1;
        next_line(output, &mut line)?;
        if line.is_empty() {
            return Ok(kept);
        }
        if !stands(&line, start(number).as_bytes()) {
            let torn = at_end(output)? && (torn_off(&line, start(number).as_bytes()));
            return if torn { Ok(kept) } else { Err(KeptError::Foreign { line: number_of_line }) };
        }
        kept.rows += 1;
        kept.bytes += line.len() as u64;
    }
    if at_end(output)? { Ok(kept) } else { Err(KeptError::Foreign { line: number_of_line + 1 }) }
}

fn next_line(output: &mut impl BufRead, line: &mut Vec<u8>) -> io::Result<()> {
    line.clear();
    output.by_ref().take(LONGEST).read_until(b'\n', line)?;
    Ok(())
}

fn at_end(output: &mut impl BufRead) -> io::Result<bool> {
    Ok(output.fill_buf()?.is_empty())
}

/// Whether a line is the whole row that starts with `start`.
fn stands(line: &[u8], start: &[u8]) -> bool {
    match line.split_last() {
        Some((b'\n', row)) => row.starts_with(start) && !row.iter().any(u8::is_ascii_control),
        _ => false,
    }
}

/// Whether a last line that does not stand can be the torn beginning of the row: it has no line
/// feed, or holds what no row does, and agrees with the row's start as far as both go until there.
fn torn_off(line: &[u8], start: &[u8]) -> bool {
    let good = line.iter().position(u8::is_ascii_control).unwrap_or(line.len());
    let (head, torn) = (&line[..good], good < line.len() - 1 || line.last() != Some(&b'\n'));
    let both = head.len().min(start.len());
    torn && head[..both] == start[..both]
}

#[cfg(test)]
mod tests {
    use super::*;

    const HEADS: &str = "case,study,gap\n";

    fn start(n: u64) -> String {
        format!("{n},ab12,{} mm,", n * 2)
    }

    fn whole() -> String {
        let rows: String = (1..=4).map(|n| format!("{}solved,{n}.5\n", start(n))).collect();
        format!("{HEADS}{rows}")
    }

    fn look(bytes: &[u8]) -> Result<Kept, KeptError> {
        kept(&mut &bytes[..], HEADS, 1..=4, start)
    }

    /// Cut anywhere, what stands are the whole rows before the cut.
    #[test]
    fn a_file_cut_anywhere_keeps_its_whole_rows() {
        let text = whole();
        for cut in 0..=text.len() {
            let head = &text[..cut];
            let kept = look(head.as_bytes()).expect("of this study");
            let rows = head.matches('\n').count().saturating_sub(1) as u64;
            let bytes = head.rfind('\n').map_or(0, |i| i + 1) as u64;
            assert_eq!(kept, Kept { rows, bytes }, "cut at {cut}");
        }
    }

    /// A block of zeros at the end, as a power failure leaves it, with or without a line feed.
    #[test]
    fn a_torn_end_is_left_out() {
        let text = whole();
        let third = text.match_indices('\n').nth(2).map_or(0, |(i, _)| i + 1);
        for end in [&b"3,ab12,6 mm,so\0\0\0\0"[..], b"\0\0\0", b"3,ab12,6 mm,solved\0,1\n"] {
            let bytes = [&text.as_bytes()[..third], end].concat();
            let kept = look(&bytes).expect("torn");
            assert_eq!(kept, Kept { rows: 2, bytes: third as u64 });
        }
    }

    #[test]
    fn what_is_not_of_this_study_is_refused() {
        let text = whole();
        let foreign = |text: &str| match look(text.as_bytes()) {
            Err(KeptError::Foreign { line }) => line,
            other => unreachable!("{other:?}"),
        };
        assert_eq!(foreign("something else\n"), 1);
        assert_eq!(foreign("something else"), 1);
        assert_eq!(foreign(&text.replace("2,ab12", "2,ab13")), 3);
        assert_eq!(foreign(&text.replace("4,ab12,8 mm", "4,ab12,9 mm")), 5);
        assert_eq!(foreign(&format!("{text}5,ab12,10 mm,solved\n")), 6);
        // A torn row that is not the last.
        assert_eq!(foreign(&text.replace("2,ab12,4 mm,solved,2.5\n", "2,ab\n")), 3);
        let other_end = text.replace("4,ab12,8 mm,solved,4.5\n", "4,xy");
        assert_eq!(foreign(&other_end), 5);
        let none = kept(&mut &b""[..], "", 1..=4, start).expect("nothing yet");
        assert_eq!(none, Kept { rows: 0, bytes: 0 });
    }
}
