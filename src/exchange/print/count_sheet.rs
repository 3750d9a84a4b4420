//! The count sheet: boxes to write into, large enough for a pencil behind a dark bar.

use super::embed::{About, pdf};
use super::press::{Mark, Paper, Press, Style};
use crate::domain::measure::number_of;
use crate::domain::rows::{CountSheet, PaperLine, PaperPlace};
use crate::domain::venue::CountBy;
use crate::words;
use std::io;

const LEFT: f32 = 32.0;
const TOP: f32 = 44.0;
const BOTTOM: f32 = 40.0;
/// Height of a line: room for a figure written by hand.
const ROW: f32 = 22.0;
/// Height of the boxes in it.
const BOX: f32 = 14.5;
/// The number of a line.
const NUMBER: f32 = 30.0;
/// The box for sealed ones.
const SEALED: f32 = 34.0;
/// One of ten boxes for tenths.
const TENTH: f32 = 10.6;
const STRIP: f32 = TENTH * 10.0;
/// Between boxes that mean different things.
const GAP: f32 = 9.0;
/// Empty lines at the end of each place.
const BLANK: usize = 3;
/// Lines that stay with the head of their place.
const TOGETHER: usize = 3;
const PLACE_HEAD: f32 = 30.0;
const COLUMN_HEAD: f32 = 15.0;

const NUMBERS: Style = Style::bold(11.0);
const MARKS: Style = Style::bold(11.0);
const NAMES: Style = Style::plain(11.0);
/// Names that would not fit otherwise.
const LONG_NAMES: Style = Style::plain(9.0);
const SMALL: Style = Style::pale(7.5);
/// What one container holds.
const SIZES: Style = Style { grey: 0.15, ..Style::plain(8.5) };
/// Figures inside boxes: a guide for the eye, which a pencil mark covers.
const INSIDE: Style = Style { grey: 0.5, ..Style::plain(6.5) };

/// What a line of the sheet is about.
#[derive(Clone, Copy)]
enum Row<'a> {
    Item(&'a PaperLine),
    /// For what stands here and is not listed.
    Blank,
}

/// The sheet as a PDF.
///
/// # Errors
/// When a built-in font is damaged.
pub fn count_sheet_pdf(sheet: &CountSheet) -> io::Result<Vec<u8>> {
    let press = Press::new(Paper::of(&sheet.party))?;
    let (right, low) = (press.paper.width - LEFT, press.paper.height - BOTTOM);
    let mut page = Page { mark: sheet.mark(), y: TOP, right, low, press };
    page.head(sheet);
    page.how_to();
    for place in &sheet.places {
        page.place(sheet, place);
    }
    page.feet(sheet);
    let title = say!("Count sheet {date}", date = sheet.date);
    pdf(&page.press, About { title: &title, author: &sheet.venue, date: sheet.date })
}

struct Page {
    /// What tells whether the shelves are still those of the sheet.
    mark: String,
    press: Press,
    y: f32,
    right: f32,
    low: f32,
}

impl Page {
    fn wide(&self) -> f32 {
        self.right - LEFT
    }

    /// Where the second strip of tenths, the first, and the sealed ones begin.
    fn columns(&self) -> (f32, f32, f32) {
        let second = self.right - STRIP;
        let first = second - GAP - STRIP;
        (second, first, first - GAP - SEALED)
    }

    fn head(&mut self, sheet: &CountSheet) {
        let day = words::day(sheet.date, "%A %-d %B %Y");
        let title = Style::bold(15.0);
        // On each page, since pages get apart.
        self.press.right(self.right, self.y, MARKS, &self.mark);
        let end = self.right - self.press.width(MARKS, &self.mark) - 4.0;
        self.press.right(end, self.y, SMALL, word!("mark"));
        let end = end - self.press.width(SMALL, word!("mark")) - 12.0;
        let room = end - self.press.width(Style::plain(9.5), &day) - 20.0 - LEFT;
        let what = say!("Count sheet · {sheet}", sheet = sheet.venue);
        let lines = self.press.wrap(title, &what, room);
        self.press.right(end, self.y, Style::plain(9.5), &day);
        for line in lines {
            self.press.text(LEFT, self.y, title, &line);
            self.y += 17.0;
        }
        self.y -= 3.0;
    }

