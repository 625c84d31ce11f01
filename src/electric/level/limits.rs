//! How much of a drive on one place leaves a level as it is.
//!
//! All that is watched moves in proportion to the drive, so its bounds together are two limits of the drive.
//! They are found once for each place; whether a change of any size bends or moves anything is then one
//! look.

use crate::electric::base::Base;
use crate::electric::base::span::{EVERYTHING, Limits, Span};
use crate::electric::base::values::{Place, Values};
use crate::electric::residual::{REACH_AMPS, REACH_VOLTS};

/// Drives under which `rest + drive * moved` stays in `bounds`, as it does without any.
fn span(bounds: Span, rest: f64, moved: f64) -> Span {
    let (low, high) = ((bounds.0 - rest) / moved, (bounds.1 - rest) / moved);
    if moved > 0.0 {
        (low, high)
    } else if moved < 0.0 {
        (high, low)
    } else {
        EVERYTHING
    }
}

fn both(one: Span, other: Span) -> Span {
    (one.0.max(other.0), one.1.min(other.1))
}

impl Limits {
    /// Of `place`, whose column is `column`. `bounds` are those of what the base watches, the `own`-th of
    /// which is of the branch itself; `shared` are bounds of further sums, with what a unit of drive does.
    pub fn new(
        base: &Base,
        (place, column): (Place, &Values),
        (bounds, own): (&[Span], Option<usize>),
        shared: impl Iterator<Item = (Span, f64, f64)>,
    ) -> Limits {
        let rest = &base.rest;
        let reach = |most: f64, rest: f64, moved: f64| {
            let drive = ((most - rest) / moved).max(0.0);
            (-drive, drive)
        };
        let mut others = both(
            reach(REACH_VOLTS, rest.most_volts, column.most_volts),
            reach(REACH_AMPS, rest.most_amps, column.most_amps),
        );
        let mut of_own = EVERYTHING;
        let each = bounds.iter().zip(rest.watched.iter().zip(&column.watched));
        for (index, (&bounds, (&rest, &moved))) in each.enumerate() {
            let span = span(bounds, rest, moved);
            if own == Some(index) {
                of_own = span;
            } else {
                others = both(others, span);
            }
        }
        for (bounds, rest, moved) in shared {
            others = both(others, span(bounds, rest, moved));
        }
        let mut unit = base.at(place, &column.all);
        if matches!(place, Place::Pair(..)) {
            unit.1 = 1.0;
        }
        let rest = base.at(place, &rest.all);
        Limits { unit, rest, floats: false, rests: false, all: both(others, of_own), others }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(bounds: Span, rest: f64, moved: f64, inside: &[f64], outside: &[f64]) {
        let (low, high) = span(bounds, rest, moved);
        let holds = |drive: &f64| (low..=high).contains(drive);
        assert!(inside.iter().all(holds) && !outside.iter().any(holds), "{low} to {high}");
        for drive in inside.iter().chain(outside) {
            let value = rest + drive * moved;
            assert_eq!(bounds.0 <= value && value <= bounds.1, holds(drive), "{drive}");
        }
    }

    #[test]
    fn a_drive_within_its_limits_leaves_all_within_its_bounds() {
        check((-1.0, 2.0), 0.5, 0.25, &[-6.0, 0.0, 6.0], &[-6.1, 6.1]);
        check((-1.0, 2.0), 0.5, -0.25, &[-6.0, 0.0, 6.0], &[-6.1, 6.1]);
        check((f64::NEG_INFINITY, 2.0), 1.0, 1.0, &[-1e9, 0.0, 1.0], &[1.1]);
        check((-1.0, 2.0), 0.5, 0.0, &[-1e9, 1e9], &[]);
    }
}
