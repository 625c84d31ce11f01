//! Repair sequences: faults, actions that cure them, questions, places, prices, as YAML.

use std::collections::BTreeMap;

use halfsplit::plan::{Fix, Goal, Problem, Test};
use serde::Deserialize;
use serde_json::Value;

/// Most actions of which all sets are offered for one common system test; beyond, pairs only.
const ALL_SETS: usize = 10;

/// A file of cases; other sections of it are not ours.
#[derive(Debug, Deserialize)]
struct RepairFile {
    repair_sequences: Vec<BTreeMap<String, Value>>,
}

/// One case under one set of prices.
#[derive(Debug)]
pub struct Case {
    /// The case's id, with its prices behind it unless they are those of the plain case.
    pub id: String,
    /// Names of the actions: the fixes of the problem.
    pub actions: Vec<String>,
    /// Names of the questions: the tests of the problem, outcomes no (0) and yes (1).
    pub questions: Vec<String>,
    /// What is to be planned.
    pub problem: Problem,
    /// The least expected cost of repair, where the file knows it.
    pub optimum_ecr: Option<f64>,
}

#[derive(Debug, Deserialize)]
struct Body {
    #[serde(default)]
    faults: BTreeMap<String, f64>,
    actions: Vec<Action>,
    #[serde(default)]
    questions: Vec<Question>,
    #[serde(default)]
    clusters: BTreeMap<String, Cluster>,
    #[serde(flatten)]
    prices: Prices,
}

#[derive(Debug, Deserialize)]
struct Action {
    name: String,
    cost: f64,
    /// Probability that it cures, where faults have no names.
    #[serde(default)]
    p: f64,
    #[serde(default)]
    cures: BTreeMap<String, f64>,
    #[serde(default)]
    cluster: Option<String>,
}

#[derive(Debug, Deserialize)]
struct Question {
    name: String,
    cost: f64,
    p_yes: BTreeMap<String, f64>,
    #[serde(default)]
    cluster: Option<String>,
}

#[derive(Debug, Deserialize)]
struct Cluster {
    open_cost: f64,
    #[serde(default)]
    parent: Option<String>,
}

/// What changes from variant to variant.
#[derive(Debug, Clone, Default, Deserialize)]
struct Prices {
    #[serde(default)]
    call_service: Option<f64>,
    #[serde(default)]
    system_test_cost: Option<f64>,
    #[serde(default)]
    q1_cost: Option<f64>,
    /// No price, but what is known of this variant.
    #[serde(default)]
    optimum_ecr: Option<f64>,
}

impl Prices {
    fn or(&self, other: &Self) -> Self {
        Self {
            call_service: self.call_service.or(other.call_service),
            system_test_cost: self.system_test_cost.or(other.system_test_cost),
            q1_cost: self.q1_cost.or(other.q1_cost),
            optimum_ecr: self.optimum_ecr.or(other.optimum_ecr),
        }
    }

    fn suffix(&self) -> String {
        let named = [
            ("call_service", self.call_service),
            ("system_test_cost", self.system_test_cost),
            ("q1_cost", self.q1_cost),
        ];
        let given =
            named.iter().filter_map(|(name, price)| price.map(|price| format!(":{name}={price}")));
        given.collect()
    }
}

/// Reads a file of cases, with an entry for each variant; the error says what is wrong with it.
pub fn read(text: &str) -> Result<Vec<Case>, String> {
    // An action may be called `y`, which is no truth value here.
    let options = serde_yaml::options! { strict_booleans: true };
    let file: RepairFile =
        serde_yaml::from_str_with_options(text, options).map_err(|error| error.to_string())?;
    let mut cases = Vec::new();
    for fields in file.repair_sequences {
        let id = fields.get("id").and_then(Value::as_str).ok_or("a case without `id`")?.to_owned();
        cases.extend(variants(&id, fields).map_err(|words| format!("{id}: {words}"))?);
    }
    Ok(cases)
}

/// The plain case, and one for each entry of the lists of variants it has.
fn variants(id: &str, fields: BTreeMap<String, Value>) -> Result<Vec<Case>, String> {
    let mut variants = Vec::new();
    let mut plain = None;
    for (name, value) in &fields {
        let Value::Array(entries) = value else { continue };
        let from_name = Prices { call_service: price_in_name(name), ..Prices::default() };
        for entry in entries {
            let given = serde_json::from_value::<Prices>(entry.clone()).unwrap_or_default();
            let prices = given.or(&from_name);
            if prices.suffix().is_empty() {
                continue;
            }
            if name == "recomputed" && plain.is_none() {
                plain = Some(prices.clone());
            }
            variants.push(prices);
        }
    }
    if let Some(single) = fields.get("recomputed").filter(|value| value.is_object()) {
        plain = serde_json::from_value(single.clone()).ok();
    }
    let body: Body = serde_json::from_value(Value::Object(fields.into_iter().collect()))
        .map_err(|error| error.to_string())?;
    let plain = plain.unwrap_or_default().or(&body.prices);
    let mut cases = vec![body.case(id.to_owned(), &plain)?];
    for prices in variants {
        cases.push(body.case(format!("{id}{}", prices.suffix()), &prices.or(&body.prices))?);
    }
    Ok(cases)
}

