//! A table of which only the rows on the screen are made.

use super::window::Window;
use crate::tui::pointer::{self, Target};
use crate::tui::text;
use crate::tui::theme::Theme;
use crate::words;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Widget;

/// Blank cells between two columns.
const GAP: u16 = 1;
/// A column of words grows no further than this.
const WIDEST: u16 = 48;

/// How a column gets its width.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// This many cells.
    Fixed(u16),
    /// At least this many, and a share of what is left over, up to a readable width.
    Flex(u16),
}

/// Where a cell's text stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Words: to the left, cut with `…` if they are too long.
    Left,
    /// Figures: to the right and never cut. The column widens to the widest figure on the screen.
    Right,
}

/// One column of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its head.
    pub title: &'static str,
    /// Its width in cells.
    pub width: Width,
    /// Its side.
    pub align: Align,
    /// When the table is too wide, the columns with the highest number go first, the rightmost of them before the
    /// others; those with 0 stay as long as there is any room.
    pub priority: u8,
    /// It tells costs or prices.
    pub money: bool,
    /// It is not there at all.
    pub left_out: bool,
}

/// The columns as whoever looks may see them: those that tell of money are left out for whoever sees no costs. The rows
/// keep a cell for each.
pub fn seen(columns: &[Column], sees_costs: bool) -> Vec<Column> {
    columns.iter().map(|column| Column { left_out: column.money && !sees_costs, ..*column }).collect()
}

impl Column {
    /// A column of words.
    pub const fn words(title: &'static str, width: Width, priority: u8) -> Column {
        Column { title, width, align: Align::Left, priority, money: false, left_out: false }
    }

    /// A column of figures, this wide at least.
    pub const fn figures(title: &'static str, width: u16, priority: u8) -> Column {
        Column { title, width: Width::Fixed(width), align: Align::Right, priority, money: false, left_out: false }
    }

    /// The same, telling costs or prices.
    pub const fn of_money(self) -> Column {
        Column { money: true, ..self }
    }
}

