//! One column of the table: what is shown of one test, and how likely each outcome is.

use std::sync::Arc;

use super::super::hunt::watched_part;
use super::super::scale::{Outcome, Scale, Shown};
use super::super::{Target, Test, Tester, likelihood};
use super::Bench;
use crate::circuit::ConnectorId;
use crate::suspect::damage::Damage;
use crate::suspect::severity::{GRADES, Grades};
use crate::suspect::{Lineup, Nature, Suspect, SuspectId};

/// What each suspect would show of a test, at each grade of its severity, and how likely each outcome is.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// The test.
    pub test: Test,
    /// Share of such readings that are simply wrong.
    pub slip: f64,
    /// What each suspect shows with the ohms it is named by, in the line-up's order.
    pub shown: Vec<Shown>,
    /// Edges kept between outcomes.
    pub edges: Vec<f64>,
    /// The outcomes.
    pub outcomes: Vec<Outcome>,
    /// `likelihood[outcome][suspect]`, the mean over what its severity may be: evenly, unless made otherwise by
    /// [`Column::given`]; sums to 1 over outcomes. Of two tests under one suspect it says nothing together:
    /// the severity is the same in both.
    pub likelihood: Vec<Vec<f64>>,
    /// `graded[outcome][grade]`; readings of different tests are independent given the grade.
    pub graded: Vec<Vec<f64>>,
    /// What each grade shows.
    pub graded_shown: Vec<Shown>,
    /// The grades.
    pub grades: Arc<Grades>,
}

impl Bench {
    /// The column of a test that shows this in each case. In a sketch all grades of a pair show the same, spread
    /// as far as they lie apart.
    pub(super) fn column(&self, test: Test, mut shown: Vec<Shown>, sketch: bool) -> Column {
        if sketch {
            self.between_steps(&mut shown);
        }
        if let Target::Connector(at) = test.target {
            self.moved_about(at, &test, &mut shown);
        }
        self.widen(&mut shown);
        let edges = useful_edges(&test, &shown);
        let outcomes = test.scale.outcomes(&edges);
        let slip = self.slips.of(test.scale);
        let graded_shown = if sketch { self.sketched(&shown) } else { self.at_each_grade(&shown) };
        let graded = self.graded(&test, (slip, &edges), outcomes.len(), &graded_shown);
        let grades = Arc::clone(&self.grades);
        let even = vec![1.0; grades.count()];
        let likelihood = graded.iter().map(|row| grades.mean(row, &even)).collect();
        let suspects = 0..self.lineup.suspects.len();
        let shown = suspects.map(|at| shown[grades.case(grades.middle(at))]).collect();
        Column { test, slip, shown, edges, outcomes, likelihood, graded, graded_shown, grades }
    }

    /// Of each step of a severity the grades beside its own ohms, on the straight way to the next step.
    fn between_steps(&self, shown: &mut [Shown]) {
        let suspects = &self.lineup.suspects;
        let number = |at: usize| suspects.get(at)?.ladder.map(|ladder| ladder.number);
        let middle = |at: usize| self.middle_case(SuspectId(at as u32));
        for (at, suspect) in suspects.iter().enumerate() {
            let grades = self.grades.of_suspect(at);
            if grades.len() == 1 || suspect.pair().is_some() {
                continue;
            }
            let own = shown[middle(at)];
            for grade in grades {
                let step = grade as f64 - self.grades.middle(at) as f64;
                let next = if step < 0.0 { at.wrapping_sub(1) } else { at + 1 };
                let next = if number(next) == number(at) { shown[middle(next)] } else { own };
                let way = step.abs() / GRADES as f64;
                // On an axis of ohms both may be endless.
                let between = |own: f64, next: f64| {
                    if own.total_cmp(&next).is_eq() { own } else { own + way * (next - own) }
                };
                shown[self.grades.case(grade)] = Shown {
                    level: between(own.level, next.level),
                    spread: between(own.spread, next.spread),
                    ..own
                };
            }
        }
    }

