//! From what a test shows to how likely each reading is.

use super::scale::{Scale, Shown};

/// So many spreads from an edge, the normal core is all on one side of it: what is left is 6e-16.
const FAR: f64 = 8.0;

/// Of the axis of wrong readings, any range has at least this part.
const LEAST_PART: f64 = 0.001;

/// One standard deviation of what is read while a relay chatters, as a share of the axis of wrong readings (common
/// practice, no source).
const RESTLESS: f64 = 0.15;

/// Standard normal distribution function.
fn normal_below(z: f64) -> f64 {
    if z.abs() > FAR {
        return if z > 0.0 { 1.0 } else { 0.0 };
    }
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// Puts into `chances` the probability of each outcome of `scale` (rising level), a wrong reading included;
/// they sum to 1, and there is one more than `edges`.
///
/// Reading model `(1 - slip) core + slip / outcomes`: a normal core about the level, cut at the
/// edges, and a floor so that no suspect is ever ruled out by one reading; `slip` is the share of wrong
/// readings.
pub fn outcomes(scale: Scale, slip: f64, edges: &[f64], shown: &Shown, chances: &mut [f64]) {
    let spread = spread(scale, shown);
    let count = edges.len() + 1;
    let mut below = 0.0;
    for (at, chance) in chances.iter_mut().enumerate() {
        let next = edges.get(at).map_or(1.0, |edge| normal_below((edge - shown.level) / spread));
        *chance = (1.0 - slip) * (next - below).max(0.0) + slip / count as f64;
        below = next;
    }
}

/// Probability of the one of `count` outcomes that lies between two levels, by the same model.
pub fn outcome(scale: Scale, slip: f64, count: usize, shown: &Shown, levels: (f64, f64)) -> f64 {
    (1.0 - slip) * core(scale, shown, levels) + slip / count as f64
}

/// Likelihood density of a number on the scale's axis, by the same model.
pub fn number(scale: Scale, slip: f64, shown: &Shown, on_axis: f64) -> f64 {
    let spread = spread(scale, shown);
    let z = (on_axis - shown.level) / spread;
    let core = (-0.5 * z * z).exp() / (spread * (2.0 * std::f64::consts::PI).sqrt());
    (1.0 - slip) * core + slip / scale.width()
}

/// Probability that a number between two levels of the scale's axis is read, by the same model.
pub fn between(scale: Scale, slip: f64, shown: &Shown, levels: (f64, f64)) -> f64 {
    (1.0 - slip) * core(scale, shown, levels) + slip * share_of_axis(scale, levels)
}

/// The part of the normal core that lies between two levels.
fn core(scale: Scale, shown: &Shown, (low, high): (f64, f64)) -> f64 {
    let spread = spread(scale, shown);
    let below = |level: f64| normal_below((level - shown.level) / spread);
    (below(high) - below(low)).max(0.0)
}

/// The part of the axis that lies between two levels, in which a wrong reading falls.
pub fn share_of_axis(scale: Scale, (low, high): (f64, f64)) -> f64 {
    let (start, width) = (scale.start(), scale.width());
    ((high.min(start + width) - low.max(start)) / width).clamp(LEAST_PART, 1.0)
}

/// One standard deviation of what is read: of the reading, and of the machine.
pub fn spread(scale: Scale, shown: &Shown) -> f64 {
    let blur = scale.blur(shown.level);
    let restless =
        if shown.restless && scale != Scale::Click { RESTLESS * scale.width() } else { 0.0 };
    (blur * blur + shown.spread * shown.spread + restless * restless).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seen(shown: &Shown) -> [f64; 3] {
        let mut chances = [0.0; 3];
        outcomes(Scale::Glow, 0.02, &Scale::Glow.edges(), shown, &mut chances);
        chances
    }

    #[test]
    fn a_lamp_at_full_volts_is_seen_lit() {
        let shown = Shown { level: 1.0, spread: 0.0, restless: false };
        let seen = seen(&shown);
        assert!((seen.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(seen[2] > 0.98 && seen[0] > 0.0);
    }

    #[test]
    fn all_ranges_together_are_certain() {
        let scale = Scale::Volts { system: 12 };
        let shown = Shown { level: 9.7, spread: 0.4, restless: false };
        let edges = [f64::NEG_INFINITY, 2.0, 9.5, 10.0, f64::INFINITY];
        let each: Vec<f64> =
            edges.windows(2).map(|ends| between(scale, 0.02, &shown, (ends[0], ends[1]))).collect();
        assert!((each.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{each:?}");
        // A narrow range is as likely as it is wide times the density within.
        let narrow = between(scale, 0.02, &shown, (9.699, 9.701)) / 0.002;
        assert!((narrow / number(scale, 0.02, &shown, 9.7) - 1.0).abs() < 0.05, "{narrow}");
    }

    #[test]
    fn an_edge_divides_evenly() {
        let shown = Shown { level: 0.7, spread: 0.0, restless: false };
        let seen = seen(&shown);
        assert!((seen[1] - seen[2]).abs() < 1e-6);
    }
}
