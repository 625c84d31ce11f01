//! The operating point of a network whose contacts and fuses stand still.

use super::equations::{Unknowns, solve};
use super::error::SolveError;
use super::law::{Form, Row};
use super::network::{Branch, Law, NodeId};

/// Newton steps before giving up; a handful is usual.
const MOST_STEPS: u32 = 200;

/// From here on steps are halved, and halved again later: kinks can make whole steps run in circles.
const PATIENCE: u32 = 20;

/// Two points closer than this, plus a billionth of their volts, are the same.
const CLOSE_VOLTS: f64 = 1e-9;

/// More amperes than any source behind some resistance delivers.
const ENDLESS_AMPS: f64 = 1e7;

/// More volts than any current source with a way back needs.
const ENDLESS_VOLTS: f64 = 1e7;

/// A solved network with the tangents it was solved with.
#[derive(Debug, Clone)]
pub(super) struct Operating {
    pub unknowns: Unknowns,
    pub rows: Vec<Row>,
}

/// Finds the operating point; `closed` tells for each branch whether its contact is closed, its fuse
/// whole; `start` is a point to begin from.
pub(super) fn operate(
    nodes: u32,
    branches: &[Branch],
    closed: &[bool],
    start: Option<&Unknowns>,
) -> Result<Operating, SolveError> {
    let forms: Vec<Form> = branches
        .iter()
        .zip(closed)
        .map(|(branch, &closed)| Form::of(&branch.law, closed))
        .collect();
    let mut at: Vec<(f64, f64)> = branches
        .iter()
        .enumerate()
        .map(|(index, branch)| {
            start.map_or((0.0, 0.0), |start| (start.across(branch), start.branch_amps[index]))
        })
        .collect();
    let mut moved_volts = f64::MAX;
    for step in 0..MOST_STEPS {
        let rows: Vec<Row> =
            forms.iter().zip(&at).map(|(form, &(volts, amps))| row(*form, volts, amps)).collect();
        let unknowns = solve(nodes, branches, &rows, &[])?;
        moved_volts = 0.0;
        let share = if step < PATIENCE {
            1.0
        } else {
            0.5_f64.powi(1 + (step - PATIENCE).cast_signed() / 40)
        };
        for (index, branch) in branches.iter().enumerate() {
            let (volts, amps) = (unknowns.across(branch), unknowns.branch_amps[index]);
            if let Some((_, off_volts)) = forms[index].meet(volts, amps) {
                let allowed = CLOSE_VOLTS + 1e-9 * volts.abs();
                moved_volts =
                    f64::max(moved_volts, if off_volts > allowed { off_volts } else { 0.0 });
            }
            at[index].0 += share * (volts - at[index].0);
            at[index].1 += share * (amps - at[index].1);
        }
        if moved_volts == 0.0 {
            check_bounds(branches, &unknowns)?;
            return Ok(Operating { unknowns, rows });
        }
    }
    Err(SolveError::Restless { steps: MOST_STEPS, volts: moved_volts })
}

fn row(form: Form, volts: f64, amps: f64) -> Row {
    match (form, form.meet(volts, amps)) {
        (Form::Line(row), _) => row,
        (_, Some((point, _))) => Row::tangent(point),
        (_, None) => Row::OPEN,
    }
}

/// Tells ideal sources in a quarrel and current sources without a way back by what they lead to.
fn check_bounds(branches: &[Branch], unknowns: &Unknowns) -> Result<(), SolveError> {
    let largest = |values: &[f64]| {
        let most = values.iter().enumerate().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        most.map_or((0, 0.0), |(index, value)| (index as u32, value.abs()))
    };
    let (node, volts) = largest(&unknowns.node_volts);
    if volts.is_nan() || volts > ENDLESS_VOLTS {
        return Err(SolveError::NoReturn { node, volts });
    }
    let (branch, amps) = largest(&unknowns.branch_amps);
    let driven = |branch: &Branch| matches!(branch.law, Law::Current { .. });
    if (amps.is_nan() || amps > ENDLESS_AMPS) && !driven(&branches[branch as usize]) {
        return Err(SolveError::ShortedSource { branch, amps });
    }
    Ok(())
}

impl Operating {
    /// What an ampere from `from` to `to` through a tester would do, per ampere: small-signal.
    pub fn response(
        &self,
        nodes: u32,
        branches: &[Branch],
        ends: (NodeId, NodeId),
    ) -> Result<Unknowns, SolveError> {
        let quiet: Vec<Row> = self.rows.iter().map(|row| Row { gamma: 0.0, ..*row }).collect();
        solve(nodes, branches, &quiet, &[(ends.0, -1.0), (ends.1, 1.0)])
    }
}