    fn graded(
        &self,
        test: &Test,
        (slip, edges): (f64, &[f64]),
        count: usize,
        shown: &[Shown],
    ) -> Vec<Vec<f64>> {
        let mut table = vec![vec![0.0; shown.len()]; count];
        let sound = likelihood::outcomes(test.scale, slip, edges, &shown[0]);
        let mut before: Option<(usize, Shown, Vec<f64>)> = None;
        for (at, one) in shown.iter().enumerate() {
            let suspect = self.grades.suspect(at);
            let whose = &self.lineup.suspects[suspect];
            // Grades beside each other often show the same.
            let same = before.as_ref().filter(|(known, seen, _)| *known == suspect && seen == one);
            let chances = if whose.nature == Nature::Outside {
                vec![1.0 / count as f64; count]
            } else if *one == shown[0] {
                sound.clone()
            } else if let Some((_, _, chances)) = same {
                chances.clone()
            } else {
                let there = likelihood::outcomes(test.scale, slip, edges, one);
                mixed(there, shows(test, whose, one), || sound.clone())
            };
            for (row, chance) in table.iter_mut().zip(&chances) {
                row[at] = *chance;
            }
            before = Some((suspect, *one, chances));
        }
        table
    }

    /// From what is watched to whether it comes and goes while a connector is moved about: it does
    /// where a joint of that connector is bad and the watched thing tells.
    fn moved_about(&self, at: ConnectorId, test: &Test, shown: &mut [Shown]) {
        let pins = &self.circuit.connector(at).pins;
        let scale = watched_part(&self.circuit, &test.setup).map(|(_, scale)| scale);
        let edges = scale.map_or_else(Vec::new, Scale::edges);
        let seen = |one: &Shown| edges.iter().filter(|edge| **edge <= one.level).count();
        let suspects = &self.lineup.suspects;
        let is_loose = |suspect: usize| {
            let joint = |damage: &Damage| matches!(damage, Damage::Open(_) | Damage::Series(..));
            suspects[suspect].part.is_some_and(|part| pins.contains(&part))
                && suspects[suspect].damage.iter().all(joint)
        };
        let sights: Vec<usize> = shown.iter().map(&seen).collect();
        let sight_of = |suspect: SuspectId| sights[self.middle_case(suspect)];
        for (case, &grade) in self.grades.solved().iter().enumerate() {
            // Moved, a loose joint makes contact, and what is seen is what is left without it.
            let tells = |loose: usize, left: usize| is_loose(loose) && sights[case] != left;
            let suspect = self.grades.suspect(grade);
            let moves = match suspects[suspect].pair() {
                Some((one, other)) => {
                    tells(one.index(), sight_of(other)) || tells(other.index(), sight_of(one))
                }
                None => tells(suspect, sights[0]),
            };
            shown[case] = Shown { level: f64::from(u8::from(moves)), spread: 0.0, restless: false };
        }
    }

    /// The case of a suspect with the ohms it is named by.
    fn middle_case(&self, suspect: SuspectId) -> usize {
        self.grades.case(self.grades.middle(suspect.index()))
    }

    /// A grade of a continuous severity stands for all halfway to its neighbours, so what it shows spreads
    /// evenly over half the way to what they show.
    fn widen(&self, shown: &mut [Shown]) {
        let levels: Vec<f64> = shown.iter().map(|one| one.level).collect();
        let solved = self.grades.solved();
        let ladder = |case: usize| {
            let suspect = self.grades.suspect(*solved.get(case)?);
            self.lineup.suspects[suspect].ladder.map(|ladder| ladder.number)
        };
        for case in 0..levels.len() {
            let Some(own) = ladder(case) else { continue };
            let mut reach = 0.0_f64;
            for next in [case.wrapping_sub(1), case + 1] {
                if ladder(next) == Some(own) {
                    reach = reach.max((levels[next] - levels[case]).abs());
                }
            }
            // The deviation of what lies evenly between two ends is their distance over the root of twelve.
            shown[case].spread = shown[case].spread.hypot(reach / 12f64.sqrt());
        }
        // Of a pair, the severity of the fault tells that alone would show nearly the same.
        for (case, &grade) in solved.iter().enumerate() {
            let Some((one, other)) = self.lineup.suspects[self.grades.suspect(grade)].pair() else {
                continue;
            };
            let nearer = self.nearer(&levels, levels[case], (one, other));
            shown[case].spread = shown[case].spread.max(shown[self.middle_case(nearer)].spread);
        }
    }

