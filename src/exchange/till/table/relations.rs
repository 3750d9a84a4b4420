//! Columns that are what others come to: price times quantity, net and tax.

use super::facts::Facts;

/// Columns that are what others come to.
#[derive(Debug, Default)]
pub(super) struct Relations {
    /// A price: times the quantity it is the amount.
    pub(super) each: Vec<usize>,
    pub(super) amount: Vec<usize>,
    pub(super) net: Vec<usize>,
    pub(super) tax: Vec<usize>,
    pub(super) gross: Vec<usize>,
}

impl Relations {
    pub(super) fn of(facts: &[Facts]) -> Relations {
        let mut out = Relations::default();
        let numeric = |n: &usize| facts[*n].filled > 0 && facts[*n].are(facts[*n].numbers) && facts[*n].percents == 0;
        let columns: Vec<usize> = (0..facts.len()).filter(numeric).take(10).collect();
        for &q in &columns {
            for &p in &columns {
                for &a in &columns {
                    if p == q || a == q || a == p || !facts[q].are(facts[q].wholes) {
                        continue;
                    }
                    let (mut good, mut all, mut telling) = (0, 0, 0);
                    for ((q, p), a) in facts[q].values.iter().zip(&facts[p].values).zip(&facts[a].values) {
                        let (Some(q), Some(p), Some(a)) = (q, p, a) else { continue };
                        let made = i128::from(*q) * i128::from(*p);
                        all += 1;
                        good += usize::from(
                            (made - i128::from(*a) * 1_000).abs() <= 10_000 * i128::from(*q).abs().max(1) / 1_000,
                        );
                        telling += usize::from(q.abs() > 1_000 && *a != 0 && p != a);
                    }
                    if all >= 2 && good * 20 >= all * 19 && telling > 0 && facts[p].cents >= facts[q].cents {
                        out.each.push(p);
                        out.amount.push(a);
                    }
                }
            }
        }
        for &n in &columns {
            for &t in &columns {
                for &g in &columns {
                    if n == t || t == g || n == g {
                        continue;
                    }
                    let (mut good, mut all, mut telling) = (0, 0, 0);
                    for ((n, t), g) in facts[n].values.iter().zip(&facts[t].values).zip(&facts[g].values) {
                        let (Some(n), Some(t), Some(g)) = (n, t, g) else { continue };
                        all += 1;
                        good += usize::from((n + t - g).abs() <= 10);
                        telling += usize::from(*t != 0 && t.abs() < n.abs());
                    }
                    if all >= 2 && good * 20 >= all * 19 && telling * 2 > all {
                        out.net.push(n);
                        out.tax.push(t);
                        out.gross.push(g);
                    }
                }
            }
        }
        out
    }
}
