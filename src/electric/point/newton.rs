//! Newton's steps to an operating point while contacts and fuses stand still.

use super::table::Table;
use crate::electric::error::SolveError;
use crate::electric::law::curve::Point;
use crate::electric::law::{Form, Row};
use crate::electric::level::resting::Met;
use crate::electric::linear::dense::Dense;
use crate::electric::linear::equations::Layout;
use crate::electric::linear::ordering::order;
use crate::electric::linear::sparse_lu::Factors;
use crate::electric::short::{PerPort, alike, each};

/// Steps on a core before the whole network is taken instead; a handful is usual.
const MOST_CORE_STEPS: i32 = 40;

/// So many curves are met one by one before the first step.
const MOST_MET: usize = 2;

/// Steps on the whole network before giving up.
const MOST_STEPS: u32 = 60;

/// A point this near its curve, by the share of its own volts, is on it.
const NEAR: f64 = 1e-9;

/// A step shorter than this, beside the port's own volts and amperes, leaves an error of its square.
const SHORT_STEP: f64 = 1e-5;

/// The same from the point of its tangent, where that makes a look at the curve needless.
const ON_TANGENT: f64 = 1e-6;

/// Smallest share by which sources are turned up.
const LEAST_LEVEL_STEP: f64 = 1e-4;

/// Where rounding stops it from coming nearer, this is near enough.
const NEAR_ENOUGH: f64 = 1e-8;

/// An operating point found on a core.
#[derive(Debug, Clone, Default)]
pub(in crate::electric) struct CorePoint {
    /// Tangents of the ports.
    pub lines: PerPort<Row>,
    /// Volts and amperes of the ports.
    pub at: PerPort<(f64, f64)>,
    pub drives: PerPort<f64>,
    /// The core factored with `lines`.
    pub dense: Dense,
    /// What the drives can have moved.
    pub met: Met,
}

/// An operating point found on the whole network.
#[derive(Debug, Clone)]
pub(in crate::electric) struct WholePoint {
    pub rows: Vec<Row>,
    pub unknowns: Vec<f64>,
    pub factors: Factors,
}

/// The way to an operating point: where it stands and how far from the curves that is.
struct Walk<'forms> {
    forms: &'forms [&'forms Form],
    at: PerPort<(f64, f64)>,
    /// Points of the curves that belong to `at`; none for straight forms.
    points: PerPort<Option<Point>>,
    distance: Distance,
    steps: i32,
    /// Some port bends: without, the first step is the last.
    bends: bool,
}

/// How far a guess is from the curves.
#[derive(Debug, Clone, Copy)]
struct Distance {
    /// Sum over the ports of squared volts by ohms. A network without sources never enlarges waves
    /// measured so, which makes this a fair measure for ports of a milliohm and of a megohm together.
    watts: f64,
    /// The worst port's volts beside its own volts.
    share: f64,
    /// The worst port's volts.
    volts: f64,
}

impl<'forms> Walk<'forms> {
    /// From a guess, which need not satisfy the network.
    fn new(forms: &'forms [&'forms Form], start: PerPort<(f64, f64)>) -> Self {
        let mut points = alike(forms.len(), None);
        let distance = measure(forms, &start, &mut points);
        Walk {
            distance: Distance { watts: f64::INFINITY, ..distance },
            ..Walk::at(forms, start, points)
        }
    }

    /// From points of the curves, one for each form that bends.
    fn at(
        forms: &'forms [&'forms Form],
        start: PerPort<(f64, f64)>,
        points: PerPort<Option<Point>>,
    ) -> Self {
        // The first step is taken whatever it leads to: only after it does the guess satisfy the network.
        let distance = Distance { watts: f64::INFINITY, share: 0.0, volts: 0.0 };
        let bends = forms.iter().any(|form| !matches!(form, Form::Line(_)));
        Walk { forms, at: start, points, steps: 0, bends, distance }
    }

    /// The lines to solve the network with.
    fn lines(&self) -> PerPort<Row> {
        each(self.forms.len(), Row::OPEN, |port| match (self.forms[port], self.points[port]) {
            (Form::Line(row), _) => *row,
            (_, Some(point)) => Row::tangent(point),
            (_, None) => Row::OPEN,
        })
    }

    /// Goes towards what the lines led to: all the way if that is nearer to the curves, else a part of
    /// the way, as tangents on both sides of a kink can send whole steps in circles. True on arrival.
    fn step(&mut self, found: PerPort<(f64, f64)>) -> bool {
        self.steps += 1;
        if !self.bends || self.is_on_tangents(&found) {
            self.at = found;
            return true;
        }
        let mut points = alike(self.forms.len(), None);
        let mut distance = measure(self.forms, &found, &mut points);
        let stalled = distance.watts > 0.25 * self.distance.watts && distance.share <= NEAR_ENOUGH;
        let near = distance.share <= NEAR;
        let arrived = near && stalled || (stalled || near) && self.is_short(&found);
        if arrived {
            self.at = found;
            return true;
        }
        let (mut part, mut next) = (1.0, found);
        while distance.watts > (1.0 - 0.1 * part) * self.distance.watts && part > 1e-4 {
            part *= 0.5;
            for (next, at) in next.iter_mut().zip(&self.at) {
                *next = (0.5 * (next.0 + at.0), 0.5 * (next.1 + at.1));
            }
            distance = measure(self.forms, &next, &mut points);
        }
        (self.at, self.points, self.distance) = (next, points, distance);
        false
    }
}

