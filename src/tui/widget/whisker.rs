//! The whisker: a figure and its uncertainty against a zero line, in one cell of a table.

use crate::tui::theme::Theme;
use ratatui::text::{Line, Span};

/// The bar reaches this many standard uncertainties to each side.
pub const COVERAGE: f64 = 2.0;

/// Narrower than this nothing can be told apart, and only blanks are drawn.
pub const MIN_WIDTH: u16 = 7;

/// Draws `gap` with a bar of ±2 `u` on a scale from −`half_range` to +`half_range`, all three in the same unit, zero in
/// the middle. The line is exactly `width` cells long.
///
/// An interval that takes zero in is thin and hollow and crosses the zero line; one that leaves it out is heavy and
/// filled, never touches the zero line, and has the style of over or short. Where it goes on beyond
/// the scale it ends in an arrow. Figures that are no numbers leave only the zero line.
pub fn whisker(gap: f64, u: f64, half_range: f64, width: u16, theme: &Theme) -> Line<'static> {
    let cells = usize::from(width);
    if width < MIN_WIDTH {
        return Line::from(" ".repeat(cells));
    }
    let glyphs = theme.glyphs;
    // An even width leaves its last cell blank, so that zero has a cell of its own in the middle.
    let middle = (i64::from(width) - 1) / 2;
    let last = middle * 2;
    let usable = gap.is_finite() && u.is_finite() && u >= 0.0 && half_range.is_finite() && half_range > 0.0;
    if !usable {
        let mut line = vec![' '; cells];
        put(&mut line, middle, glyphs.zero);
        return Line::from(Span::styled(line.into_iter().collect::<String>(), theme.muted));
    }

    let (low, high) = (gap - COVERAGE * u, gap + COVERAGE * u);
    let over = low > 0.0;
    let short = high < 0.0;
    // The far ends are capped before they become whole numbers; the cells beyond the edges are not drawn anyway.
    let cell = |value: f64| middle + (value / half_range * middle as f64).round().clamp(-1e6, 1e6) as i64;
    // Rounding must not let a real gap touch the zero line.
    let clear = |at: i64| match (over, short) {
        (true, _) => at.max(middle + 1),
        (_, true) => at.min(middle - 1),
        _ => at,
    };
    let (from, point, to) = (clear(cell(low)), clear(cell(gap)), clear(cell(high)));

    let look = if over || short { &glyphs.real } else { &glyphs.within };
    let style = match (over, short) {
        (true, _) => theme.over,
        (_, true) => theme.short,
        _ => theme.text,
    };
    let mut line = vec![' '; cells];
    put(&mut line, middle, glyphs.zero);
    for at in from.max(0)..=to.min(last) {
        let glyph = match at {
            _ if at == point => look.point,
            _ if at == middle => glyphs.zero_crossed,
            _ if at == from => look.left,
            _ if at == to => look.right,
            _ => look.bar,
        };
        put(&mut line, at, glyph);
    }
    if from < 0 {
        put(&mut line, 0, glyphs.beyond_left);
    }
    if to > last {
        put(&mut line, last, glyphs.beyond_right);
    }
    // The zero line keeps its own quiet style where nothing crosses it.
    let (left, rest) = line.split_at(usize::try_from(middle).unwrap_or(0));
    let (zero, right) = rest.split_at(1);
    let zero_style = if zero == [glyphs.zero] { theme.muted } else { style };
    Line::from(vec![span(left, style), span(zero, zero_style), span(right, style)])
}

fn put(line: &mut [char], at: i64, glyph: char) {
    if let Some(cell) = usize::try_from(at).ok().and_then(|at| line.get_mut(at)) {
        *cell = glyph;
    }
}

fn span(glyphs: &[char], style: ratatui::style::Style) -> Span<'static> {
    Span::styled(glyphs.iter().collect::<String>(), style)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::text::width as cells;
    use crate::tui::widget::harness::at_every_size;
    use proptest::prelude::*;

    fn rows(theme: &Theme) -> String {
        let cases = [
            (0.0, 20.0, "nothing"),
            (30.0, 20.0, "over, within"),
            (70.0, 15.0, "over, real"),
            (-70.0, 5.0, "short, real"),
            (-30.0, 40.0, "short, within"),
            (6.0, 2.0, "small, real"),
            (95.0, 30.0, "clipped"),
            (400.0, 30.0, "far over"),
            (-400.0, 30.0, "far short"),
            (0.0, 400.0, "knows nothing"),
            (f64::NAN, 1.0, "no number"),
        ];
        cases.map(|(gap, u, name)| format!("[{}] {name}", whisker(gap, u, 100.0, 15, theme))).join("\n")
    }

    #[test]
    fn drawn() {
        insta::assert_snapshot!(rows(&Theme::default()), @r"
        [    ╶──○──╴    ] nothing
        [      ╶┼─○──╴  ] over, within
        [       ┊  ╺━●━╸] over, real
        [ ╺●╸   ┊       ] short, real
        [◂────○─┼───╴   ] short, within
        [       ┊●      ] small, real
        [       ┊ ╺━━━━▸] clipped
        [       ┊      ▸] far over
        [◂      ┊       ] far short
        [◂──────○──────▸] knows nothing
        [       ┊       ] no number
        ");
    }

    #[test]
    fn in_ascii() {
        insta::assert_snapshot!(rows(&Theme::default().ascii()), @r"
        [    ---o---    ] nothing
        [      -|-o---  ] over, within
        [       :  ==@==] over, real
        [ =@=   :       ] short, real
        [<----o-|----   ] short, within
        [       :@      ] small, real
        [       : =====>] clipped
        [       :      >] far over
        [<      :       ] far short
        [<------o------>] knows nothing
        [       :       ] no number
        ");
    }

    #[test]
    fn a_real_gap_has_its_style_and_an_unreal_one_has_not() {
        let theme = Theme::default();
        let styles = |gap, u| whisker(gap, u, 100.0, 21, &theme).spans.iter().map(|s| s.style).collect::<Vec<_>>();
        assert!(styles(50.0, 10.0).contains(&theme.over));
        assert!(styles(-50.0, 10.0).contains(&theme.short));
        let quiet = styles(50.0, 40.0);
        assert!(!quiet.contains(&theme.over) && !quiet.contains(&theme.short));
    }

    #[test]
    fn no_size_panics() {
        at_every_size(|frame| {
            let line = whisker(55.0, 20.0, 100.0, frame.area().width, &Theme::from_env(true));
            frame.render_widget(line, frame.area());
        });
    }

    proptest! {
        #[test]
        fn what_is_seen_is_what_is_so(
            gap in prop_oneof![-500.0..500.0, -5.0..5.0, any::<f64>()],
            u in prop_oneof![0.0..300.0, any::<f64>()],
            half_range in prop_oneof![1.0..200.0, any::<f64>()],
            width in 0u16..60,
        ) {
            let theme = Theme::default();
            let line = whisker(gap, u, half_range, width, &theme).to_string();
            prop_assert_eq!(cells(&line), usize::from(width));
            let usable = gap.is_finite() && u.is_finite() && u >= 0.0 && half_range.is_finite() && half_range > 0.0;
            if width >= MIN_WIDTH && usable {
                let zero = line.chars().nth(usize::from((width - 1) / 2)).unwrap();
                let real = gap - COVERAGE * u > 0.0 || gap + COVERAGE * u < 0.0;
                prop_assert_eq!(zero == theme.glyphs.zero, real);
            }
        }
    }
}
