//! From what a test shows to how likely each reading is.

use super::scale::{Scale, Shown};

/// So many spreads from an edge, the normal core is all on one side of it: what is left is 6e-16.
const FAR: f64 = 8.0;

/// Standard normal distribution function.
fn normal_below(z: f64) -> f64 {
    if z.abs() > FAR {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// Probability of each outcome of `scale` (rising level), a wrong reading included; sums to 1.
///
/// Reading model `(1 - slip) core + slip / outcomes`: a normal core about the level, cut at the
/// edges, and a floor so that no suspect is ever ruled out by one reading; `slip` is the share of wrong
/// readings.
pub fn outcomes(scale: Scale, slip: f64, edges: &[f64], shown: &Shown) -> Vec<f64> {
    let spread = spread(scale, shown);
    let count = edges.len() + 1;
    let mut below = 0.0;
    let mut list = Vec::with_capacity(count);
    for at in 0..count {
        let next = edges.get(at).map_or(1.0, |edge| normal_below((edge - shown.level) / spread));
        list.push((1.0 - slip) * (next - below).max(0.0) + slip / count as f64);
        below = next;
    }
    list
}

/// Likelihood density of a number on the scale's axis, by the same model.
pub fn number(scale: Scale, slip: f64, shown: &Shown, on_axis: f64) -> f64 {
    let spread = spread(scale, shown);
    let z = (on_axis - shown.level) / spread;
    let core = (-0.5 * z * z).exp() / (spread * (2.0 * std::f64::consts::PI).sqrt());
    (1.0 - slip) * core + slip / scale.width()
}

fn spread(scale: Scale, shown: &Shown) -> f64 {
    let blur = scale.blur(shown.level);
    let restless = if shown.restless && scale != Scale::Click { 0.15 * scale.width() } else { 0.0 };
    (blur * blur + shown.spread * shown.spread + restless * restless).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lamp_at_full_volts_is_seen_lit() {
        let shown = Shown { level: 1.0, spread: 0.0, restless: false };
        let seen = outcomes(Scale::Glow, 0.02, &Scale::Glow.edges(), &shown);
        assert!((seen.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(seen[2] > 0.98 && seen[0] > 0.0);
    }

    #[test]
    fn an_edge_divides_evenly() {
        let shown = Shown { level: 0.7, spread: 0.0, restless: false };
        let seen = outcomes(Scale::Glow, 0.02, &Scale::Glow.edges(), &shown);
        assert!((seen[1] - seen[2]).abs() < 1e-6);
    }
}
