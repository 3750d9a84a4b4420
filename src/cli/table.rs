//! Tables for people: columns by the cells they take up, figures to the right and never cut.

use crate::tui::text::{fit, pad_left, pad_right, safe, width};

/// Cells between two columns.
const BETWEEN: usize = 2;
/// A name is not cut below this.
const SHORTEST: usize = 10;

/// How a column is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Set {
    /// A name: to the left, and cut when the terminal is too narrow.
    Name,
    /// Words: to the left, never cut.
    Words,
    /// A figure: to the right, never cut.
    Figure,
    /// A figure that may be left out as a whole when cutting the names does not suffice.
    Spare,
    /// A figure of costs or prices, never cut.
    Money,
    /// The same, which may be left out as [`Set::Spare`] may.
    SpareMoney,
}

impl Set {
    fn is_spare(self) -> bool {
        matches!(self, Set::Spare | Set::SpareMoney)
    }

    fn is_money(self) -> bool {
        matches!(self, Set::Money | Set::SpareMoney)
    }
}

/// Rows under heads.
#[derive(Debug)]
pub(super) struct Table {
    heads: Vec<(String, Set)>,
    rows: Vec<Vec<String>>,
    foot: Vec<Vec<String>>,
    hides_money: bool,
}

impl Table {
    pub(super) fn new<'h>(heads: impl IntoIterator<Item = (&'h str, Set)>) -> Table {
        let heads = heads.into_iter().map(|(head, set)| (safe(head), set)).collect();
        Table { heads, rows: Vec::new(), foot: Vec::new(), hides_money: false }
    }

    /// The same for whoever may not see costs and prices: without the columns that tell them.
    pub(super) fn without_money(self, hides_money: bool) -> Table {
        Table { hides_money, ..self }
    }

    /// Adds a row; a cell that is missing is empty.
    pub(super) fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(self.safe_row(cells));
    }

    /// Adds a row of sums under a line.
    pub(super) fn sum(&mut self, cells: impl IntoIterator<Item = String>) {
        self.foot.push(self.safe_row(cells));
    }

    fn safe_row(&self, cells: impl IntoIterator<Item = String>) -> Vec<String> {
        let mut cells: Vec<String> = cells.into_iter().map(|c| safe(&c)).collect();
        cells.resize(self.heads.len(), String::new());
        cells
    }

    /// Sets the table within so many cells, and names the columns that were left out for it.
    pub(super) fn render(&self, room: Option<usize>) -> (String, Vec<&str>) {
        let all = || self.rows.iter().chain(&self.foot);
        let mut widths: Vec<usize> = self
            .heads
            .iter()
            .enumerate()
            .map(|(n, (head, _))| all().map(|row| width(&row[n])).max().unwrap_or(0).max(width(head)))
            .collect();
        let is_shown = |n: &usize| !(self.hides_money && self.heads[*n].1.is_money());
        let mut shown: Vec<usize> = (0..self.heads.len()).filter(is_shown).collect();
        let mut dropped = Vec::new();
        if let Some(room) = room {
            let total = |shown: &[usize], widths: &[usize]| {
                shown.iter().map(|n| widths[*n]).sum::<usize>() + BETWEEN * shown.len().saturating_sub(1)
            };
            let shortest: Vec<usize> = widths
                .iter()
                .zip(&self.heads)
                .map(|(cells, (_, set))| if *set == Set::Name { (*cells).min(SHORTEST) } else { *cells })
                .collect();
            while total(&shown, &shortest) > room {
                let Some(at) = shown.iter().position(|n| self.heads[*n].1.is_spare()) else { break };
                dropped.push(self.heads[shown.remove(at)].0.as_str());
            }
            // The widest name gives way first, so that no name is cut while a longer one stands whole.
            while total(&shown, &widths) > room {
                let names =
                    shown.iter().copied().filter(|n| self.heads[*n].1 == Set::Name && widths[*n] > shortest[*n]);
                let Some(widest) = names.max_by_key(|n| widths[*n]) else { break };
                widths[widest] -= 1;
            }
        }
        let mut out = String::new();
        let heads: Vec<String> = self.heads.iter().map(|(head, _)| head.clone()).collect();
        self.line(&mut out, &heads, &shown, &widths);
        let rule: Vec<String> = widths.iter().map(|cells| "─".repeat(*cells)).collect();
        self.line(&mut out, &rule, &shown, &widths);
        for row in &self.rows {
            self.line(&mut out, row, &shown, &widths);
        }
        if !self.foot.is_empty() {
            self.line(&mut out, &rule, &shown, &widths);
        }
        for row in &self.foot {
            self.line(&mut out, row, &shown, &widths);
        }
        (out, dropped)
    }

    fn line(&self, out: &mut String, cells: &[String], shown: &[usize], widths: &[usize]) {
        let set = |n: &usize| match self.heads[*n].1 {
            Set::Name => pad_right(&fit(&cells[*n], widths[*n]), widths[*n]),
            Set::Words => pad_right(&cells[*n], widths[*n]),
            Set::Figure | Set::Spare | Set::Money | Set::SpareMoney => pad_left(&cells[*n], widths[*n]),
        };
        let line = shown.iter().map(set).collect::<Vec<_>>().join(&" ".repeat(BETWEEN));
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table =
            Table::new([("item", Set::Name), ("in", Set::Spare), ("used", Set::Figure), ("reads", Set::Words)]);
        let row = |cells: [&str; 4]| cells.map(str::to_owned);
        table.row(row(["Crème de mûre", "0", "1 250", "within"]));
        table.row(row(["梅酒 from \x1b[31mthe hills", "12 000", "-3", "beyond"]));
        table.sum(row(["in all", "", "1 247", ""]));
        table
    }

    #[test]
    fn columns_stand_by_cells() {
        let table = table();
        let (text, dropped) = table.render(None);
        assert!(dropped.is_empty());
        let widths: Vec<usize> =
            text.lines().filter(|l| l.ends_with("within") || l.ends_with("beyond")).map(width).collect();
        assert_eq!(widths[0], widths[1], "{text}");
        assert!(!text.contains('\x1b'), "{text:?}");
        assert!(text.contains("Crème de mûre") && text.contains("12 000"), "{text}");
    }

    #[test]
    fn costs_and_prices_are_left_out_whole() {
        let make = |hides| {
            let mut table = Table::new([("drink", Set::Name), ("cost", Set::Money), ("% vol", Set::Figure)]);
            table.row(["Sour".to_owned(), "1.25".to_owned(), "14.0".to_owned()]);
            table.without_money(hides).render(None).0
        };
        assert!(make(false).contains("cost") && make(false).contains("1.25"));
        assert_eq!(make(true), "drink  % vol\n─────  ─────\nSour    14.0\n");
    }

    #[test]
    fn names_are_cut_then_spare_columns_left_out_and_figures_never() {
        let table = table();
        let (text, dropped) = table.render(Some(40));
        assert!(dropped.is_empty() && text.lines().all(|l| width(l) <= 40), "{text}");
        assert!(text.contains('…') && text.contains("12 000"), "{text}");
        let (text, dropped) = table.render(Some(30));
        assert_eq!(dropped, ["in"]);
        assert!(text.lines().all(|l| width(l) <= 30), "{text}");
        let (text, _) = table.render(Some(5));
        assert!(text.contains("1 250") && text.contains("beyond"), "{text}");
    }
}
