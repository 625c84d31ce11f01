//! Goes through what was done, beside what would have been better at the same moment.

use super::fault::level;
use super::log::{Entry, Look, Mend, What, capital};
use super::play::Drill;
use super::weigh::{against, best_rate, bits_of, leaning};
use crate::circuit::PartId;
use crate::job::course::Course;
use crate::job::course::doubt::doubted;
use crate::job::course::proposal::{Next, Proposal};
use crate::job::entry::answered::evidence;
use crate::job::study::Study;
use crate::job::words;
use crate::plan::{Budget, Progress};
use crate::tester::Instrument;

/// A look that tells less about the fix, in bits, tells nothing.
const NOTHING_BITS: f64 = 0.002;
/// With this share of what the best step brings for the time, a look is good.
const GOOD: f64 = 0.6;
/// With this, fair.
const FAIR: f64 = 0.25;
/// A part with less suspicion than this is ruled out, once something was read.
pub const RULED_OUT: f64 = 0.02;
/// A repair with less than this is a guess.
pub const GUESS: f64 = 0.5;

/// One step of the review.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// From 1; small moves between looks have none of their own.
    pub number: usize,
    /// What was done.
    pub done: String,
    /// What was seen.
    pub seen: String,
    /// Minutes since the step before.
    pub minutes: f64,
    /// How good it was.
    pub mark: Mark,
    /// Bits about the fix it could be expected to bring.
    pub bits: f64,
    /// What it brought for its time, as a share of what the best look would have; none where that is no question.
    pub share: Option<f64>,
    /// In plain words: what it meant, and what would have been better and why.
    pub words: Vec<String>,
}

/// How good a step was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// The complaint itself was looked at.
    Confirms,
    /// What the planner would have done.
    Best,
    /// Nearly as good.
    Good,
    /// Worth doing.
    Fair,
    /// Much less than could be had.
    Poor,
    /// It could tell nothing.
    Nothing,
    /// The right repair.
    Right,
    /// The right repair, but before it could be known.
    Lucky,
    /// The wrong repair, well founded.
    Unlucky,
    /// The wrong repair, and a test would have been better.
    Vain,
    /// The wrong repair, of what the readings had ruled out.
    Misread,
    /// A proof that passed.
    Proven,
    /// A proof that did not.
    NotProven,
    /// An order that was stopped.
    Unsafe,
    /// A part named rightly.
    Named,
    /// A part named wrongly.
    Misnamed,
    /// Help.
    Hint,
    /// Anything else.
    Plain,
}

impl Mark {
    /// For the margin.
    pub fn words(self) -> &'static str {
        match self {
            Mark::Confirms => "confirms",
            Mark::Best => "best",
            Mark::Good => "good",
            Mark::Fair => "fair",
            Mark::Poor => "poor",
            Mark::Nothing => "tells nothing",
            Mark::Right => "right",
            Mark::Lucky => "lucky",
            Mark::Unlucky => "unlucky",
            Mark::Vain => "in vain",
            Mark::Misread => "misread",
            Mark::Proven => "proven",
            Mark::NotProven => "not proven",
            Mark::Unsafe => "STOPPED",
            Mark::Named => "named",
            Mark::Misnamed => "misnamed",
            Mark::Hint => "hint",
            Mark::Plain => "",
        }
    }
}

/// The review of a drill.
pub fn review(drill: &Drill<'_>, budget: &Budget) -> Vec<Step> {
    let judge = Judge { drill, budget };
    let mut steps: Vec<Step> = Vec::new();
    for (at, entry) in drill.log.iter().enumerate() {
        if let Some(mut step) = judge.step(at, entry) {
            step.number = steps.len() + 1;
            steps.push(step);
        }
    }
    steps
}

struct Judge<'d, 'a> {
    drill: &'d Drill<'a>,
    budget: &'d Budget,
}

impl Judge<'_, '_> {
    fn study(&self) -> &Study {
        self.drill.study
    }

    fn step(&self, at: usize, entry: &Entry<'_>) -> Option<Step> {
        match &entry.what {
            What::Look(look) => Some(self.look(at, entry, look)),
            What::Mend(mend) => Some(self.mend(entry, mend)),
            What::Proof { passed } => Some(self.proof(entry, *passed)),
            What::Claim { right, share, against, .. } => {
                Some(claim(entry, *right, *share, against.as_deref(), self.has_read(at)))
            }
            What::Stopped(_) => Some(plain(entry, Mark::Unsafe, vec![capital(&entry.seen)])),
            What::Hint => Some(plain(entry, Mark::Hint, vec![entry.seen.clone()])),
            What::Named(set) => {
                let name = |list: &[(PartId, f64)]| self.named(list);
                let mut words = Vec::new();
                if !set.omitted.is_empty() {
                    words.push(format!("Still open, and forgotten: {}.", name(&set.omitted)));
                }
                if !set.extra.is_empty() {
                    words.push(format!("Named, but ruled out by then: {}.", name(&set.extra)));
                }
                Some(plain(entry, Mark::Plain, words))
            }
            What::Act | What::Rest | What::Foretold { .. } => None,
        }
    }

