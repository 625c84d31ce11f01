//! A job as there is to show it: the step, the suspects, the paths.

use std::sync::Arc;

use crate::plan::{Budget, Progress};
use crate::setup::Setup;
use crate::suspect::{Nature, Suspect};
use crate::tester::expectations::{Column, Likelihood};
use crate::tester::{Target, Test, Tester};

use super::{cautions, comings, double, ending, material, needs, proof, reasons, rows};
use crate::job::course::Course;
use crate::job::course::doubt::{doubted, drawing_doubted};
use crate::job::course::proposal::{Next, Proposal, agenda_of};
use crate::job::entry::number;
use crate::job::fold::Folded;
use crate::job::standing::{
    Ending, FixStep, NumberEntry, OutcomeLine, Standing, Step, SuspectLine, TestStep,
};
use crate::job::state::Job;
use crate::job::study::Study;
use crate::job::study::choice::class_bits;
use crate::job::study::turns;
use crate::job::words;

/// Suspects below this share are not listed.
const LEAST_SHARE: f64 = 0.001;
/// Keys for named ranges of a meter, where digits belong to the number.
const RANGE_KEYS: &str = "abcdefgilopxyz";
/// A range less likely than this is asked about when a number falls into it: below what a slip of the eye
/// and a fault beyond the drawing leave to each range.
const ODD: f64 = 0.004;

impl Job {
    /// How the job stands. Deterministic for the same events and budget.
    pub fn standing(&self, budget: &Budget, progress: &Progress) -> Standing {
        let folded = self.folded();
        let belief = match folded.cured {
            Some(fix) => folded.course.settled(fix),
            None => folded.course.belief(),
        };
        let proposal = Proposal::new(&folded.course, budget, progress);
        let step = self.step(&folded, &belief, &proposal);
        let points = match &step {
            Step::Test(test) => test.points.clone(),
            _ => Vec::new(),
        };
        let probing = match &step {
            Step::Test(test) => self.column(&test.id),
            _ => None,
        };
        let setup = probing.as_ref().map_or(&folded.course.setup, |column| &column.test.setup);
        let clipped = probing.as_ref().is_some_and(|column| clips_to_plus(&column.test));
        Standing {
            suspects: self.suspect_lines(&belief),
            paths: rows::paths(self.study(), &belief, (&points, clipped), setup),
            setup: folded.course.stands().words(self.study().circuit()),
            minutes_spent: folded.course.minutes,
            minutes_left: if folded.cured.is_some() { 0.0 } else { proposal.plan.expected_minutes },
            surprise: match folded.cured {
                Some(_) => double::said(self, &folded.course),
                None => self.surprise(&folded.course, &belief),
            },
            found: folded.found,
            step,
        }
    }

    fn step(&self, folded: &Folded<'_>, belief: &[f64], proposal: &Proposal<'_>) -> Step {
        if let Some(fix) = folded.cured {
            return Step::Cured(ending::cured(self, &folded.course, fix, &folded.found));
        }
        if let Some(column) = folded.chosen.as_ref().and_then(|id| self.column(id)) {
            return Step::Test(self.test_step(&folded.course, belief, &column, None));
        }
        match proposal.best() {
            Next::Test(test) => match self.study().column(test) {
                Ok(column) => {
                    let step = self.test_step(&folded.course, belief, &column, Some(proposal));
                    Step::Test(step)
                }
                Err(_) => Step::Stuck(self.stuck(&folded.course, belief)),
            },
            Next::Fix(fix) => Step::Fix(self.fix_step(&folded.course, belief, fix, proposal)),
            Next::Stop => Step::Stuck(self.stuck(&folded.course, belief)),
        }
    }

    fn stuck(&self, course: &Course<'_>, belief: &[f64]) -> Ending {
        ending::stuck(self, course, belief, needs::needs(self, course, belief))
    }

