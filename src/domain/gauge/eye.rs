//! How good a counter's eye is, learned from containers that were read by eye and weighed as well.

/// One container read by eye and then weighed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// What the eye read less what the scale found, as a share of the container (0.1 is one tenth).
    pub off: f64,
    /// Variance of that difference for a perfect eye: the step the eye read in, and the scale.
    pub variance: f64,
}

/// A counter's eye, in shares of a container.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Eye {
    /// What it reads too much, on average; below zero, too little.
    pub bias: f64,
    /// Standard uncertainty of that.
    pub u_bias: f64,
    /// Standard deviation of a single reading around it, besides the step it reads in.
    pub spread: f64,
    /// Pairs that this was learned from. Without any, the eye is taken at its word: no bias, and no error but the step.
    pub pairs: usize,
}

/// What is thought of an eye before it was ever checked, as shares: nine of ten read within half a tenth too much or too
/// little on average, and scatter by less than half a tenth (common practice, no source). A few pairs are drawn towards
/// this, many outweigh it.
pub const PRIOR_BIAS: f64 = 0.03;
/// See [`PRIOR_BIAS`]: scale of a half-normal distribution.
pub const PRIOR_SPREAD: f64 = 0.03;

/// Steps in which the spread is tried out, and their number.
const STEP: f64 = 0.004;
const STEPS: u32 = 40;

impl Eye {
    /// What pairs say of an eye.
    ///
    /// Each difference is taken as normal around the bias, with the spread's variance and its own. The bias has a normal
    /// prior, so that for a given spread it has a normal posterior in closed form; the spread is summed over a grid with
    /// its prior and the likelihood of the pairs (the conjugate normal model of the textbooks, e.g. Gelman et al.,
    /// Bayesian Data Analysis, ch. 2 and 5; from memory).
    pub fn learned(pairs: &[Pair]) -> Eye {
        if pairs.is_empty() {
            return Eye::default();
        }
        let mut tried = Vec::with_capacity(STEPS as usize);
        for n in 0..STEPS {
            let spread = (f64::from(n) + 0.5) * STEP;
            let (mut precision, mut weighted, mut log) = (1.0 / (PRIOR_BIAS * PRIOR_BIAS), 0.0, 0.0);
            for pair in pairs {
                let variance = spread * spread + pair.variance;
                precision += 1.0 / variance;
                weighted += pair.off / variance;
                log -= 0.5 * (variance.ln() + pair.off * pair.off / variance);
            }
            let bias = weighted / precision;
            log += 0.5 * (bias * weighted - precision.ln());
            log -= 0.5 * (spread / PRIOR_SPREAD).powi(2);
            tried.push((log, bias, 1.0 / precision, spread * spread));
        }
        let best = tried.iter().map(|t| t.0).fold(f64::NEG_INFINITY, f64::max);
        let weights = tried.iter().map(|t| (t.0 - best).exp());
        let total: f64 = weights.clone().sum();
        let mean = |of: fn(&(f64, f64, f64, f64)) -> f64| {
            tried.iter().zip(weights.clone()).map(|(t, w)| w * of(t)).sum::<f64>() / total
        };
        let bias = mean(|t| t.1);
        let variance = mean(|t| t.2 + t.1 * t.1) - bias * bias;
        Eye { bias, u_bias: variance.max(0.0).sqrt(), spread: mean(|t| t.3).sqrt(), pairs: pairs.len() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pairs(offs: &[f64]) -> Vec<Pair> {
        offs.iter().map(|off| Pair { off: *off, variance: 0.05 * 0.05 / 3.0 }).collect()
    }

    #[test]
    fn an_unchecked_eye_is_taken_at_its_word() {
        assert_eq!(Eye::learned(&[]), Eye::default());
    }

    #[test]
    fn few_pairs_move_it_a_little_and_many_all_the_way() {
        let biases: Vec<f64> = [1, 3, 10, 100].iter().map(|n| Eye::learned(&pairs(&vec![0.06; *n])).bias).collect();
        assert!(biases.windows(2).all(|w| w[0] < w[1]), "{biases:?}");
        assert!(biases[0] > 0.01 && biases[0] < 0.035, "{biases:?}");
        assert!((biases[3] - 0.06).abs() < 0.001, "{biases:?}");
        let u: Vec<f64> = [1, 3, 10, 100].iter().map(|n| Eye::learned(&pairs(&vec![0.06; *n])).u_bias).collect();
        assert!(u.windows(2).all(|w| w[0] > w[1]), "{u:?}");
    }

    #[test]
    fn a_scatter_wider_than_the_step_is_seen() {
        let steady: Vec<f64> = (0..45).map(|n| 0.05 * (f64::from(n % 9) - 4.0) / 4.0).collect();
        let wild: Vec<f64> = steady.iter().map(|off| off * 3.0).collect();
        let (steady, wild) = (Eye::learned(&pairs(&steady)), Eye::learned(&pairs(&wild)));
        assert!(steady.spread < 0.02, "{steady:?}");
        assert!(wild.spread > 0.06, "{wild:?}");
        assert!(wild.u_bias > steady.u_bias);
        assert!(wild.bias.abs() < 1e-12);
    }
}