    fn named(&self, list: &[(PartId, f64)]) -> String {
        let name = |(part, share): &(PartId, f64)| {
            format!("{} ({:.0} %)", self.study().circuit().part(*part).name, share * 100.0)
        };
        list.iter().map(name).collect::<Vec<_>>().join(", ")
    }

    /// A fix is the repair of something that was hidden.
    fn is_wrong(&self, fix: usize) -> bool {
        let suspects = &self.study().lineup().suspects;
        self.drill.hidden.iter().any(|id| suspects[id.index()].fix.index() == fix)
    }

    fn has_read(&self, at: usize) -> bool {
        self.drill.log[..at].iter().any(|entry| matches!(entry.what, What::Look(_)))
    }

    /// How often the same look was taken before with nothing mended since; 0 where what it showed was doubtful.
    fn times_before(&self, at: usize, look: &Look<'_>) -> usize {
        let id = &look.column.test.id;
        let since = self.drill.log[..at].iter().rev();
        let since = since.take_while(|entry| !matches!(entry.what, What::Mend(_)));
        let is_same = |entry: &&Entry<'_>| matches!(&entry.what, What::Look(earlier) if earlier.column.test.id == *id);
        let times = since.filter(is_same).count();
        let is_doubtful = doubted(&look.before).is_some_and(|doubt| doubt.test == *id);
        if is_doubtful { 0 } else { times }
    }

    /// A probe may have missed the point: to touch it once more is good practice.
    fn may_have_missed(&self, look: &Look<'_>) -> bool {
        let misses = level(self.drill.setting.level).misses_percent > 0;
        misses && look.column.test.tester.instrument() != Instrument::Senses
    }

    fn look(&self, at: usize, entry: &Entry<'_>, look: &Look<'_>) -> Step {
        let study = self.study();
        let belief = look.before.belief();
        let before = self.times_before(at, look);
        let again = before > 0;
        let bits = if again { 0.0 } else { bits_of(study, &look.column, &belief) };
        let first_confirm = look.confirms && !self.drill.log[..at].iter().any(is_confirming);
        let mut step = plain(entry, Mark::Confirms, Vec::new());
        (step.minutes, step.bits) = (look.minutes, bits);
        if first_confirm {
            step.words.push("The complaint is true: now it is yours to find.".to_owned());
            return step;
        }
        if before == 1 && self.may_have_missed(look) {
            step.mark = Mark::Fair;
            step.words.push("Touched once more: right where a probe may miss.".to_owned());
            step.words.extend(self.meant(look));
            return step;
        }
        let proposal = Proposal::new(&look.before, self.budget, &Progress::default());
        let rate = bits / look.minutes.max(0.05);
        let best_rate = best_rate(&proposal).max(rate);
        if let Next::Fix(fix) = proposal.best()
            && !self.is_wrong(fix)
        {
            let share = look.before.fix_shares(&belief)[fix];
            let title = &study.lineup().fixes[fix].title;
            step.mark = Mark::Good;
            step.words.extend(self.meant(look));
            step.words.push(format!(
                "Well looked: by then all pointed to something else ({title}, {:.0} %).",
                share * 100.0
            ));
            return step;
        }
        let is_best = matches!(proposal.best(), Next::Test(test) if test.id == look.column.test.id);
        let share = if best_rate > 0.0 { rate / best_rate } else { 1.0 };
        step.share = (best_rate > 0.0).then_some(if is_best { 1.0 } else { share });
        step.mark = match share {
            _ if is_best => Mark::Best,
            _ if bits < NOTHING_BITS => Mark::Nothing,
            share if share >= GOOD => Mark::Good,
            share if share >= FAIR => Mark::Fair,
            _ => Mark::Poor,
        };
        if !again {
            step.words.extend(self.meant(look));
        }
        step.words.extend(self.better(&proposal, &look.before, step.mark, share, again));
        step
    }

    /// What a reading left under suspicion.
    fn meant(&self, look: &Look<'_>) -> Option<String> {
        let study = self.study();
        let mut after = look.before.clone();
        let (said, outcome, _) = evidence(&look.column, &look.answer)?;
        after.read(&look.column, &said, outcome);
        let left = leaning(study, &after.belief());
        (!left.is_empty()).then(|| format!("It left: {left}."))
    }

