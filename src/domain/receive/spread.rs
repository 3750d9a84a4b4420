//! Sharing a sum of money out so that nothing is lost to rounding.

use crate::domain::measure::Money;

/// Shares `total` in proportion to `weights`, to the last coin: each share is rounded down and what is left goes, one coin
/// each, to those that lost most by it (largest remainder), the first of equals first. Weights below zero count as none;
/// `None` when there is no weight at all.
pub fn shares(total: Money, weights: &[i64]) -> Option<Vec<Money>> {
    let weights: Vec<i128> = weights.iter().map(|weight| i128::from(*weight).max(0)).collect();
    let sum: i128 = weights.iter().sum();
    if sum == 0 {
        return None;
    }
    let (sign, size) = (total.0.signum(), i128::from(total.0).abs());
    let mut out: Vec<i128> = weights.iter().map(|weight| size * weight / sum).collect();
    let mut left = size - out.iter().sum::<i128>();
    let mut by_loss: Vec<usize> = (0..weights.len()).collect();
    by_loss.sort_by_key(|n| std::cmp::Reverse(size * weights[*n] % sum));
    for n in by_loss {
        if left == 0 {
            break;
        }
        out[n] += 1;
        left -= 1;
    }
    Some(out.into_iter().map(|share| Money(share as i64 * sign)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_coins_left_over_go_where_most_was_lost() {
        // 7.50 over 314.00, 118.68, 68.40 and 106.87: exact shares 387.37, 146.41, 84.38 and 131.84 cents (by hand).
        let got = shares(Money(750), &[31_400, 11_868, 6_840, 10_687]);
        assert_eq!(got, Some(vec![Money(387), Money(147), Money(84), Money(132)]));
        assert_eq!(shares(Money(-1), &[1, 1]), Some(vec![Money(-1), Money(0)]));
        assert_eq!(shares(Money(5), &[0, -3]), None);
    }

    proptest! {
        #[test]
        fn shares_add_up_and_are_near(total in -1_000_000_i64..1_000_000, weights in prop::collection::vec(0_i64..1_000_000, 1..12)) {
            match shares(Money(total), &weights) {
                None => prop_assert_eq!(weights.iter().sum::<i64>(), 0),
                Some(parts) => {
                    prop_assert_eq!(parts.iter().map(|part| part.0).sum::<i64>(), total);
                    let sum: i128 = weights.iter().map(|w| i128::from(*w)).sum();
                    for (part, weight) in parts.iter().zip(&weights) {
                        let off = i128::from(part.0) * sum - i128::from(total) * i128::from(*weight);
                        prop_assert!(off.abs() < sum, "{:?} {:?}", part, weight);
                    }
                }
            }
        }
    }
}
