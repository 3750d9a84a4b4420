//! Many questions asked at once.

/// The p-values of many tests, adjusted so that those at or below a rate are the discoveries of which at most that
/// share is false on average: the step-up procedure of Benjamini and Hochberg (1995). In the order they were given.
///
/// The adjusted value of the i-th smallest of m is the least of p(j)·m/j over all j ≥ i.
pub fn adjusted(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*b].total_cmp(&p[*a]));
    let mut out = vec![1.0; p.len()];
    let (mut least, many) = (1.0_f64, p.len() as f64);
    for (above, at) in order.into_iter().enumerate() {
        let rank = (p.len() - above) as f64;
        least = least.min(p[at] * many / rank);
        out[at] = least;
    }
    out
}
