//! Tables and paragraphs for a person at a terminal.

use comfy_table::{Cell, CellAlignment, ContentArrangement, Table as Grid, presets};

/// Columns that a paragraph fills.
const WIDTH: usize = 100;

/// A table without lines, numbers to the right, moved in by two. A heading may have several lines. Columns stand closer together
/// where it would otherwise be wider than a page.
pub fn table<H, R, C>(heads: H, rows: R) -> String
where
    H: IntoIterator<Item: Into<String>>,
    R: IntoIterator<Item = C>,
    C: IntoIterator<Item: Into<String>>,
{
    let mut grid = grid(heads);
    for row in rows {
        let cells = row.into_iter().map(|text| Cell::new(text.into()).set_alignment(CellAlignment::Right));
        grid.add_row(cells.collect::<Vec<Cell>>());
    }
    let text = indented(&grid.to_string());
    if text.lines().all(|line| line.chars().count() <= WIDTH) {
        return text;
    }
    grid.column_iter_mut().for_each(|column| _ = column.set_padding((1, 0)));
    indented(&grid.to_string())
}

/// A paragraph moved in by two, broken at words, its further lines moved in by four.
pub fn paragraph(text: &str) -> String {
    let mut out = String::from("  ");
    let mut column = 0;
    for word in text.split_whitespace() {
        let wide = word.chars().count();
        if column > 0 && column + wide + 1 > WIDTH {
            out.push_str("\n    ");
            column = 2;
        } else if column > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += wide;
    }
    out.push('\n');
    out
}

/// A table without lines, numbers to the right.
pub(crate) fn grid(heads: impl IntoIterator<Item: Into<String>>) -> Grid {
    let mut grid = Grid::new();
    let heads = heads.into_iter().map(|h| Cell::new(h.into()).set_alignment(CellAlignment::Right));
    grid.load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled)
        .set_header(heads.collect::<Vec<Cell>>());
    grid
}

/// Lines moved in by two, without blanks at their ends.
pub(crate) fn indented(text: &str) -> String {
    text.lines().map(|line| format!("  {}\n", line.trim_end())).collect()
}

/// Four significant digits; `-` where there is no number.
pub fn figure(x: f64) -> String {
    match x {
        x if x.is_nan() => "-".into(),
        x if x.is_infinite() => "not in time".into(),
        0.0 => "0".into(),
        x => {
            let digits = (3 - x.abs().log10().floor() as i32).clamp(0, 6) as usize;
            let text = format!("{x:.digits$}");
            if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_have_four_digits() {
        for (x, text) in [
            (5.43212, "5.432"),
            (0.75, "0.75"),
            (172.5, "172.5"),
            (12345.6, "12346"),
            (-0.0123456, "-0.01235"),
        ] {
            assert_eq!(figure(x), text);
        }
        assert_eq!((figure(f64::NAN), figure(f64::INFINITY)), ("-".into(), "not in time".into()));
    }

    #[test]
    fn columns_line_up_at_the_right() {
        let text = table(["a\n[N]", "b"], [["1", "20"], ["100", "3"]]);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 4, "{text}");
        assert!(lines[2].ends_with("20") && lines[3].ends_with(" 3"), "{text}");
        assert_eq!(lines[2].len(), lines[3].len());
    }

    #[test]
    fn columns_of_a_wide_table_stand_closer() {
        let width = |text: &str| text.lines().map(|line| line.chars().count()).max().unwrap_or(0);
        let of = |n: usize| {
            let cells: Vec<String> = (0..n).map(|k| format!("{k:06}")).collect();
            table(cells.clone(), [cells])
        };
        // 12 columns of 6 with gaps of two are 96, 14 with gaps of one and moved in by two 100
        assert!(of(12).contains("000000  000001") && width(&of(12)) <= WIDTH, "{}", of(12));
        assert!(of(14).contains("000000 000001") && width(&of(14)) <= WIDTH, "{}", of(14));
    }

    #[test]
    fn paragraphs_are_broken_at_words_and_lose_none() {
        let words = ["seven words and some more"; 12].join(" ");
        let text = paragraph(&words);
        assert!(text.lines().count() > 2 && text.lines().all(|line| line.chars().count() <= WIDTH + 4));
        assert_eq!(text.split_whitespace().collect::<Vec<_>>(), words.split_whitespace().collect::<Vec<_>>());
        assert_eq!(paragraph(""), "  \n");
    }
}