    /// The member of a pair that alone would show nearly what both do.
    fn nearer(
        &self,
        levels: &[f64],
        level: f64,
        (one, other): (SuspectId, SuspectId),
    ) -> SuspectId {
        let off = |member: SuspectId| (levels[self.middle_case(member)] - level).abs();
        if off(one) <= off(other) { one } else { other }
    }

    /// What each grade shows where those of a pair are not told apart.
    fn sketched(&self, cases: &[Shown]) -> Vec<Shown> {
        let levels: Vec<f64> = cases.iter().map(|one| one.level).collect();
        let mut by_case = cases.to_vec();
        for (case, &grade) in self.grades.solved().iter().enumerate() {
            let Some(pair) = self.lineup.suspects[self.grades.suspect(grade)].pair() else {
                continue;
            };
            let grades = self.grades.of_suspect(self.nearer(&levels, levels[case], pair).index());
            let ends = [grades.start, grades.end - 1].map(|end| levels[self.grades.case(end)]);
            // The grades stand in the middle of even parts of what they cover together.
            let all = grades.len() as f64 / (grades.len() as f64 - 1.0).max(1.0);
            by_case[case].spread =
                by_case[case].spread.hypot((ends[1] - ends[0]) * all / 12f64.sqrt());
        }
        (0..self.grades.count()).map(|grade| by_case[self.grades.case(grade)]).collect()
    }

    /// What each grade shows. Of a pair only one case is solved: a grade moves the level as it would move that
    /// of the member that alone shows nearly the same.
    fn at_each_grade(&self, cases: &[Shown]) -> Vec<Shown> {
        let levels: Vec<f64> = cases.iter().map(|one| one.level).collect();
        let mut nearer = None;
        let of = |grade: usize| {
            let case = self.grades.case(grade);
            let Some(members) = self.grades.members(grade) else { return cases[case] };
            let at = self.grades.suspect(grade);
            let known = nearer.filter(|(pair, _)| *pair == at);
            let (_, (member, is_first)) = *nearer.insert(known.unwrap_or_else(|| {
                let pair = self.lineup.suspects[at].pair().unwrap_or((SuspectId(0), SuspectId(0)));
                let member = self.nearer(&levels, levels[case], pair);
                (at, (member, member == pair.0))
            }));
            let own = if is_first { members.0 } else { members.1 };
            let moved = levels[self.grades.case(own)] - levels[self.middle_case(member)];
            Shown { level: cases[case].level + moved, ..cases[case] }
        };
        (0..self.grades.count()).map(of).collect()
    }
}

impl Column {
    /// The same where the severities have these probabilities by now: `likelihood` becomes the mean over them.
    ///
    /// With the belief over the grades, that is the probability of each outcome of this test under each
    /// suspect, all that was seen before being taken into account.
    #[must_use]
    pub fn given(&self, shares: &[f64]) -> Column {
        let likelihood = self.graded.iter().map(|row| self.grades.mean(row, shares)).collect();
        Column { likelihood, ..self.clone() }
    }

    /// Likelihood of a number under each grade, as densities on the scale's axis.
    pub fn number(&self, lineup: &Lineup, typed: f64) -> Vec<f64> {
        let scale = self.test.scale;
        let on_axis = scale.number_on_axis(typed);
        let of = |shown: &Shown| likelihood::number(scale, self.slip, shown, on_axis);
        self.under_each(lineup, of, 1.0 / scale.width())
    }