    /// The step of a test, proposed or chosen.
    pub fn test_step(
        &self,
        course: &Course<'_>,
        belief: &[f64],
        column: &Column,
        proposal: Option<&Proposal<'_>>,
    ) -> TestStep {
        let circuit = self.study().circuit();
        let test = &column.test;
        let mut doing = words::way_on(course, &test.setup, &test.places);
        doing.extend(words::touch(circuit, test, course.in_hand));
        let (least, most) = number::range(column);
        let foretold = course.foretold(column);
        TestStep {
            id: test.id.clone(),
            title: words::title(circuit, test),
            cautions: cautions::cautions(self.study(), course, test, belief),
            doing,
            watch: words::watch(circuit, test),
            sound: words::sound(column),
            published: words::published(circuit, column),
            outcomes: self.outcome_lines(column, belief, &foretold),
            number: test.tester.unit().map(|unit| NumberEntry {
                unit,
                least,
                most,
                likely: likely_numbers(column, belief, &foretold),
                either_sign: test.scale.is_by_size(),
                system_volts: circuit.system_volts,
            }),
            minutes: course.test_minutes(test),
            why: reasons::of_test(self, course, belief, column, proposal),
            points: match test.target {
                Target::Point(at) => vec![at],
                Target::Pair(a, b) => vec![a, b],
                Target::Part(_) | Target::Connector(_) => Vec::new(),
            },
        }
    }

    fn outcome_lines(
        &self,
        column: &Column,
        belief: &[f64],
        foretold: &Likelihood,
    ) -> Vec<OutcomeLine> {
        let numbers = column.test.tester.unit().is_some();
        let mut lines: Vec<OutcomeLine> = column
            .outcomes
            .iter()
            .zip(foretold)
            .map(|(outcome, row)| OutcomeLine {
                key: ' ',
                id: outcome.id.clone(),
                words: outcome.words.clone(),
                probability: belief.iter().zip(row).map(|(share, chance)| share * chance).sum(),
                meaning: reasons::meaning(self, belief, row),
            })
            .collect();
        if !numbers {
            lines.reverse();
        }
        let keys = if numbers { RANGE_KEYS } else { "123456789" };
        for (line, key) in lines.iter_mut().zip(keys.chars()) {
            line.key = key;
        }
        lines.truncate(keys.len());
        lines
    }

    /// The step of a fix; `at` is its number in the line-up.
    pub fn fix_step(
        &self,
        course: &Course<'_>,
        belief: &[f64],
        at: usize,
        proposal: &Proposal<'_>,
    ) -> FixStep {
        let study = self.study();
        let fix = &study.lineup().fixes[at];
        let stand = study.fix_setup(fix);
        let mut doing = words::way_on(course, &stand, &study.fix_places(fix));
        doing.push(format!("{}.", fix.title));
        let mut proof = proof::lines(self, course, &stand);
        proof.extend(words::new_fuse(study.circuit(), fix.part));
        let cautions = fix_cautions(study, at, belief);
        FixStep {
            id: fix.id.clone(),
            title: fix.title.clone(),
            probability: course.fix_shares(belief)[at],
            cautions,
            parts: material::for_fix(study, at),
            doing,
            proof,
            minutes: course.fix_minutes(at),
            why: reasons::of_fix(self, course, belief, at, proposal),
            part: fix.part.unwrap_or(crate::circuit::PartId(0)),
        }
    }

    /// The suspects worth naming, likeliest first; severities of one fault are one line.
    pub fn suspect_lines(&self, belief: &[f64]) -> Vec<SuspectLine> {
        let lineup = self.study().lineup();
        let pairs = double::lines(self, belief);
        let mut lines: Vec<SuspectLine> = severities(&lineup.suspects)
            .filter(|steps| lineup.suspects[steps.start].pair().is_none())
            .map(|steps| (steps.clone(), belief[steps].iter().sum::<f64>()))
            .map(|(steps, share)| {
                let likeliest = steps.max_by(|&a, &b| belief[a].total_cmp(&belief[b]));
                let suspect = &lineup.suspects[likeliest.unwrap_or(0)];
                SuspectLine {
                    id: suspect.id.clone(),
                    part: self.part_name(suspect.part, suspect.nature),
                    fault: suspect.fault.clone(),
                    fix: lineup.fixes[suspect.fix.index()].title.clone(),
                    probability: share,
                }
            })
            .chain(pairs)
            .filter(|line| line.probability >= LEAST_SHARE)
            .collect();
        lines.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.id.cmp(&b.id)));
        lines
    }

    /// A suspect's part in words.
    pub fn part_name(&self, part: Option<crate::circuit::PartId>, nature: Nature) -> String {
        match (part, nature) {
            (Some(part), _) => self.study().circuit().parts[part.index()].name.clone(),
            (None, Nature::Outside) => "beyond the drawing".to_owned(),
            (None, _) => "no part".to_owned(),
        }
    }

    /// What does not fit, and what to do about it.
    pub fn surprise(&self, course: &Course<'_>, belief: &[f64]) -> Option<String> {
        if let Some(two) = double::said(self, course) {
            return Some(two);
        }
        if let Some(doubt) = doubted(course) {
            let column = self.column(&doubt.test)?;
            let title = words::title(self.study().circuit(), &column.test);
            let minutes = words::show(course.test_minutes(&column.test));
            return Some(format!(
                "Does not fit: {title}. Likely misread ({:.0} %); to repeat it takes {minutes} min.",
                doubt.probability * 100.0
            ));
        }
        let come_and_go = comings::said(self, course, belief);
        if come_and_go.is_some() {
            return come_and_go;
        }
        drawing_doubted(belief).then(|| {
            "What was seen fits no fault of this drawing well: compare it with the machine."
                .to_owned()
        })
    }
}

