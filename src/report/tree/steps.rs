//! The tree as numbered steps: what is the same is one step, however many ways lead there.

use std::collections::HashMap;

use super::{FaultTree, Kind, Leaning, Node, Outcome, meaning, mixed, ruled_out};

/// One thing to do, and where each outcome leads.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Test, fix, or the end where the job is handed on.
    pub kind: Kind,
    /// The test's or fix's id.
    pub id: String,
    /// In one line.
    pub title: String,
    /// Minutes it adds.
    pub minutes: f64,
    /// Probability to get here, by all ways.
    pub reached: f64,
    /// Minutes expected from here on.
    pub expected_minutes: f64,
    /// Read before anything else.
    pub cautions: Vec<String>,
    /// What to do, a line each.
    pub doing: Vec<String>,
    /// What can be seen; outcomes which lead to the same are one way.
    pub ways: Vec<Way>,
    /// Numbers of the steps that lead here.
    pub from: Vec<usize>,
}

/// What can be seen at a step, and where it leads.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// What is seen.
    pub words: String,
    /// Probability at this step.
    pub probability: f64,
    /// The parts it leaves under suspicion.
    pub leaves: Vec<Leaning>,
    /// What it takes off suspicion, in words.
    pub rules_out: Option<String>,
    /// Where it leads.
    pub to: To,
}

/// Where a way leads.
#[derive(Debug, Clone, PartialEq)]
pub enum To {
    /// To the step of this number, from 1.
    Step(usize),
    /// To the end: the repair is proven. What is to be put back, a line each.
    Cured(Vec<String>),
    /// Nowhere: too rare to be followed here.
    Cut,
}

/// The steps of a tree, numbered from 1 along its ways, the likeliest first; 1 is where the job begins.
pub fn steps(tree: &FaultTree) -> Vec<Step> {
    let classes = classes(&tree.nodes);
    let mut folding =
        Folding { tree, classes: &classes, numbers: HashMap::new(), order: Vec::new() };
    folding.number(0);
    let mut members: HashMap<usize, Vec<usize>> = HashMap::new();
    for (at, class) in classes.iter().enumerate() {
        members.entry(*class).or_default().push(at);
    }
    let mut list: Vec<Step> =
        folding.order.iter().map(|class| folding.step(&members[class])).collect();
    for at in 0..list.len() {
        let next: Vec<usize> = list[at].ways.iter().filter_map(Way::number).collect();
        for number in next {
            list[number - 1].from.push(at + 1);
        }
    }
    list
}

impl Step {
    /// Its ways, the likeliest first, cut ones last.
    pub fn likeliest_first(&self) -> Vec<&Way> {
        let mut ways: Vec<&Way> = self.ways.iter().collect();
        ways.sort_by(|a, b| {
            let cut = (a.to == To::Cut).cmp(&(b.to == To::Cut));
            cut.then(b.probability.total_cmp(&a.probability))
        });
        ways
    }
}

impl Way {
    /// What it means: the parts it leaves under suspicion, and those it takes off.
    pub fn meaning(&self) -> String {
        let rest = self.rules_out.iter().map(String::as_str);
        let named = Some(meaning(&self.leaves)).filter(|named| !named.is_empty());
        named.as_deref().into_iter().chain(rest).collect::<Vec<_>>().join("; ")
    }

    /// Number of the step it leads to.
    pub fn number(&self) -> Option<usize> {
        match self.to {
            To::Step(number) => Some(number),
            To::Cured(_) | To::Cut => None,
        }
    }
}

/// A number for each node, the same for those that ask for the same and lead to the same.
fn classes(nodes: &[Node]) -> Vec<usize> {
    type Key<'a> = (Kind, &'a str, Vec<&'a str>, Vec<(&'a str, usize)>);
    let mut known: HashMap<Key<'_>, usize> = HashMap::new();
    let mut classes = vec![0; nodes.len()];
    for (at, node) in nodes.iter().enumerate().rev() {
        let said = if node.kind == Kind::HandOn { Vec::new() } else { said(node) };
        let next = node.outcomes.iter().map(|one| (one.id.as_str(), classes[one.next]));
        let key = (node.kind, node.id.as_str(), said, next.collect());
        let fresh = known.len();
        classes[at] = *known.entry(key).or_insert(fresh);
    }
    classes
}

fn said(node: &Node) -> Vec<&str> {
    node.cautions.iter().chain(&node.doing).map(String::as_str).collect()
}

struct Folding<'a> {
    tree: &'a FaultTree,
    classes: &'a [usize],
    /// The step's number of each class that is one.
    numbers: HashMap<usize, usize>,
    order: Vec<usize>,
}