/// One row of a table.
#[derive(Clone, Debug)]
pub enum Row {
    /// A cell for each column, dropped ones too; missing ones are blank.
    Cells(Vec<Line<'static>>),
    /// A heading across the whole table.
    Heading(Line<'static>),
}

/// Draws the head, the rows in view, and, if not all are in view, the position in the last line. `row` is asked for the
/// lines in view only, so a list may be of any length. Gives back where the cells of the selected row are, so that a
/// field can be laid over one of them; none for a dropped column or a heading.
pub fn draw(
    frame: &mut Frame,
    area: Rect,
    columns: &[Column],
    len: usize,
    window: &mut Window,
    row: impl FnMut(usize) -> Row,
    theme: &Theme,
) -> Vec<Option<Rect>> {
    lay(frame, area, columns, len, (window, true), row, theme)
}

/// Draws the head and the first rows of a table that one does not walk through: none is marked.
pub fn draw_still(
    frame: &mut Frame,
    area: Rect,
    columns: &[Column],
    len: usize,
    row: impl FnMut(usize) -> Row,
    theme: &Theme,
) {
    // As many as there is room for: what is further down cannot be reached, so no position is said.
    let len = len.min(usize::from(area.height.saturating_sub(1)));
    lay(frame, area, columns, len, (&mut Window::default(), false), row, theme);
}

fn lay(
    frame: &mut Frame,
    area: Rect,
    columns: &[Column],
    len: usize,
    (window, marks): (&mut Window, bool),
    row: impl FnMut(usize) -> Row,
    theme: &Theme,
) -> Vec<Option<Rect>> {
    let mut under_cursor = vec![None; columns.len()];
    let area = area.intersection(frame.area());
    let body = area.height.saturating_sub(1);
    let scrolls = len > usize::from(body);
    let rows = if scrolls && body > 1 { body - 1 } else { body };
    let shown = window.scroll(usize::from(rows.max(1)), len);
    if area.is_empty() {
        return under_cursor;
    }
    let made: Vec<Row> = shown.clone().map(row).take(usize::from(rows)).collect();
    let places = layout(columns, &widest(columns, &made), area.width);
    let buf = frame.buffer_mut();

    for (column, place) in columns.iter().zip(&places) {
        let Some((x, width)) = *place else { continue };
        let title =
            Line::from(Span::styled(text::fit(words::find_of("head", column.title), width.into()), theme.title));
        cell(buf, Rect::new(area.x + x, area.y, width, 1), title, column.align);
    }
    for ((line, row), y) in shown.clone().zip(made).zip(area.y + 1..) {
        let whole = Rect::new(area.x, y, area.width, 1);
        match row {
            Row::Heading(heading) => heading.render(whole, buf),
            Row::Cells(cells) => {
                if line == window.selected() {
                    let at = |(x, width): (u16, u16)| Rect::new(area.x + x, y, width, 1);
                    under_cursor = places.iter().map(|place| place.map(at)).collect();
                }
                for ((column, place), line) in columns.iter().zip(&places).zip(cells) {
                    let Some((x, width)) = *place else { continue };
                    cell(buf, Rect::new(area.x + x, y, width, 1), line, column.align);
                }
            }
        }
        if marks {
            pointer::put(whole, Target::Line(line, line == window.selected()));
        }
        if marks && line == window.selected() {
            buf.set_style(whole, theme.selected);
        }
    }
    if scrolls && body > 1 {
        let [above, below] = theme.glyphs.more;
        let mark = |more: bool, glyph: char| if more { glyph } else { ' ' };
        let hint = format!("{}{} {}", mark(shown.start > 0, above), mark(shown.end < len, below), window.position(len));
        let hint = Line::from(Span::styled(text::fit(&hint, area.width.into()), theme.muted));
        hint.right_aligned().render(Rect::new(area.x, area.bottom() - 1, area.width, 1), buf);
    }
    under_cursor
}

/// The columns that fit into a width, by number; for screens that lay out something beside the table.
pub fn visible(columns: &[Column], width: u16) -> Vec<usize> {
    let places = layout(columns, &widest(columns, &[]), width);
    places.iter().enumerate().filter_map(|(i, place)| place.map(|_| i)).collect()
}

/// The least width of each column, given the rows in view.
fn widest(columns: &[Column], rows: &[Row]) -> Vec<u16> {
    let mut least: Vec<u16> = columns
        .iter()
        .map(|column| match column.width {
            Width::Fixed(width) | Width::Flex(width) => width.max(1),
        })
        .collect();
    for row in rows {
        let Row::Cells(cells) = row else { continue };
        for ((column, least), line) in columns.iter().zip(&mut least).zip(cells) {
            if column.align == Align::Right {
                *least = (*least).max(u16::try_from(line_width(line)).unwrap_or(u16::MAX));
            }
        }
    }
    least
}

/// Where each column begins and how wide it is; none for a dropped one.
fn layout(columns: &[Column], least: &[u16], width: u16) -> Vec<Option<(u16, u16)>> {
    let mut kept: Vec<bool> = columns.iter().map(|column| !column.left_out).collect();
    let needed = |kept: &[bool]| {
        let (mut cells, mut count) = (0u32, 0u32);
        for (least, _) in least.iter().zip(kept).filter(|(_, kept)| **kept) {
            cells += u32::from(*least);
            count += 1;
        }
        cells + count.saturating_sub(1) * u32::from(GAP)
    };
    while needed(&kept) > u32::from(width) && kept.iter().filter(|kept| **kept).count() > 1 {
        let candidates = columns.iter().zip(&kept).enumerate().filter(|(_, (_, kept))| **kept);
        let Some((drop, _)) = candidates.max_by_key(|(i, (column, _))| (column.priority, *i)) else { break };
        if let Some(kept) = kept.get_mut(drop) {
            *kept = false;
        }
    }
    let mut spare = u32::from(width).saturating_sub(needed(&kept));
    let is_flex = |column: &Column| matches!(column.width, Width::Flex(_));
    let mut flexes = columns.iter().zip(&kept).filter(|(column, kept)| **kept && is_flex(column)).count() as u32;
    let mut x = 0;
    let mut places = Vec::with_capacity(columns.len());
    for ((column, kept), least) in columns.iter().zip(kept).zip(least) {
        if !kept {
            places.push(None);
            continue;
        }
        let mut own = *least;
        if is_flex(column) {
            // A name is not read better for standing in half a screen of blanks, far from its figures.
            let most = u32::from(WIDEST.saturating_sub(own));
            let share = spare.div_ceil(flexes.max(1)).min(most);
            own = own.saturating_add(u16::try_from(share).unwrap_or(u16::MAX));
            spare -= share.min(spare);
            flexes = flexes.saturating_sub(1);
        }
        // The last column may be wider than a very small window: words are cut, a figure is left out.
        let fits = own <= width.saturating_sub(x);
        match (fits, column.align) {
            (true, _) => places.push(Some((x, own))),
            (false, Align::Left) => places.push(Some((x, width.saturating_sub(x)))),
            (false, Align::Right) => places.push(None),
        }
        x = x.saturating_add(own).saturating_add(GAP);
    }
    places
}

fn cell(buf: &mut ratatui::buffer::Buffer, place: Rect, line: Line<'static>, align: Align) {
    match align {
        Align::Right => {
            let free = usize::from(place.width).saturating_sub(line_width(&line));
            let free = u16::try_from(free).unwrap_or(place.width);
            line.render(Rect { x: place.x + free, width: place.width - free, ..place }, buf);
        }
        Align::Left => fit_line(line, place.width.into()).render(place, buf),
    }
}

fn line_width(line: &Line) -> usize {
    line.spans.iter().map(|span| text::width(&span.content)).sum()
}

/// [`text::fit`] for a line of several styles.
fn fit_line(line: Line<'static>, cells: usize) -> Line<'static> {
    if line_width(&line) <= cells {
        return line;
    }
    let Some(mut room) = cells.checked_sub(text::width(text::CUT)) else {
        return Line::default();
    };
    let mut out = Line { spans: Vec::new(), ..line };
    for span in line.spans {
        let whole = text::width(&span.content);
        if whole <= room {
            room -= whole;
            out.spans.push(span);
        } else {
            let cut = format!("{}{}", text::head(&span.content, room), text::CUT);
            out.spans.push(Span::styled(cut, span.style));
            break;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_tells_of_money_is_left_out_whole() {
        let all = [
            Column::words("drink", Width::Flex(5), 0),
            Column::figures("cost", 6, 0).of_money(),
            Column::figures("% vol", 5, 0),
        ];
        for width in [12, 30, 200] {
            assert_eq!(visible(&seen(&all, false), width), [0, 2], "{width}");
        }
        assert_eq!(visible(&seen(&all, true), 30), [0, 1, 2]);
    }
    use crate::tui::keymap::Action;
    use crate::tui::widget::harness::{at_every_size, marked, painted, rows};
    use ratatui::style::Modifier;
    use std::cell::Cell;

    const COLUMNS: &[Column] = &[
        Column::words("item", Width::Flex(8), 0),
        Column::figures("used", 5, 1),
        Column::words("note", Width::Fixed(6), 3),
        Column::figures("gap", 5, 0),
        Column::figures("par", 3, 2),
    ];

    fn row(i: usize) -> Row {
        if i == 3 {
            return Row::Heading(Line::from("Rum, all of it"));
        }
        let gap = if i == 2 { "-12 345".to_owned() } else { format!("{}", i * 10) };
        Row::Cells(["Pelmarsh Gin", "700", "see to it", &gap, "6"].map(|cell| Line::from(cell.to_owned())).to_vec())
    }

    fn table(width: u16, height: u16, len: usize, window: &mut Window) -> ratatui::buffer::Buffer {
        painted(width, height, |frame| {
            draw(frame, frame.area(), COLUMNS, len, window, row, &Theme::from_env(true));
        })
    }

    #[test]
    fn words_are_cut_and_figures_are_not() {
        let mut window = Window::default();
        window.select(1, 5);
        let buffer = table(38, 6, 5, &mut window);
        insta::assert_snapshot!(rows(&buffer).join("\n"), @r"
        item           used note       gap par
        Pelmarsh Gin    700 see t…       0   6
        Pelmarsh Gin    700 see t…      10   6
        Pelmarsh Gin    700 see t… -12 345   6
        Rum, all of it
        Pelmarsh Gin    700 see t…      40   6
        ");
        assert!(marked(&buffer, 2, Modifier::REVERSED).starts_with("Pelmarsh"), "the selected row is marked");
        assert_eq!(marked(&buffer, 1, Modifier::REVERSED), "");
    }

    #[test]
    fn only_the_rows_in_view_are_made() {
        let asked = Cell::new(0);
        let mut window = Window::default();
        window.apply(Action::Last, 100_000);
        let buffer = painted(40, 10, |frame| {
            let count = |i| {
                asked.set(asked.get() + 1);
                row(i)
            };
            draw(frame, frame.area(), COLUMNS, 100_000, &mut window, count, &Theme::from_env(true));
        });
        assert_eq!(asked.get(), 8);
        assert!(rows(&buffer)[9].ends_with("100000/100000"));
        assert!(marked(&buffer, 8, Modifier::REVERSED).contains("999990"));
    }

    #[test]
    fn columns_go_in_a_fixed_order() {
        for (width, left) in [
            (80, vec![0, 1, 2, 3, 4]),
            (31, vec![0, 1, 2, 3, 4]),
            (30, vec![0, 1, 3, 4]),
            (23, vec![0, 1, 3]),
            (19, vec![0, 3]),
            (13, vec![0]),
            (1, vec![0]),
        ] {
            assert_eq!(visible(COLUMNS, width), left, "{width}");
        }
        assert_eq!(visible(&[Column::figures("gap", 5, 0)], 4), Vec::<usize>::new(), "no figure is cut");
    }

    #[test]
    fn spare_cells_go_to_the_flexible_ones() {
        let columns = [Column::words("a", Width::Flex(2), 0), Column::words("b", Width::Flex(2), 0)];
        assert_eq!(layout(&columns, &[2, 2], 12), [Some((0, 6)), Some((7, 5))]);
    }

    #[test]
    fn no_size_panics() {
        for len in [0, 1, 3, 500] {
            at_every_size(|frame| {
                let mut window = Window::default();
                window.apply(Action::Last, len);
                draw(frame, frame.area(), COLUMNS, len, &mut window, row, &Theme::from_env(true));
                let off_screen = Rect::new(15, 5, 40, 9);
                draw(frame, off_screen, COLUMNS, len, &mut window, row, &Theme::from_env(true));
            });
        }
    }
}
