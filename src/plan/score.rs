//! Bits: of uncertainty, and of what one step tells about the hypothesis.

/// `x ln x`, with 0 at 0.
fn x_ln_x(x: f64) -> f64 {
    if x > 0.0 { x * x.ln() } else { 0.0 }
}

/// Bits of uncertainty over shares of 1.
pub fn entropy_bits(shares: impl IntoIterator<Item = f64>) -> f64 {
    -shares.into_iter().map(x_ln_x).sum::<f64>() / std::f64::consts::LN_2
}

/// Bits of information about the hypothesis, whatever its class.
pub fn hypothesis_bits(belief: &[f64], rows: &[Vec<f64>]) -> f64 {
    let mut nats = 0.0;
    for row in rows {
        let mut outcome = 0.0;
        for (share, likelihood) in belief.iter().zip(row) {
            nats += x_ln_x(share * likelihood);
            outcome += share * likelihood;
        }
        nats -= x_ln_x(outcome);
    }
    nats -= belief.iter().map(|&share| x_ln_x(share)).sum::<f64>();
    (nats / std::f64::consts::LN_2).max(0.0)
}