impl Walk<'_> {
    /// Whether the network put every port so near to the point of its tangent that the curve is there too: what
    /// the tangent leaves is the square of so little. Not where a curve has a kink.
    fn is_on_tangents(&self, found: &[(f64, f64)]) -> bool {
        let ports = self.forms.iter().zip(&self.points).zip(found);
        ports.into_iter().all(|((form, point), found)| {
            let Some(point) = point else { return true };
            form.is_smooth()
                && (found.0 - point.volts).abs() <= ON_TANGENT * (1.0 + point.volts.abs())
                && (found.1 - point.amps).abs() <= ON_TANGENT * point.amps.abs() + 1e-15
        })
    }

    /// Whether the step to `found` is so short that what it leaves is negligible. A port behind megohms,
    /// or on an island that only its leak holds, is near its curve long before its volts are found.
    /// Amperes of other ports round its own: where that keeps steps long, more is allowed in the end.
    fn is_short(&self, found: &[(f64, f64)]) -> bool {
        let most_amps = found.iter().fold(0.0, |most: f64, place| most.max(place.1.abs()));
        let patience = 10.0_f64.powi((self.steps - 20).max(0) / 2);
        let slack_amps = 1e-15 * patience * (1.0 + most_amps);
        let slack_volts = SHORT_STEP * patience;
        self.forms.iter().zip(found.iter().zip(&self.at)).all(|(form, (found, at))| {
            matches!(form, Form::Line(_))
                || (found.0 - at.0).abs() <= slack_volts * (1.0 + found.0.abs())
                    && (found.1 - at.1).abs() <= SHORT_STEP * found.1.abs() + slack_amps
        })
    }
}

/// Finds the points of the curves that belong to a guess.
fn measure(forms: &[&Form], at: &[(f64, f64)], points: &mut [Option<Point>]) -> Distance {
    let mut distance = Distance { watts: 0.0, share: 0.0, volts: 0.0 };
    for (port, (form, &(volts, amps))) in forms.iter().zip(at).enumerate() {
        points[port] = form.meet(volts, amps);
        if let Some(point) = points[port] {
            let ohms = form.line_ohms();
            let off_volts = (point.volts - volts).abs().max(ohms * (point.amps - amps).abs());
            distance.watts += off_volts * off_volts / ohms;
            distance.volts = distance.volts.max(off_volts);
            let own_volts = 1.0 + volts.abs() + ohms * amps.abs();
            distance.share = distance.share.max(off_volts / own_volts);
        }
    }
    distance
}

/// The operating point of some ports from a start at each. `None` when its digits are not to be
/// trusted or it will not come to rest: then the whole network has to be taken.
pub(in crate::electric) fn on_ports(
    table: &Table,
    forms: &[&Form],
    start: impl FnOnce() -> PerPort<(f64, f64)>,
    point: &mut CorePoint,
) -> Option<()> {
    let dense = &mut point.dense;
    if forms.iter().all(|form| form.line().is_some()) {
        let line = |port: usize| forms[port].line().unwrap_or(Row::OPEN);
        point.lines = each(forms.len(), Row::OPEN, line);
        point.drives = table.drives(&point.lines, dense)?;
        point.at = table.driven(&point.drives);
    } else {
        let mut start = start();
        let mut walk = match meet_curves(table, forms, &mut start, dense) {
            Some(points) => Walk::at(forms, start, points),
            None => Walk::new(forms, start),
        };
        loop {
            point.lines = walk.lines();
            point.drives = table.drives(&point.lines, dense)?;
            if walk.step(table.driven(&point.drives)) {
                break;
            }
            if walk.steps >= MOST_CORE_STEPS {
                return None;
            }
        }
        point.at = walk.at;
    }
    point.drives.iter().all(|drive| drive.is_finite()).then_some(())
}