    /// How it is filled in; on the first page.
    fn how_to(&mut self) {
        let text = word!(
            "Sealed: how many are unopened. Opened: mark how many tenths are left, F where it is full; the second \
                    row of boxes is for a second opened one. Write 0 where there is none, and what is not listed on the \
                    empty lines. The mark at the top right is asked for when the sheet is typed in: it tells whether the \
                    shelves have changed since."
        );
        self.y += 2.0;
        for line in self.press.wrap(Style::plain(8.5), text, self.wide()) {
            self.press.text(LEFT, self.y, Style::plain(8.5), &line);
            self.y += 11.0;
        }
        self.y += 2.0;
    }

    fn next_page(&mut self, sheet: &CountSheet) {
        self.press.next_page();
        self.y = TOP;
        self.head(sheet);
        self.y += 2.0;
    }

    fn place(&mut self, sheet: &CountSheet, place: &PaperPlace) {
        let rows = place.lines.len() + BLANK;
        let least = PLACE_HEAD + COLUMN_HEAD + rows.min(TOGETHER) as f32 * ROW;
        if self.y + least > self.low {
            self.next_page(sheet);
        }
        self.place_head(&place.name, false);
        let blanks = std::iter::repeat_n(Row::Blank, BLANK);
        for (n, row) in place.lines.iter().map(Row::Item).chain(blanks).enumerate() {
            if self.y + ROW > self.low {
                // One empty line at least; no page for more of them alone.
                if n > place.lines.len() {
                    break;
                }
                self.next_page(sheet);
                self.place_head(&place.name, true);
            }
            self.row(row);
        }
        self.y += 10.0;
    }

    /// The place, who looked at it and when.
    fn place_head(&mut self, name: &str, continued: bool) {
        let top = self.y;
        self.press.fill(LEFT, top, self.wide(), PLACE_HEAD - 4.0, 0.88);
        let base = top + 18.0;
        let mut end = self.right - 6.0;
        if continued {
            self.press.right(end, base, SMALL, word!("continued"));
        } else {
            for (label, room) in [(word!("Initials"), 40.0), (word!("Time"), 46.0), (word!("Date"), 62.0)] {
                self.press.fill(end - room, top + 4.0, room, PLACE_HEAD - 12.0, 1.0);
                self.press.frame(end - room, top + 4.0, room, PLACE_HEAD - 12.0);
                end -= room + 4.0;
                self.press.right(end, base, Style::plain(8.5), label);
                end -= self.press.width(Style::plain(8.5), label) + 9.0;
            }
        }
        let style = Style::bold(14.0);
        let fitting = self.press.wrap(style, name, end - LEFT - 12.0).swap_remove(0);
        self.press.text(LEFT + 6.0, base, style, &fitting);
        self.y = top + PLACE_HEAD;
        let (second, first, sealed) = self.columns();
        let base = self.y + 7.0;
        self.press.right(LEFT + NUMBER - 8.0, base, SMALL, word!("No."));
        self.press.text(LEFT + NUMBER, base, SMALL, word!("Item"));
        self.press.middle(sealed + SEALED / 2.0, base, SMALL, word!("Sealed"));
        self.press.middle(first + STRIP / 2.0, base, SMALL, word!("Opened: tenths left"));
        self.press.middle(second + STRIP / 2.0, base, SMALL, word!("Second opened"));
        self.y += COLUMN_HEAD - 4.0;
        self.press.rule(LEFT, self.y, self.wide(), 0.8, 0.0);
    }