    fn better(
        &self,
        proposal: &Proposal<'_>,
        before: &Course<'_>,
        mark: Mark,
        share: f64,
        again: bool,
    ) -> Vec<String> {
        let mut words = Vec::new();
        if again {
            words.push("It had been read before, and nothing had changed since.".to_owned());
        } else if mark == Mark::Nothing {
            words.push("Whatever it showed, it could not part what was left.".to_owned());
        }
        if matches!(mark, Mark::Best | Mark::Good) {
            return words;
        }
        words.push(match proposal.best() {
            Next::Test(test) => {
                let title = words::title_in_setup(self.study().circuit(), test);
                let minutes = words::show(before.test_minutes(test));
                let brought = if share < 0.995 && mark != Mark::Nothing {
                    format!(
                        "; yours brought {:.0} % of what could be had for the time",
                        share * 100.0
                    )
                } else {
                    String::new()
                };
                format!("Better: {title} ({minutes} min){brought}.")
            }
            Next::Fix(fix) => {
                let share = before.fix_shares(&before.belief())[fix];
                let title = &self.study().lineup().fixes[fix].title;
                format!("Enough was known: {title} ({:.0} % sure), and prove it.", share * 100.0)
            }
            Next::Stop => "Nothing was left to measure: hand it on.".to_owned(),
        });
        words
    }

    fn mend(&self, entry: &Entry<'_>, mend: &Mend<'_>) -> Step {
        let before = &mend.before;
        let belief = before.belief();
        let share = before.fix_shares(&belief)[mend.fix];
        let proposal = Proposal::new(before, self.budget, &Progress::default());
        let test_was_better = matches!(proposal.best(), Next::Test(_));
        let read = before.tests > 0;
        let mut step = plain(entry, Mark::Right, Vec::new());
        step.minutes = mend.minutes;
        let percent = format!("{:.0} %", share * 100.0);
        // Shares are of one fault at a time: of two, they say little of either.
        let of_two = self.drill.hidden.len() > 1;
        step.mark = match (mend.right, share) {
            (true, _) if of_two => Mark::Right,
            (true, share) if share < GUESS && test_was_better => Mark::Lucky,
            (true, _) => Mark::Right,
            (false, share) if share < RULED_OUT && read => Mark::Misread,
            (false, share) if share < GUESS && test_was_better => Mark::Vain,
            (false, _) => Mark::Unlucky,
        };
        step.words.push(match step.mark {
            Mark::Lucky => format!("Right, but a guess: {percent} of the suspicion lay there."),
            Mark::Right if of_two => "Right: that was one of the two.".to_owned(),
            Mark::Right => format!("Right: {percent} of the suspicion lay there."),
            Mark::Unlucky => format!("Well founded ({percent}), but it was not that."),
            Mark::Misread => format!("What had been read ruled it out ({percent})."),
            _ => format!(
                "A good part in exchange for nothing: {percent} of the suspicion lay there."
            ),
        });
        let fix = mend.fix;
        let lineup = self.study().lineup();
        if !mend.right && share < GUESS {
            step.words.extend(against(before, |at| lineup.suspects[at].fix.index() == fix));
            step.words.extend(self.better(&proposal, before, Mark::Poor, 1.0, false));
        }
        step
    }

    fn proof(&self, entry: &Entry<'_>, passed: bool) -> Step {
        let mended = self.drill.is_mended();
        let words = match (passed, mended) {
            (true, true) => "All that should work was tried after the repair.",
            (true, false) => "It worked while it was tried; the fault comes and goes.",
            (false, _) => "Not yet.",
        };
        let mark = if passed { Mark::Proven } else { Mark::NotProven };
        let mut step = plain(entry, mark, vec![words.to_owned()]);
        step.minutes = entry.minutes;
        step
    }
}

fn is_confirming(entry: &Entry<'_>) -> bool {
    matches!(&entry.what, What::Look(look) if look.confirms)
}

fn plain(entry: &Entry<'_>, mark: Mark, words: Vec<String>) -> Step {
    let seen = if matches!(mark, Mark::Unsafe | Mark::Hint) { "" } else { &entry.seen };
    Step {
        number: 0,
        done: entry.done.clone(),
        seen: seen.to_owned(),
        minutes: entry.minutes,
        mark,
        bits: 0.0,
        share: None,
        words,
    }
}

fn claim(entry: &Entry<'_>, right: bool, share: f64, against: Option<&str>, read: bool) -> Step {
    let percent = format!("{:.0} %", share * 100.0);
    let mut words = Vec::new();
    let mark = if right { Mark::Named } else { Mark::Misnamed };
    if right {
        words.push(format!("Right; {percent} of the suspicion lay there by then."));
    } else if share < RULED_OUT && read {
        words.push(format!("It is not that, and what had been read ruled it out ({percent})."));
        words.extend(against.map(str::to_owned));
    } else {
        words.push(format!("It is not that; {percent} of the suspicion lay there."));
    }
    plain(entry, mark, words)
}
