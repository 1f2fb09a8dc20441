//! The page itself: its head, its chapters, and what it was made from.
//!
//! Nothing is loaded from anywhere: style sheet, script and pictures stand in the page, whose own
//! policy lets nothing else run or be asked for (their hashes are in it). Whatever comes from a
//! section file is escaped and kept from turning the writing direction of what stands beside it.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::chart::Chart;
use super::figure::{Colours, Figure};
use super::table::Sheet;
use crate::report::picture::plain;

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// A page.
#[derive(Clone, Debug, Default)]
pub struct Page {
    /// What it is about.
    pub title: String,
    /// A line under the title: the model.
    pub model: String,
    /// Version of the program.
    pub version: String,
    /// What was typed, to be typed again.
    pub command: String,
    /// What it was made from.
    pub files: Vec<File>,
    /// What it says, in order.
    pub chapters: Vec<Chapter>,
}

/// A file that a page was made from.
#[derive(Clone, Debug)]
pub struct File {
    /// Its name.
    pub name: String,
    /// All it says.
    pub text: String,
}

/// A chapter.
#[derive(Clone, Debug)]
pub struct Chapter {
    /// What stands over it.
    pub title: &'static str,
    /// What it holds, in order.
    pub blocks: Vec<Block>,
}

/// A piece of a chapter.
#[derive(Clone, Debug)]
pub enum Block {
    /// A paragraph.
    Text(String),
    /// Numbers to be seen first.
    Tiles(Vec<Tile>),
    /// A picture.
    Figure(Figure),
    /// Curves side by side.
    Charts(Vec<Chart>),
    /// A table.
    Sheet(Sheet),
    /// A table that is opened at a click, under these words.
    Folded(&'static str, Sheet),
    /// Sentences.
    List(Vec<String>),
    /// Sentences to be heeded.
    Warnings(Vec<String>),
}

/// A number to be seen first.
#[derive(Clone, Debug)]
pub struct Tile {
    /// What it is.
    pub label: String,
    /// Its value with its unit.
    pub value: String,
    /// Of what, or what to make of it.
    pub note: String,
}

impl Page {
    /// The page as HTML.
    pub fn html(&self) -> String {
        let mut colours = Colours::default();
        let chapters: Vec<Markup> =
            self.chapters.iter().map(|c| chapter(c, &mut colours)).collect();
        let [light, dark] = colours.styles();
        let style = format!(
            "{STYLE}:root{{{light}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
        );
        let policy = format!(
            "default-src 'none'; style-src '{}'; script-src '{}'; base-uri 'none'; form-action 'none'",
            hash(&style),
            hash(SCRIPT)
        );
        let title = match plain(&self.title) {
            empty if empty.trim().is_empty() => "Untitled section".to_owned(),
            title => title,
        };
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta http-equiv="Content-Security-Policy" content=(policy);
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="color-scheme" content="light dark";
                    meta name="generator" content=(format!("Lodestring {}", self.version));
                    title { (title) }
                    style { (PreEscaped(style)) }
                }
                body {
                    a.skip href="#content" { "To the content" }
                    header {
                        h1 dir="auto" { bdi { (title) } }
                        p.model { (self.model) }
                        nav aria-label="Chapters" { ul {
                            @for (i, chapter) in self.chapters.iter().enumerate() {
                                li { a href=(format!("#c{i}")) { (chapter.title) } }
                            }
                            li { a href="#again" { "Run it again" } }
                        } }
                    }
                    main #content tabindex="-1" {
                        @for (i, (chapter, markup)) in self.chapters.iter().zip(&chapters).enumerate() {
                            section id=(format!("c{i}")) aria-labelledby=(format!("h{i}")) {
                                h2 id=(format!("h{i}")) { (chapter.title) }
                                (markup)
                            }
                        }
                        (self.again())
                    }
                    p #said.hidden role="status" {}
                    script { (PreEscaped(SCRIPT)) }
                }
            }
        };
        page.into_string()
    }

    fn again(&self) -> Markup {
        html! {
            section #again aria-labelledby="h-again" {
                h2 #h-again { "Run it again" }
                p { "Made by Lodestring " (self.version) ", from the files below. The same files, version and command make the same page." }
                pre.command tabindex="0" role="region" aria-label="Command" { code { (plain(&self.command)) } }
                @for file in &self.files {
                    details {
                        summary { bdi { (plain(&file.name)) } }
                        pre tabindex="0" role="region" aria-label=(plain(&file.name)) { code { (lines(&file.text)) } }
                    }
                }
            }
        }
    }
}

/// Each line for itself, so that none turns the writing direction of the others.
fn lines(text: &str) -> Markup {
    html! { @for line in text.lines() { bdi { (plain(&line.replace('\t', "    "))) } "\n" } }
}

fn chapter(chapter: &Chapter, colours: &mut Colours) -> Markup {
    html! {
        @for block in &chapter.blocks {
            @match block {
                Block::Text(text) => p.text { bdi { (plain(text)) } },
                Block::Tiles(tiles) => dl.tiles {
                    @for tile in tiles {
                        div {
                            dt { bdi { (plain(&tile.label)) } }
                            dd { strong { (tile.value) } @if !tile.note.is_empty() { " " span { bdi { (plain(&tile.note)) } } } }
                        }
                    }
                },
                Block::Figure(figure) => div.picture tabindex="0" role="group" aria-label="Picture" {
                    @for (class, svg) in figure.elements(colours) {
                        div class=(class) { (PreEscaped(svg)) }
                    }
                },
                Block::Charts(charts) => div.charts { @for chart in charts { (chart.markup()) } },
                Block::Sheet(sheet) => (sheet.markup()),
                Block::Folded(words, sheet) => details { summary { (words) } (sheet.markup()) },
                Block::Warnings(sentences) => ul.warnings { @for sentence in sentences { li { strong { "Take care: " } bdi { (plain(sentence)) } } } },
                Block::List(sentences) => ul.limits { @for sentence in sentences { li { bdi { (plain(sentence)) } } } },
            }
        }
    }
}

/// What a policy calls this style sheet or script.
fn hash(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text.as_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_keeps_text_as_text() {
        let nasty = "</title><script>alert('1')</script>\u{202e}\" onload=\"x";
        let page = Page {
            title: nasty.into(),
            command: nasty.into(),
            files: vec![File { name: nasty.into(), text: format!("a\n{nasty}\n") }],
            chapters: vec![Chapter {
                title: "At a glance",
                blocks: vec![
                    Block::Text(nasty.into()),
                    Block::List(vec![nasty.into()]),
                    Block::Tiles(vec![Tile {
                        label: nasty.into(),
                        value: "1".into(),
                        note: nasty.into(),
                    }]),
                ],
            }],
            ..Page::default()
        };
        let html = page.html();
        assert_eq!(html.matches("<script>").count(), 1, "the page's own");
        assert!(html.contains("&lt;script&gt;") && !html.contains("\" onload"));
        assert!(!html.contains('\u{202e}'));
        // The policy names the very style sheet and script that stand in the page.
        for (open, close) in [("<style>", "</style>"), ("<script>", "</script>")] {
            let from = html.find(open).expect("there") + open.len();
            let to = from + html[from..].find(close).expect("closed");
            assert!(html.contains(&format!("'{}'", hash(&html[from..to]))), "{open}");
        }
        assert!(!html.contains("http://") && !html.contains("https://"));
    }
}