/// `question_price_at_40` is about a service call at 40.
fn price_in_name(name: &str) -> Option<f64> {
    name.rsplit_once("_at_")?.1.parse().ok()
}

impl Body {
    fn case(&self, id: String, prices: &Prices) -> Result<Case, String> {
        let (faults, priors) = self.faults();
        let place_names = self.cluster_order()?;
        let place = |cluster: &Option<String>| -> Result<Vec<u32>, String> {
            let Some(name) = cluster else { return Ok(vec![]) };
            Ok(vec![position(&place_names, name)?])
        };
        let mut fixes = Vec::new();
        for action in &self.actions {
            let cures = self.cures(action, &faults);
            known(&faults, action.cures.keys())?;
            fixes.push(Fix {
                minutes: action.cost,
                mode: 0,
                places: place(&action.cluster)?,
                cures,
                check_minutes: prices.system_test_cost.unwrap_or(0.0),
                check_mode: 0,
            });
        }
        let mut tests = Vec::new();
        for (index, question) in self.questions.iter().enumerate() {
            known(&faults, question.p_yes.keys())?;
            let yes: Vec<f64> = faults
                .iter()
                .map(|fault| question.p_yes.get(fault).copied().unwrap_or(0.0))
                .collect();
            let changed = if index == 0 { prices.q1_cost } else { None };
            tests.push(Test {
                minutes: changed.unwrap_or(question.cost),
                mode: 0,
                places: place(&question.cluster)?,
                likelihood: vec![yes.iter().map(|yes| 1.0 - yes).collect(), yes],
                proof: None,
            });
        }
        let parents = place_names.iter().map(|name| match &self.clusters[name].parent {
            Some(parent) => position(&place_names, parent).map(Some),
            None => Ok(None),
        });
        let problem = Problem {
            class_of: (0..priors.len() as u32).collect(),
            priors,
            tests,
            batches: if prices.system_test_cost.is_some() { sets(fixes.len()) } else { vec![] },
            fixes,
            switch_minutes: vec![vec![0.0]],
            place_minutes: place_names.iter().map(|name| self.clusters[name].open_cost).collect(),
            place_parent: parents.collect::<Result<_, String>>()?,
            goal: Goal::Repair { give_up_minutes: prices.call_service },
        };
        problem.check().map_err(|error| error.to_string())?;
        let actions = self.actions.iter().map(|action| action.name.clone()).collect();
        let questions = self.questions.iter().map(|question| question.name.clone()).collect();
        Ok(Case { id, actions, questions, problem, optimum_ecr: prices.optimum_ecr })
    }

    /// Names and probabilities: as listed, or one for each action and one for what none cures.
    fn faults(&self) -> (Vec<String>, Vec<f64>) {
        if !self.faults.is_empty() {
            return self.faults.iter().map(|(name, prior)| (name.clone(), *prior)).unzip();
        }
        let rest = 1.0 - self.actions.iter().map(|action| action.p).sum::<f64>();
        let named = self.actions.iter().map(|action| (action.name.clone(), action.p));
        named.chain((rest > 1e-9).then(|| ("none of these".to_owned(), rest))).unzip()
    }

    fn cures(&self, action: &Action, faults: &[String]) -> Vec<f64> {
        let named = |fault: &String| action.cures.get(fault).copied().unwrap_or(0.0);
        let own = |fault: &String| f64::from(u8::from(*fault == action.name));
        if self.faults.is_empty() {
            faults.iter().map(own).collect()
        } else {
            faults.iter().map(named).collect()
        }
    }

    /// Names of the clusters, each behind the one it is inside.
    fn cluster_order(&self) -> Result<Vec<String>, String> {
        let mut order: Vec<String> = Vec::new();
        while order.len() < self.clusters.len() {
            let next = self.clusters.iter().find(|(name, cluster)| {
                !order.contains(name)
                    && cluster.parent.as_ref().is_none_or(|parent| order.contains(parent))
            });
            let (name, _) = next.ok_or("clusters whose parents are missing or go in a circle")?;
            order.push(name.clone());
        }
        Ok(order)
    }
}

/// All sets of two and more, or all pairs where that would be too many.
fn sets(count: usize) -> Vec<Vec<usize>> {
    if count > ALL_SETS {
        return (0..count).flat_map(|a| (a + 1..count).map(move |b| vec![a, b])).collect();
    }
    let members =
        |bits: u32| (0..count).filter(|&index| bits >> index & 1 == 1).collect::<Vec<_>>();
    (0..1_u32 << count).map(members).filter(|set| set.len() > 1).collect()
}

fn known<'a>(faults: &[String], mut names: impl Iterator<Item = &'a String>) -> Result<(), String> {
    match names.find(|name| !faults.contains(name)) {
        None => Ok(()),
        Some(name) => Err(format!("`{name}` is not among the faults {}", faults.join(", "))),
    }
}

fn position(names: &[String], name: &str) -> Result<u32, String> {
    let found = names.iter().position(|known| known == name);
    found
        .map(|index| index as u32)
        .ok_or_else(|| format!("`{name}` is not among {}", names.join(", ")))
}
