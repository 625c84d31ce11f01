//! What wires may carry, and what fuses protect them.

/// Square millimetres and the amperes such a wire may carry for good: 33 CFR 183.425, table 5 (boats, under
/// 50 V), insulation for 105 C, American gauges 18 to 4/0. `tests/data/wire/ampacity.yaml` has the table.
pub const CARRIES: [(f64, f64); 15] = [
    (0.823, 20.0),
    (1.31, 25.0),
    (2.08, 35.0),
    (3.31, 45.0),
    (5.26, 60.0),
    (8.37, 80.0),
    (13.3, 120.0),
    (21.2, 160.0),
    (26.7, 180.0),
    (33.6, 210.0),
    (42.4, 245.0),
    (53.5, 285.0),
    (67.4, 330.0),
    (85.0, 385.0),
    (107.0, 445.0),
];

/// A fuse may be rated for so many times what its wire carries: 33 CFR 183.455 (c) (1).
pub const FUSE_OVER_WIRE: f64 = 1.5;

/// A wire that loses more than this share of the system's volts is too thin even for things that are not
/// critical: ABYC E-11, as quoted by a maker of boat fittings.
pub const MOST_LOST: f64 = 0.10;

/// Amperes a copper wire of this size may carry for good.
///
/// Between the sizes of the table along a straight line of the logarithms, and on along it beyond its ends.
pub fn carries_amps(area_mm2: f64) -> f64 {
    let at = CARRIES.iter().position(|(area, _)| *area >= area_mm2).unwrap_or(CARRIES.len());
    let upper = at.clamp(1, CARRIES.len() - 1);
    let ((area, amps), (next_area, next_amps)) = (CARRIES[upper - 1], CARRIES[upper]);
    let slope = (next_amps / amps).ln() / (next_area / area).ln();
    amps * (area_mm2 / area).powf(slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_of_the_table_carry_what_it_says_and_others_lie_between() {
        for (area, amps) in CARRIES {
            assert!((carries_amps(area) - amps).abs() < 1e-9);
        }
        let sizes = [0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 16.0, 120.0].map(carries_amps);
        assert!(sizes.is_sorted(), "{sizes:?}");
        assert!((18.0..20.0).contains(&carries_amps(0.75)));
    }
}
