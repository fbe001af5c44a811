//! The line of a text that a message is about.

use super::Place;

/// The line of a place, with its number and the bytes to underline.
pub(super) fn shown_line(place: &Place) -> Option<(usize, String, std::ops::Range<usize>)> {
    let (position, source) = (place.position?, place.source.as_deref()?);
    // A position behind the last line (an unclosed bracket) is shown at the end of the text.
    let last = source.lines().count().max(1);
    let number = position.line.clamp(1, last);
    let line = printable(source.lines().nth(number - 1).unwrap_or(""));
    let length = line.chars().count();
    let column = if position.line > last { length } else { position.column.saturating_sub(1).min(length) };
    let rest: String = line.chars().skip(column).collect();
    let marked = match place.length {
        0 => word(&rest),
        n => n,
    };
    // what shows the line counts columns in it, and cuts it where it is too long
    let byte = |n: usize| line.char_indices().nth(n).map_or(line.len(), |(i, _)| i);
    let start = byte(column);
    let end = byte(column + marked.clamp(1, 60)).max(start);
    Some((number, line, start..end))
}

/// Length of the value at the start of a line: up to a comment, or to the colon of a key.
pub(super) fn word(rest: &str) -> usize {
    let end = [" #", ": ", ", "].iter().filter_map(|stop| rest.find(stop)).min().unwrap_or(rest.len());
    let mut word = rest[..end].trim_end().trim_end_matches(':');
    // A bracket that closes what was opened before does not belong to it.
    while let Some((open, close)) = [('[', ']'), ('{', '}')].iter().find(|(_, close)| word.ends_with(*close))
    {
        if word.matches(*open).count() >= word.matches(*close).count() {
            break;
        }
        word = word[..word.len() - 1].trim_end();
    }
    word.trim_end().chars().count()
}

/// Control characters would confuse the terminal: they are shown as `�`.
pub(super) fn printable(text: &str) -> String {
    let bad = |c: char| c.is_control() && c != '\n' || ('\u{202a}'..='\u{202e}').contains(&c);
    text.chars()
        .map(|c| {
            if c == '\t' {
                ' '
            } else if bad(c) {
                '\u{fffd}'
            } else {
                c
            }
        })
        .collect()
}