    fn row(&mut self, row: Row) {
        let base = self.y + ROW / 2.0 + 4.0;
        let (second, first, sealed) = self.columns();
        let top = self.y + (ROW - BOX) / 2.0;
        let name_room = sealed - GAP - LEFT - NUMBER;
        match row {
            Row::Item(line) => {
                self.press.right(LEFT + NUMBER - 8.0, base, NUMBERS, &line.number.to_string());
                self.name(line, base, name_room);
            }
            Row::Blank => {
                self.press.right(LEFT + NUMBER - 8.0, base, NUMBERS, "+");
                self.press.rule(LEFT + NUMBER, base + 2.0, name_room, 0.4, 0.5);
            }
        }
        self.press.frame(sealed, top, SEALED, BOX);
        let by = if let Row::Item(line) = row { line.by } else { CountBy::Tenths };
        for x in [first, second] {
            match by {
                CountBy::Tenths => self.tenths(x, top),
                CountBy::Weight => self.field(x, top, "g"),
                CountBy::Height => self.field(x, top, "mm"),
                CountBy::Whole => {}
            }
        }
        self.y += ROW;
        self.press.rule(LEFT, self.y, self.wide(), 0.3, 0.6);
    }

    /// The name with its size: beside it where there is room, else below.
    fn name(&mut self, line: &PaperLine, base: f32, room: f32) {
        let x = LEFT + NUMBER;
        let size = line.size.as_deref().unwrap_or_default();
        let size_wide = self.press.width(SIZES, size);
        let beside = if size.is_empty() { 0.0 } else { size_wide + 6.0 };
        for style in [NAMES, LONG_NAMES] {
            if self.press.width(style, &line.name) + beside <= room {
                self.press.text(x, base, style, &line.name);
                self.press.right(x + room, base, SIZES, size);
                return;
            }
        }
        // Two lines are what a row holds; a name that is longer still is cut with a mark, its number tells which it is.
        let style = Style::plain(8.0);
        let mut lines = self.press.wrap(style, &line.name, room).into_iter();
        self.press.text(x, base - 4.5, style, &lines.next().unwrap_or_default());
        if let Some(second) = lines.next() {
            let tail = if lines.next().is_some() { "…" } else { "" };
            let mut second = second;
            while !second.is_empty() && self.press.width(style, &format!("{second}{tail}")) + beside > room {
                second.pop();
            }
            let cut = if tail.is_empty() && second.is_empty() { "" } else { tail };
            self.press.text(x, base + 4.5, style, &format!("{second}{cut}"));
        }
        self.press.right(x + room, base + 4.5, SIZES, size);
    }

    /// Ten boxes for the tenths of an opened one.
    fn tenths(&mut self, x: f32, top: f32) {
        self.press.frame(x, top, STRIP, BOX);
        for (n, label) in ["1", "2", "3", "4", "5", "6", "7", "8", "9", "F"].iter().enumerate() {
            let left = x + n as f32 * TENTH;
            if n > 0 {
                // The half is found without counting.
                let (width, grey) = if n == 5 { (0.9, 0.0) } else { (0.5, 0.4) };
                self.press.put(Mark::Rule { from: (left, top), to: (left, top + BOX), width, grey });
            }
            self.press.middle(left + TENTH / 2.0, top + BOX / 2.0 + 2.4, INSIDE, label);
        }
    }

    /// A box for a reading in a unit.
    fn field(&mut self, x: f32, top: f32, unit: &str) {
        self.press.frame(x, top, STRIP, BOX);
        self.press.right(x + STRIP - 4.0, top + BOX - 4.0, Style::plain(8.5), unit);
    }

    fn feet(&mut self, sheet: &CountSheet) {
        let pages = self.press.pages.len();
        let base = self.press.paper.height - 24.0;
        let lines = sheet.lines().count();
        for page in 0..pages {
            self.press.turn_to(page);
            let counted = number_of(lines, word!("line"), word!("lines"));
            self.press.text(LEFT, base, SMALL, &say!("Count sheet {date} · {counted}", date = sheet.date, counted));
            self.press.right(
                self.right,
                base,
                Style::bold(9.0),
                &say!("page {page} of {pages}", page = page + 1, pages),
            );
        }
    }
}