    /// Probability under each grade of a number between two levels of the scale's axis.
    pub fn between(&self, lineup: &Lineup, levels: (f64, f64)) -> Vec<f64> {
        let scale = self.test.scale;
        let of = |shown: &Shown| likelihood::between(scale, self.slip, shown, levels);
        self.under_each(lineup, of, likelihood::share_of_axis(scale, levels))
    }

    /// Something read of what each grade shows; `outside` is the likelihood where anything may be shown.
    fn under_each(&self, lineup: &Lineup, of: impl Fn(&Shown) -> f64, outside: f64) -> Vec<f64> {
        let one = |(shown, &suspect): (&Shown, &usize)| {
            let suspect = &lineup.suspects[suspect];
            if suspect.nature == Nature::Outside {
                return outside;
            }
            let share = shows(&self.test, suspect, shown);
            mixed(vec![of(shown)], share, || vec![of(&self.graded_shown[0])])[0]
        };
        self.graded_shown.iter().zip(self.grades.suspects()).map(one).collect()
    }

    /// The levels of the scale's axis between which an outcome lies.
    pub fn levels(&self, outcome: usize) -> (f64, f64) {
        let low = outcome.checked_sub(1).and_then(|below| self.edges.get(below));
        let high = self.edges.get(outcome);
        (low.copied().unwrap_or(f64::NEG_INFINITY), high.copied().unwrap_or(f64::INFINITY))
    }

    /// The outcome a suspect most likely shows with the ohms it is named by.
    pub fn likeliest(&self, suspect: usize) -> usize {
        let grade = self.grades.middle(suspect);
        let mut best = 0;
        for (at, row) in self.graded.iter().enumerate() {
            if row[grade] > self.graded[best][grade] {
                best = at;
            }
        }
        best
    }

    /// The outcome a number falls into.
    pub fn outcome_of(&self, typed: f64) -> usize {
        self.outcome_at(self.test.scale.number_on_axis(typed))
    }

    /// The outcome at a level of the scale's axis.
    pub fn outcome_at(&self, level: f64) -> usize {
        self.edges.iter().take_while(|edge| **edge <= level).count()
    }
}

/// Share of the tries in which a test meets a suspect's fault. A joint that only now and then makes
/// contact nearly always shows when it is moved about, one that is bad for good shows in half the tries
/// (common practice, no source).
pub fn shows(test: &Test, suspect: &Suspect, shown: &Shown) -> f64 {
    match (test.tester, shown.level > 0.5) {
        (Tester::Wiggle, false) => 1.0,
        (Tester::Wiggle, true) if suspect.shows < 1.0 => 0.9,
        (Tester::Wiggle, true) => 0.5,
        _ => suspect.shows,
    }
}

/// Chances under a fault that is there in a share of the tries, and is not in the others.
fn mixed(there: Vec<f64>, shows: f64, away: impl FnOnce() -> Vec<f64>) -> Vec<f64> {
    if shows >= 1.0 {
        return there;
    }
    there.iter().zip(away()).map(|(with, without)| shows * with + (1.0 - shows) * without).collect()
}

/// Keeps the edges of a meter's ranges that part some suspects; lamps and senses keep all theirs.
///
/// A range in which no suspect would show anything is joined to the one below it.
fn useful_edges(test: &Test, shown: &[Shown]) -> Vec<f64> {
    let edges = test.scale.edges();
    // What rests at all is judged by the first edge of a drain, whoever would show more.
    if test.tester.unit().is_none() || test.scale == Scale::Drain {
        return edges;
    }
    let occupied = |at: usize| {
        let low = at.checked_sub(1).map_or(f64::NEG_INFINITY, |below| edges[below]);
        let high = edges.get(at).copied().unwrap_or(f64::INFINITY);
        shown
            .iter()
            .any(|one| one.level + 2.0 * one.spread >= low && one.level - 2.0 * one.spread < high)
    };
    let first = (0..=edges.len()).find(|&at| occupied(at)).unwrap_or(0);
    (first + 1..=edges.len()).filter(|&at| occupied(at)).map(|at| edges[at - 1]).collect()
}
