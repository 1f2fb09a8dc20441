//! Mistakes in a section file, said so that a person can mend them.
//!
//! Every stage that reads the section returns all the problems it finds, each with its place in
//! the file and a way out. Messages are lowercase sentences without a full stop.

use std::ops::Range;

/// One mistake: what is wrong, where, and what to do about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// What is wrong, e.g. "unknown material `stel` for part `rod`".
    pub message: String,
    /// Byte range in the section text, where the problem has a place.
    pub span: Option<Range<usize>>,
    /// A way out, e.g. "did you mean `steel`?".
    pub help: Option<String>,
}

impl Problem {
    /// A problem at `span`.
    pub fn at(span: Range<usize>, message: impl Into<String>) -> Self {
        Self { message: message.into(), span: Some(span), help: None }
    }

    /// A problem of the file as a whole.
    pub fn general(message: impl Into<String>) -> Self {
        Self { message: message.into(), span: None, help: None }
    }

    /// Adds a way out.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// Most problems that [`render`] writes out.
const MOST_SHOWN: usize = 50;
/// Widest piece of a source line that [`render`] shows, characters.
const WIDEST: usize = 100;
/// Characters shown before the place when a line is clipped.
const BEFORE: usize = 40;
/// What stands for a tab.
const TAB: &str = "    ";

/// Line and column of a byte offset, both from 1; the column counts characters.
///
/// Offsets beyond the end stand for the end; inside a character they stand for its start.
pub fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let offset = floor_char(text, offset);
    let before = &text[..offset];
    let start = before.rfind('\n').map_or(0, |i| i + 1);
    let line = 1 + before.bytes().filter(|b| *b == b'\n').count();
    (line, 1 + before[start..].chars().count())
}

/// The problems in the order of their places, each only once. Those without a place come first.
pub fn sorted(problems: &[Problem]) -> Vec<&Problem> {
    let mut list: Vec<&Problem> = problems.iter().collect();
    let key = |p: &Problem| p.span.as_ref().map(|s| (s.start, s.end));
    list.sort_by(|a, b| key(a).cmp(&key(b)).then_with(|| a.message.cmp(&b.message)));
    list.dedup();
    list
}

/// The problems as text for people: message, place, the line with a mark under it, a way out.
///
/// `text` is the section text and `file` the name to show. At most 50 are written out; a last
/// line counts the rest. Empty when there are none.
pub fn render(problems: &[Problem], text: &str, file: &str) -> String {
    let list = sorted(problems);
    let blocks: Vec<String> =
        list.iter().take(MOST_SHOWN).map(|problem| block(problem, text, file)).collect();
    let mut out = blocks.join("\n");
    if list.len() > MOST_SHOWN {
        out.push_str(&format!("\nand {} more\n", list.len() - MOST_SHOWN));
    }
    out
}

fn block(problem: &Problem, text: &str, file: &str) -> String {
    let mut out = format!("error: {}\n", printable(&problem.message));
    match &problem.span {
        None => out.push_str(&format!(" --> {}\n", printable(file))),
        Some(span) => {
            let (line, column) = line_and_column(text, span.start);
            out.push_str(&format!(" --> {}:{line}:{column}\n", printable(file)));
            let number = line.to_string();
            let (source, mark) = excerpt(text, span);
            let blank = " ".repeat(number.len());
            out.push_str(&format!("{number} | {source}\n"));
            out.push_str(&format!("{blank} | {mark}\n"));
        }
    }
    if let Some(help) = &problem.help {
        out.push_str(&format!("hint: {}\n", printable(help)));
    }
    out
}

/// The line on which the span starts, clipped around it, and the mark to be put under it.
fn excerpt(text: &str, span: &Range<usize>) -> (String, String) {
    let start = floor_char(text, span.start);
    let line_start = text[..start].rfind('\n').map_or(0, |i| i + 1);
    let line_end = text[start..].find('\n').map_or(text.len(), |i| start + i);
    let end = floor_char(text, span.end).clamp(start, line_end);

    // Only the characters near the place are looked at, however long the line is.
    let mut shown_from = start;
    let mut kept = 0;
    while shown_from > line_start && kept < WIDEST {
        shown_from = floor_char(text, shown_from - 1);
        kept += 1;
    }
    let to_the_left = kept;
    let after: usize = text[start..line_end].chars().take(WIDEST + 1).count();
    let mut clipped_left = shown_from > line_start;
    if to_the_left + after > WIDEST && to_the_left > BEFORE {
        shown_from = step(text, shown_from, to_the_left - BEFORE);
        clipped_left = true;
    }

    let mut source = String::new();
    let mut pad = 0;
    let mut width = 0;
    if clipped_left {
        source.push_str("...");
        pad += 3;
    }
    let mut clipped_right = false;
    for (shown, (i, c)) in text[shown_from..line_end].char_indices().enumerate() {
        if shown == WIDEST {
            clipped_right = true;
            break;
        }
        let at = shown_from + i;
        let wide = push_printable(&mut source, c);
        if at < start {
            pad += wide;
        } else if at < end {
            width += wide;
        }
    }
    if clipped_right {
        source.push_str("...");
    }
    let source = source.trim_end().to_owned();
    (source, format!("{}{}", " ".repeat(pad), "^".repeat(width.max(1))))
}