/// Brings a guess near: of few curves, each in turn to where it meets the line that the rest is to it, the
/// others on their tangents. A single one is then where it belongs. Gives the points, if all were met.
fn meet_curves(
    table: &Table,
    forms: &[&Form],
    at: &mut [(f64, f64)],
    dense: &mut Dense,
) -> Option<PerPort<Option<Point>>> {
    let curves = || forms.iter().enumerate().filter(|(_, form)| form.line().is_none());
    if curves().count() > MOST_MET {
        return None;
    }
    let mut points: PerPort<Option<Point>> = alike(forms.len(), None);
    for (port, form) in curves() {
        let lines = each(forms.len(), Row::OPEN, |other| match forms[other].line() {
            Some(line) => line,
            None if other == port => Row::OPEN,
            None => {
                let near = || forms[other].meet(at[other].0, at[other].1);
                points[other].or_else(near).map_or(Row::OPEN, Row::tangent)
            }
        });
        let (volts, ohms) = table.seen_from(port, &lines, dense)?;
        let point = form.on_line(volts, ohms, at[port].0)?;
        at[port] = (point.volts, point.amps);
        points[port] = Some(point);
    }
    Some(points)
}

/// Newton's steps from `start` on any network: `solve` gives volts and amperes of all branches under their
/// lines. `None` where it gives none, or they come to no rest.
pub(in crate::electric) fn walk(
    forms: &[&Form],
    start: PerPort<(f64, f64)>,
    mut solve: impl FnMut(&[Row]) -> Option<PerPort<(f64, f64)>>,
) -> Option<()> {
    let mut walk = Walk::new(forms, start);
    for _ in 0..MOST_STEPS {
        let found = solve(&walk.lines())?;
        if walk.step(found) {
            return Some(());
        }
    }
    None
}

/// The operating point of the whole network; `start` has all unknowns.
///
/// Where Newton's steps find none from there, all sources are turned up from nothing by and by: the
/// operating point of rising curves moves steadily with them, so that small enough steps always follow it.
pub(in crate::electric) fn on_whole(
    layout: &Layout,
    forms: &[&Form],
    start: &[f64],
) -> Result<WholePoint, SolveError> {
    let direct = walk_whole(layout, forms, start);
    if !matches!(direct, Err(SolveError::Restless { .. })) {
        return direct;
    }
    let (mut level, mut step) = (0.0, 0.25);
    let mut unknowns = vec![0.0; layout.size()];
    while step > LEAST_LEVEL_STEP {
        let next = f64::min(level + step, 1.0);
        let turned: Vec<Form> = forms.iter().map(|form| form.turned(next)).collect();
        let turned: Vec<&Form> = turned.iter().collect();
        match walk_whole(layout, &turned, &unknowns) {
            Ok(point) if next >= 1.0 => return Ok(point),
            Ok(point) => (level, step, unknowns) = (next, 1.5 * step, point.unknowns),
            Err(SolveError::Restless { .. }) => step *= 0.25,
            Err(other) => return Err(other),
        }
    }
    direct
}

/// Newton's steps on the whole network, factored anew for every step.
fn walk_whole(layout: &Layout, forms: &[&Form], start: &[f64]) -> Result<WholePoint, SolveError> {
    let ports = |unknowns: &[f64]| -> PerPort<(f64, f64)> {
        let port = |branch| (layout.across(unknowns, branch), unknowns[layout.nodes + branch]);
        (0..forms.len()).map(port).collect()
    };
    let mut walk = Walk::new(forms, ports(start));
    let mut kept: Option<Factors> = None;
    for _ in 0..MOST_STEPS {
        let rows = walk.lines();
        let matrix = layout.matrix(&rows);
        let again =
            kept.take().and_then(|mut factors| factors.refactor(&matrix).then_some(factors));
        let factors = match again {
            Some(factors) => factors,
            None => Factors::new(&matrix, &order(layout, &rows, &matrix))
                .map_err(|unknown| SolveError::Singular { unknown })?,
        };
        let unknowns = factors.solve(layout.right(&rows));
        if walk.step(ports(&unknowns)) {
            return Ok(WholePoint { rows: rows.into_vec(), unknowns, factors });
        }
        kept = Some(factors);
    }
    Err(SolveError::Restless { steps: MOST_STEPS, volts: walk.distance.volts })
}
