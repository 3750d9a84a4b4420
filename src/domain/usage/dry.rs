//! Which days say what was asked: on a day that began with nothing on the shelf nothing could be sold, so its silence
//! says nothing; a day in the course of which the last of it went says how much was asked at least.

/// What a business day says about what was asked of an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// What was asked.
    Whole,
    /// What was asked at least: it ran dry in the course of the day.
    AtLeast,
    /// Nothing: it was dry all day.
    Nothing,
}

/// What a count found of an item in all its places, at the end of a business day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// The day, as a place among the days looked at.
    pub day: usize,
    /// How much there was, in base units.
    pub there: f64,
}

/// What each day says. `asked` and `came` are by day, in base units; what came is taken to have come before the day's
/// trade, as vans do. `looks` are in the order of their days. `piece` is the size of one asking: with less than half of
/// it there is nothing to sell.
///
/// Where no count has said yet how much there is, every day is taken at its word; a stretch that the books call dry but at
/// whose end a count finds something was not dry.
pub fn told(asked: &[f64], came: &[f64], looks: &[Look], piece: f64) -> Vec<Told> {
    let mut out = vec![Told::Whole; asked.len()];
    let mut level: Option<f64> = None;
    let mut looks = looks.iter().peekable();
    // From where on the days are called dry by what the books say, and no count or van has come since.
    let mut dry_from: Option<usize> = None;
    for day in 0..asked.len() {
        let arrived = came.get(day).copied().unwrap_or_default();
        if arrived > 0.0 {
            dry_from = None;
            // What the books say is below nothing was wrong: a van fills an empty shelf.
            level = level.map(|level| level.max(0.0));
        }
        level = level.map(|level| level + arrived);
        let began_dry = level.is_some_and(|level| level < 0.5 * piece);
        let ends = level.map(|level| level - asked[day]);
        if began_dry && asked[day] <= 0.0 {
            out[day] = Told::Nothing;
            dry_from.get_or_insert(day);
        } else if began_dry {
            // Something was sold, so something was there: nobody knows how much.
            level = None;
            dry_from = None;
        } else if ends.is_some_and(|ends| ends < 0.5 * piece) && asked[day] > 0.0 {
            out[day] = Told::AtLeast;
            dry_from.get_or_insert(day);
        }
        level = level.map(|level| level - asked[day]);
        while let Some(look) = looks.next_if(|look| look.day <= day) {
            if look.day < day {
                continue;
            }
            if look.there < 0.5 * piece {
                // All of it went, today or since the last sale; what was asked of it today is the least.
                if out[day] == Told::Whole && asked[day] > 0.0 {
                    out[day] = Told::AtLeast;
                }
            } else if let Some(from) = dry_from.take() {
                out[from..=day].fill(Told::Whole);
            }
            level = Some(look.there);
        }
    }
    out
}

/// With so many askings expected over a silence just before something came, it is hardly chance.
const UNLIKELY: f64 = 4.0;

/// Whether an item was silent just before something of it came, for longer than chance would have it. `open` says which
/// days were days of trade.
pub fn seems_dry(asked: &[f64], came: &[f64], open: &[bool], piece: f64) -> bool {
    let first = asked.iter().position(|amount| *amount > 0.0).unwrap_or(asked.len());
    let days = open[first..].iter().filter(|open| **open).count();
    let expected = asked.iter().sum::<f64>() / days.max(1) as f64 / piece.max(f64::MIN_POSITIVE);
    let mut silent = 0.0;
    for day in first..asked.len() {
        if came[day] > 0.0 && silent * expected >= UNLIKELY {
            return true;
        }
        match (asked[day] > 0.0, open[day]) {
            (true, _) => silent = 0.0,
            (false, true) => silent += 1.0,
            (false, false) => {}
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks(asked: &[f64], came: &[f64], looks: &[(usize, f64)]) -> String {
        let looks: Vec<Look> = looks.iter().map(|&(day, there)| Look { day, there }).collect();
        let mark = |told: &Told| match told {
            Told::Whole => '.',
            Told::AtLeast => '>',
            Told::Nothing => 'x',
        };
        told(asked, came, &looks, 50.0).iter().map(mark).collect()
    }

    #[test]
    fn nothing_is_dry_before_a_count_says_how_much_there_is() {
        assert_eq!(marks(&[100.0, 0.0, 0.0, 50.0], &[], &[]), "....");
    }

    #[test]
    fn dry_from_a_count_of_nothing_until_the_van() {
        // The count at the end of day 1 finds nothing; the van of day 4 brings some.
        assert_eq!(marks(&[100.0, 50.0, 0.0, 0.0, 0.0, 50.0], &[0.0, 0.0, 0.0, 0.0, 700.0], &[(1, 0.0)]), ".>xx..");
    }

    #[test]
    fn dry_by_the_books_when_the_last_of_it_was_sold() {
        // 200 there after day 0; 100 and 90 are sold, and nothing after that until the van of day 5.
        let came = [0.0, 0.0, 0.0, 0.0, 0.0, 700.0];
        assert_eq!(marks(&[0.0, 100.0, 90.0, 0.0, 0.0, 40.0], &came, &[(0, 200.0)]), "..>xx.");
    }

    #[test]
    fn a_count_that_finds_something_says_that_it_was_a_quiet_day() {
        // The books say dry after day 2, but the count at the end of day 4 finds 400: the gap was elsewhere.
        assert_eq!(marks(&[0.0, 100.0, 100.0, 0.0, 0.0, 50.0], &[], &[(0, 200.0), (4, 400.0)]), "......");
        // Sales after nothing: something must have been there.
        assert_eq!(marks(&[0.0, 200.0, 0.0, 100.0, 0.0], &[], &[(0, 200.0)]), ".>x..");
    }
}