/// The offset `count` characters on.
fn step(text: &str, from: usize, count: usize) -> usize {
    text[from..].char_indices().nth(count).map_or(text.len(), |(i, _)| from + i)
}

/// The start of the character at `offset`; the end of the text for offsets beyond it.
fn floor_char(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

/// Text without characters that would steer a terminal.
fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        push_printable(&mut out, c);
    }
    out
}

/// Appends a character so that it can be printed; the number of columns it takes.
fn push_printable(out: &mut String, c: char) -> usize {
    match c {
        '\t' => {
            out.push_str(TAB);
            TAB.len()
        }
        '\r' => 0,
        c if c.is_control() => {
            out.push(char::REPLACEMENT_CHARACTER);
            1
        }
        c => {
            out.push(c);
            1
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_place_line_mark_and_hint() {
        let text = "title = \"x\"\nmaterial = \"stel\"\n";
        let at = text.find("\"stel\"").unwrap_or(0);
        let problem =
            Problem::at(at..at + 6, "unknown material `stel`").help("did you mean `steel`?");
        assert_eq!(
            render(&[problem], text, "pole.toml"),
            "error: unknown material `stel`\n --> pole.toml:2:12\n2 | material = \"stel\"\n  |            \
             ^^^^^^\nhint: did you mean `steel`?\n"
        );
    }

    #[test]
    fn sorts_and_drops_doubles() {
        let text = "a\nb\nc\n";
        let list = [
            Problem::at(4..5, "third"),
            Problem::at(0..1, "second"),
            Problem::general("first"),
            Problem::at(4..5, "third"),
        ];
        let shown = render(&list, text, "f");
        let messages: Vec<&str> = shown.lines().filter_map(|l| l.strip_prefix("error: ")).collect();
        assert_eq!(messages, ["first", "second", "third"]);
        assert!(shown.starts_with("error: first\n --> f\n\nerror: second\n --> f:1:1\n1 | a\n"));
    }

    #[test]
    fn marks_stand_under_tabs_and_letters_with_accents() {
        let text = "\tn\u{e9} = \u{1b}5\r\n";
        let at = text.find('5').unwrap_or(0);
        let shown = render(&[Problem::at(at..at + 1, "x\u{7}y")], text, "f");
        assert_eq!(
            shown,
            "error: x\u{fffd}y\n --> f:1:8\n1 |     n\u{e9} = \u{fffd}5\n  |           ^\n"
        );
    }

    #[test]
    fn clips_long_lines_around_the_place() {
        let text = format!("{}HERE{}", "a".repeat(500), "b".repeat(500));
        let shown = render(&[Problem::at(500..504, "m")], &text, "f");
        let lines: Vec<&str> = shown.lines().collect();
        assert_eq!(lines[1], " --> f:1:501");
        assert_eq!(lines[2], format!("1 | ...{}HERE{}...", "a".repeat(40), "b".repeat(56)));
        assert_eq!(lines[3], format!("  | {}^^^^", " ".repeat(43)));
    }

    #[test]
    fn counts_the_rest() {
        let list: Vec<Problem> = (0..60).map(|i| Problem::at(i..i + 1, "m")).collect();
        let shown = render(&list, &"x".repeat(60), "f");
        assert_eq!(shown.matches("error: ").count(), 50);
        assert!(shown.ends_with("\nand 10 more\n"));
    }

    #[test]
    fn any_span_is_shown() {
        let text = "\u{e9}\u{e9}\n";
        for start in 0..8 {
            for end in 0..8 {
                assert!(render(&[Problem::at(start..end, "m")], text, "f").contains(" --> f:"));
            }
        }
        assert_eq!(line_and_column(text, 99), (2, 1));
        assert_eq!(line_and_column("", 0), (1, 1));
        assert_eq!(render(&[], text, "f"), "");
    }
}