impl Folding<'_> {
    /// Numbers the steps from a node on, each the first time it is met.
    fn number(&mut self, at: usize) {
        let node = &self.tree.nodes[at];
        if matches!(node.kind, Kind::Cured | Kind::Cut) {
            return;
        }
        let class = self.classes[at];
        if self.numbers.contains_key(&class) {
            return;
        }
        self.order.push(class);
        self.numbers.insert(class, self.order.len());
        let mut likeliest_first: Vec<&Outcome> = node.outcomes.iter().collect();
        likeliest_first.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        for outcome in likeliest_first {
            self.number(outcome.next);
        }
    }

    /// The step of nodes of one class.
    fn step(&self, members: &[usize]) -> Step {
        let nodes = || members.iter().map(|&at| &self.tree.nodes[at]);
        let first = &self.tree.nodes[members[0]];
        let reached: f64 = nodes().map(|node| node.reached).sum();
        let mean = |of: fn(&Node) -> f64| {
            nodes().map(|node| node.reached * of(node)).sum::<f64>() / reached
        };
        Step {
            kind: first.kind,
            id: first.id.clone(),
            title: first.title.clone(),
            minutes: mean(|node| node.minutes),
            reached,
            expected_minutes: mean(|node| node.expected_minutes),
            cautions: first.cautions.clone(),
            doing: first.doing.clone(),
            ways: self.ways(members, reached),
            from: Vec::new(),
        }
    }

    fn ways(&self, members: &[usize], reached: f64) -> Vec<Way> {
        let first = &self.tree.nodes[members[0]];
        let mut runs: Vec<(usize, Vec<usize>)> = Vec::new();
        for (at, outcome) in first.outcomes.iter().enumerate() {
            let class = self.classes[outcome.next];
            match runs.iter_mut().find(|(known, _)| *known == class) {
                Some((_, list)) => list.push(at),
                None => runs.push((class, vec![at])),
            }
        }
        // What was cut comes last, as `anything else`.
        runs.sort_by_key(|(_, list)| self.to(first.outcomes[list[0]].next) == To::Cut);
        let several = runs.len() > 1;
        let way = |(_, list): &(usize, Vec<usize>)| {
            let to = self.to(first.outcomes[list[0]].next);
            let words = match (to == To::Cut && list.len() > 1, several) {
                (true, true) => "anything else".to_owned(),
                (true, false) => "whatever it shows".to_owned(),
                _ => seen(&first.outcomes, list),
            };
            let (probability, leaves) = self.weigh(members, list);
            Way { words, probability: probability / reached, leaves, rules_out: None, to }
        };
        let mut ways: Vec<Way> = runs.iter().map(way).collect();
        if first.kind == Kind::Test {
            let before = mixed(ways.iter().map(|way| (way.probability, &way.leaves[..])));
            for way in &mut ways {
                way.rules_out = ruled_out(&before, &way.leaves);
            }
        }
        ways
    }

    fn to(&self, at: usize) -> To {
        match self.tree.nodes[at].kind {
            Kind::Cured => To::Cured(self.tree.nodes[at].doing.clone()),
            Kind::Cut => To::Cut,
            _ => To::Step(self.numbers[&self.classes[at]]),
        }
    }

    /// Probability of some outcomes over all members, and the parts they leave under suspicion.
    fn weigh(&self, members: &[usize], list: &[usize]) -> (f64, Vec<Leaning>) {
        let mut total = 0.0;
        let mut leaves: Vec<Leaning> = Vec::new();
        for &at in members {
            let node = &self.tree.nodes[at];
            for outcome in list.iter().map(|&one| &node.outcomes[one]) {
                let weight = node.reached * outcome.probability;
                total += weight;
                for leaning in &outcome.leaves {
                    match leaves.iter_mut().find(|known| known.part == leaning.part) {
                        Some(known) => known.share += weight * leaning.share,
                        None => leaves
                            .push(Leaning { share: weight * leaning.share, ..leaning.clone() }),
                    }
                }
            }
        }
        for leaning in &mut leaves {
            leaning.share /= total;
        }
        leaves.sort_by(|a, b| b.share.total_cmp(&a.share));
        (total, leaves)
    }
}

/// Outcomes in words; those beside each other on a meter's scale become one range.
fn seen(outcomes: &[Outcome], list: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &at in list {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == at => *last = at,
            _ => runs.push((at, at)),
        }
    }
    let words: Vec<String> = runs
        .iter()
        .map(|&(first, last)| {
            joined(&outcomes[first].words, &outcomes[last].words).unwrap_or_else(|| {
                let all = outcomes[first..=last].iter().map(|one| one.words.as_str());
                all.collect::<Vec<_>>().join(" or ")
            })
        })
        .collect();
    words.join(" or ")
}

/// From the lower end of one range to the upper end of another: `0.3 to 1.2 V` and `1.2 to 5 V` make
/// `0.3 to 5 V`. `None` when these are no ranges.
fn joined(first: &str, last: &str) -> Option<String> {
    if first == last {
        return Some(first.to_owned());
    }
    let ends = |words: &str| -> Option<(Option<String>, Option<String>, String)> {
        let (range, unit) = words.rsplit_once(' ')?;
        let unit = unit.to_owned();
        if let Some(high) = range.strip_prefix("under ") {
            return Some((None, Some(high.to_owned()), unit));
        }
        if let Some(low) = range.strip_prefix("over ") {
            return Some((Some(low.to_owned()), None, unit));
        }
        let (low, high) = range.split_once(" to ")?;
        Some((Some(low.to_owned()), Some(high.to_owned()), unit))
    };
    let (low, _, unit) = ends(first)?;
    let (_, high, other) = ends(last)?;
    if unit != other {
        return None;
    }
    Some(match (low, high) {
        (Some(low), Some(high)) => format!("{low} to {high} {unit}"),
        (None, Some(high)) => format!("under {high} {unit}"),
        (Some(low), None) => format!("over {low} {unit}"),
        (None, None) => "any number".to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(first: &str, last: &str, expected: Option<&str>) {
        assert_eq!(joined(first, last).as_deref(), expected);
    }

    #[test]
    fn ranges_beside_each_other_are_one() {
        check("0.3 to 1.2 V", "1.2 to 5 V", Some("0.3 to 5 V"));
        check("under -0.3 V", "0.05 to 0.15 V", Some("under 0.15 V"));
        check("10 to 50 ohm", "over 1M ohm", Some("over 10 ohm"));
        check("under 1 V", "over 9 V", Some("any number"));
        check("1 to 5 mV", "0.005 to 0.1 V", None);
        check("stays dark", "glows dimly", None);
        check("dark", "dark", Some("dark"));
    }
}
