//! Test matrices: published and constructed problems of test planning, as YAML.

use std::collections::BTreeMap;

use halfsplit::plan::{Goal, Problem, Test};
use serde::Deserialize;

/// A file of matrices.
#[derive(Debug, Deserialize)]
pub struct MatrixFile {
    /// The matrices.
    pub matrices: Vec<Matrix>,
}

/// One matrix; fields as in the file.
#[derive(Debug, Deserialize)]
pub struct Matrix {
    pub id: String,
    pub kind: String,
    pub states: Vec<String>,
    pub priors: Vec<f64>,
    pub tests: Vec<String>,
    pub costs: Vec<f64>,
    #[serde(default)]
    pub outcome_values: Option<usize>,
    #[serde(default, rename = "matrix")]
    pub rows: Option<Vec<String>>,
    #[serde(default)]
    pub p_outcome_1: Option<Vec<Vec<f64>>>,
    #[serde(default)]
    pub classes: Option<Vec<String>>,
    #[serde(default)]
    pub modes: Option<Vec<String>>,
    #[serde(default)]
    pub mode_names: Option<Vec<String>>,
    #[serde(default)]
    pub switch_cost: Option<Vec<Vec<f64>>>,
    #[serde(default)]
    pub places: Option<Vec<String>>,
    #[serde(default)]
    pub open_cost: Option<BTreeMap<String, f64>>,
    #[serde(default)]
    pub finishing_test: Option<Vec<String>>,
    #[serde(default)]
    pub loss_if_wrong: Option<f64>,
}

/// The kinds of matrix there are.
const KINDS: [&str; 11] = [
    "binary",
    "binary-chain",
    "binary-classes",
    "binary-setup",
    "binary-places",
    "binary-places-classes-setup",
    "binary-multifault",
    "binary-unknown-entries",
    "ternary",
    "multi-outcome-hit",
    "noisy-stop-any-time",
];

/// Reads a file of matrices; the error says what is wrong with it.
pub fn read(text: &str) -> Result<Vec<Matrix>, String> {
    let file: MatrixFile = serde_yaml::from_str(text).map_err(|error| error.to_string())?;
    Ok(file.matrices)
}

impl Matrix {
    /// The planning problem; it starts in mode 0 with no place open.
    pub fn problem(&self) -> Result<Problem, String> {
        if !KINDS.contains(&self.kind.as_str()) {
            return Err(format!(
                "{}: kind `{}` is none of {}",
                self.id,
                self.kind,
                KINDS.join(", ")
            ));
        }
        let problem = self.build().map_err(|words| format!("{}: {words}", self.id))?;
        problem.check().map_err(|error| format!("{}: {error}", self.id))?;
        Ok(problem)
    }

    fn build(&self) -> Result<Problem, String> {
        length("priors", self.priors.len(), self.states.len())?;
        length("costs", self.costs.len(), self.tests.len())?;
        let place_names: Vec<&String> = self.open_cost.iter().flat_map(BTreeMap::keys).collect();
        let tests = (0..self.tests.len()).map(|test| self.test(test, &place_names));
        let classes = self.classes.as_ref().unwrap_or(&self.states);
        length("classes", classes.len(), self.states.len())?;
        let goal = match (&self.finishing_test, self.loss_if_wrong) {
            (Some(_), _) => Goal::Repair { give_up_minutes: None },
            (None, Some(loss_if_wrong)) => Goal::StopAnyTime { loss_if_wrong },
            (None, None) => Goal::Isolate,
        };
        Ok(Problem {
            priors: self.priors.clone(),
            class_of: classes
                .iter()
                .map(|class| position(classes, class))
                .collect::<Result<_, _>>()?,
            tests: tests.collect::<Result<_, _>>()?,
            fixes: vec![],
            batches: vec![],
            switch_minutes: self.switch_cost.clone().unwrap_or_else(|| vec![vec![0.0]]),
            place_minutes: self.open_cost.iter().flat_map(BTreeMap::values).copied().collect(),
            place_parent: vec![None; place_names.len()],
            goal,
        })
    }

    fn test(&self, test: usize, place_names: &[&String]) -> Result<Test, String> {
        let likelihood = self.likelihood(test)?;
        let mode = match (&self.modes, &self.mode_names) {
            (Some(modes), Some(names)) => position(names, entry("modes", modes, test)?)?,
            (None, _) => 0,
            (Some(_), None) => return Err("`modes` without `mode_names`".into()),
        };
        let place = match &self.places {
            Some(places) => entry("places", places, test)?.as_str(),
            None => "-",
        };
        let places = match place {
            "-" => vec![],
            name => {
                let found = place_names.iter().position(|known| *known == name);
                vec![found.ok_or_else(|| format!("place `{name}` has no open_cost"))? as u32]
            }
        };
        // In these matrices a test that finishes a state shows its highest outcome then.
        let finishes = self.finishing_test.iter().flatten().any(|name| *name == self.tests[test]);
        let proof = finishes.then_some(likelihood.len() - 1);
        Ok(Test { minutes: self.costs[test], mode, places, likelihood, proof })
    }

    fn likelihood(&self, test: usize) -> Result<Vec<Vec<f64>>, String> {
        if let Some(table) = &self.p_outcome_1 {
            length("p_outcome_1", table.len(), self.states.len())?;
            let ones = table.iter().map(|row| entry("a row of p_outcome_1", row, test).copied());
            let ones: Vec<f64> = ones.collect::<Result<_, _>>()?;
            return Ok(vec![ones.iter().map(|one| 1.0 - one).collect(), ones]);
        }
        let matrix = self.rows.as_ref().ok_or("neither `matrix` nor `p_outcome_1`")?;
        length("matrix", matrix.len(), self.states.len())?;
        let count = self.outcome_values.ok_or("no `outcome_values`")?;
        let mut likelihood = vec![vec![0.0; matrix.len()]; count];
        for (state, row) in matrix.iter().enumerate() {
            length("a row of matrix", row.chars().count(), self.tests.len())?;
            let sign = row.chars().nth(test).unwrap_or('?');
            match sign.to_digit(36).map(|digit| digit as usize) {
                _ if sign == 'U' => {
                    for outcome in &mut likelihood {
                        outcome[state] = 1.0 / count as f64;
                    }
                }
                Some(outcome) if outcome < count => likelihood[outcome][state] = 1.0,
                _ => return Err(format!("`{sign}` in the matrix is no outcome below {count}")),
            }
        }
        Ok(likelihood)
    }
}

fn length(what: &str, found: usize, expected: usize) -> Result<(), String> {
    if found == expected {
        return Ok(());
    }
    Err(format!("{what} has {found} entries where {expected} are needed"))
}

fn position(names: &[String], name: &String) -> Result<u32, String> {
    let found = names.iter().position(|known| known == name);
    found
        .map(|index| index as u32)
        .ok_or_else(|| format!("`{name}` is not among {}", names.join(", ")))
}

fn entry<'a, T>(what: &str, list: &'a [T], index: usize) -> Result<&'a T, String> {
    list.get(index).ok_or_else(|| format!("{what} has only {} entries", list.len()))
}
