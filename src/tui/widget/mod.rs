//! The parts that screens are made of. Each draws into the area it is given, at any size, and reads no key itself:
//! what is edited takes an [`Action`](crate::tui::keymap::Action).

pub mod chart;
pub mod chooser;
pub mod columns;
pub mod confirm;
pub mod container;
pub mod cover;
pub mod facts;
pub mod field;
pub mod finder;
pub mod footer;
pub mod header;
pub mod help;
pub mod level;
pub mod notice;
pub mod panel;
pub mod plot;
pub mod scroll;
pub mod shell;
pub mod sign_in;
pub mod whisker;
pub mod window;
pub mod work;

#[cfg(test)]
pub(crate) mod harness {
    //! Drawing into a pretended terminal, and reading what came of it.

    use ratatui::buffer::Buffer;
    use ratatui::style::{Color, Modifier};
    use ratatui::{Frame, Terminal, backend::TestBackend};

    /// What `paint` leaves in a window of this size.
    pub(crate) fn painted(width: u16, height: u16, paint: impl FnOnce(&mut Frame)) -> Buffer {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        terminal.draw(paint).unwrap();
        terminal.backend().buffer().clone()
    }

    /// The rows as text, without the blanks at their ends.
    pub(crate) fn rows(buffer: &Buffer) -> Vec<String> {
        let area = buffer.area;
        (area.top()..area.bottom())
            .map(|y| {
                let mut row = String::new();
                let mut x = area.left();
                while x < area.right() {
                    let symbol = buffer[(x, y)].symbol();
                    row.push_str(symbol);
                    x += u16::try_from(crate::tui::text::width(symbol)).unwrap().max(1);
                }
                row.trim_end().to_owned()
            })
            .collect()
    }

    /// The rows as one text.
    pub(crate) fn shown(width: u16, height: u16, paint: impl FnOnce(&mut Frame)) -> String {
        rows(&painted(width, height, paint)).join("\n")
    }

    /// The text of a row that carries a modifier: what is highlighted there.
    pub(crate) fn marked(buffer: &Buffer, y: u16, modifier: Modifier) -> String {
        (buffer.area.left()..buffer.area.right())
            .map(|x| &buffer[(x, y)])
            .filter(|cell| cell.modifier.contains(modifier))
            .map(|cell| cell.symbol())
            .collect()
    }

    /// Draws at every small size and a few usual ones; `paint` must not panic, nor colour a cell.
    pub(crate) fn at_every_size(paint: impl Fn(&mut Frame)) {
        let small = (1..=20).flat_map(|width| (1..=8).map(move |height| (width, height)));
        for (width, height) in small.chain([(60, 20), (80, 24), (120, 40), (200, 50), (300, 2), (2, 100)]) {
            let buffer = painted(width, height, &paint);
            for cell in buffer.content() {
                assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset), "a colour in the plain theme");
            }
        }
    }
}
