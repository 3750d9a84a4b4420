//! The barest list that can be scrolled in a terminal, for measuring: what a key costs before anything is looked up.
//!
//! `j` goes down, `k` up, `q` ends it.

use ratatui::crossterm::event::{Event, KeyCode, read};
use ratatui::style::Style;
use ratatui::text::Line;
use ratatui::widgets::Paragraph;

const ROWS: usize = 400;

fn main() -> std::io::Result<()> {
    let mut terminal = ratatui::try_init()?;
    let mut at = 0_usize;
    let ended = loop {
        terminal.draw(|frame| {
            let height = usize::from(frame.area().height);
            let from = at.saturating_sub(height / 2).min(ROWS.saturating_sub(height));
            let row = |n: usize| {
                let line =
                    Line::from(format!("Item {n:03}  {:>8} {:>8} {:>8}", n * 7 % 900, n * 11 % 900, n * 13 % 900));
                if n == at { line.style(Style::new().reversed()) } else { line }
            };
            frame.render_widget(
                Paragraph::new((from..(from + height).min(ROWS)).map(row).collect::<Vec<_>>()),
                frame.area(),
            );
        })?;
        match read() {
            Ok(Event::Key(key)) => match key.code {
                KeyCode::Char('j') => at = (at + 1).min(ROWS - 1),
                KeyCode::Char('k') => at = at.saturating_sub(1),
                KeyCode::Char('q') => break Ok(()),
                _ => {}
            },
            Ok(_) => {}
            Err(error) => break Err(error),
        }
    };
    ratatui::restore();
    ended
}