/// The tester hangs on the supply with its clip, and touches one point.
fn clips_to_plus(test: &Test) -> bool {
    matches!(test.tester, Tester::LampPlus | Tester::LedPlus)
}

/// The numbers somebody could well read here, in stretches.
fn likely_numbers(column: &Column, belief: &[f64], foretold: &Likelihood) -> Vec<(f64, f64)> {
    let scale = column.test.scale;
    let edges = column.edges.iter().map(|edge| scale.number_shown(*edge));
    let mut bounds: Vec<f64> = edges.collect();
    bounds.insert(0, f64::NEG_INFINITY);
    bounds.push(f64::INFINITY);
    let chance = |row: &Vec<f64>| belief.iter().zip(row).map(|(a, b)| a * b).sum::<f64>();
    let ranges = bounds.windows(2).zip(foretold);
    ranges.filter(|(_, row)| chance(row) >= ODD).map(|(pair, _)| (pair[0], pair[1])).collect()
}

/// The suspects in runs that are steps of one continuous severity: a person sees one fault there,
/// named by its likeliest step.
fn severities(suspects: &[Suspect]) -> impl Iterator<Item = std::ops::Range<usize>> {
    let mut start = 0;
    suspects.chunk_by(|one, next| one.ladder.is_some() && one.ladder == next.ladder).map(
        move |run| {
            let range = start..start + run.len();
            start = range.end;
            range
        },
    )
}

/// What to heed for a fix and its check; `at` is its number in the line-up.
pub fn fix_cautions(study: &Study, at: usize, belief: &[f64]) -> Vec<String> {
    let mut cautions = Vec::new();
    if study.lineup().fixes[at].ground_off {
        cautions.push("Battery ground cable off first, on last; no flame or spark.".to_owned());
    }
    // The check tries everything that should work, not the complaint alone.
    let circuit = study.circuit();
    let setups: Vec<Setup> =
        circuit.works.iter().map(|work| Setup::for_work(circuit, work)).collect();
    if setups.iter().any(|setup| turns::may_turn(study, setup, belief)) {
        cautions.extend(cautions::turning_cautions(circuit, &setups.iter().collect::<Vec<_>>()));
    }
    for line in setups.iter().flat_map(|setup| cautions::machine_cautions(study, setup, belief)) {
        if !cautions.contains(&line) {
            cautions.push(line);
        }
    }
    cautions
}

/// The tests that could be done now, best first, with bits about the fix per added minute.
///
/// Reckons the whole table of expected readings; without it, where a setup has no operating point, the tests
/// planned with.
pub fn by_worth(job: &Job, course: &Course<'_>, belief: &[f64]) -> Vec<(Arc<Column>, f64)> {
    let study = job.study();
    let lineup = study.lineup();
    let classes: Vec<usize> = lineup.suspects.iter().map(|suspect| suspect.fix.index()).collect();
    let columns: Vec<Arc<Column>> = match study.columns() {
        Ok(all) => all.to_vec(),
        Err(_) => agenda_of(course).tests.iter().filter_map(|at| study.column(at).ok()).collect(),
    };
    let mut list: Vec<(Arc<Column>, f64)> = columns
        .into_iter()
        .filter(|column| course.allows(&column.test))
        .map(|column| {
            let bits = class_bits(&column.likelihood, &classes, lineup.fixes.len(), belief);
            let worth = bits / course.test_minutes(&column.test).max(0.05);
            (column, worth)
        })
        .collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list
}
