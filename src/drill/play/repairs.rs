//! Naming, mending, proving.

use super::looks::seen_words;
use super::{Drill, Told};
use crate::circuit::PartId;
use crate::drill::log::{Entry, Mend, What, capital};
use crate::drill::machine::{Tried, is_fuse};
use crate::drill::safety::{self, Danger};
use crate::drill::weigh::against;
use crate::job::words;
use crate::suspect::FixId;
use crate::tester::expectations::BenchError;

impl Drill<'_> {
    /// Names a part as the bad one.
    pub fn claim(&mut self, part: PartId) -> Told {
        let belief = self.course.belief();
        let lineup = self.study.lineup();
        let of_part = |at: &usize| lineup.suspects[*at].part == Some(part);
        let share: f64 = (0..belief.len()).filter(of_part).map(|at| belief[at]).sum();
        let right = self.hidden.iter().any(|id| lineup.suspects[id.index()].part == Some(part));
        let against = against(&self.course, |at| lineup.suspects[at].part == Some(part));
        let name = self.study.circuit().part(part).name.clone();
        self.note(What::Claim { part, right, share, against }, format!("Named: {name}"), "", 0.0);
        Told::line(format!("Noted: you say it is the {name}. Mend it and prove it."))
    }

    /// Mends or renews a part.
    ///
    /// # Errors
    /// Where the machine has no operating point then.
    pub fn mend(&mut self, fix: FixId) -> Result<Told, BenchError> {
        let circuit = self.study.circuit();
        let repair = &self.study.lineup().fixes[fix.index()];
        if safety::is_on(circuit, &self.course.setup) {
            return Ok(self.stop(Danger::SwitchedOn, &repair.title));
        }
        if repair.ground_off && !self.course.setup.ground_off {
            return Ok(self.stop(Danger::RepairLive, &repair.title));
        }
        let mut lines = self.reach(&self.study.fix_places(repair));
        let right = self.machine.mend(fix, repair.part)?;
        let mend = Mend {
            fix: fix.index(),
            right,
            before: self.decided.clone(),
            minutes: self.course.minutes + repair.minutes - self.decided.minutes,
        };
        self.note(What::Mend(mend), repair.title.clone(), "", repair.minutes);
        self.clear = false;
        lines.push(format!("Done: {} ({} min).", repair.title, words::show(repair.minutes)));
        let fuse = repair.part.is_some_and(|part| is_fuse(circuit, part));
        lines.push(if fuse {
            "The new fuse is in. Whether it stays whole, the proof will tell: `prove`.".to_owned()
        } else {
            "Whether that was it, the proof will tell: `prove`.".to_owned()
        });
        if self.may_crank() {
            lines.push(
                "Somebody may have come near meanwhile: `clear` before it may crank.".to_owned(),
            );
        }
        Ok(Told { lines, ..Told::default() })
    }

    /// Tries everything that should work, in the safe order.
    ///
    /// # Errors
    /// Where a setup has no operating point.
    pub fn prove(&mut self) -> Result<Told, BenchError> {
        if !self.clear && self.may_crank() {
            return Ok(self.stop(Danger::NotClear, "The proof"));
        }
        let check = self.study.check_setup();
        let mut told = self.go(&check)?;
        if !told.is_done() {
            return Ok(told);
        }
        let circuit = self.study.circuit();
        let mut passed = true;
        let mut seen = Vec::new();
        for Tried { work, looks, works } in self.machine.try_all(self.study.complaint)? {
            passed &= works;
            for (test, look) in looks {
                let named = seen_words(circuit, &test, &look.words);
                let words = format!(
                    "{}: {}",
                    capital(&circuit.works[work].name),
                    named.trim_end_matches('.')
                );
                seen.push(words);
            }
        }
        let tried = self.mended_since_proof();
        let minutes = self.study.check_minutes();
        self.note(
            What::Proof { passed },
            "The proof: all that should work",
            seen.join("; "),
            minutes,
        );
        // Whoever proves lets go at the end: a button stays held only while the learner holds it.
        self.course.setup = self.study.proven_setup().let_go(circuit);
        if !passed {
            for fix in tried {
                self.course.failed_check(fix);
            }
        }
        self.decided = self.course.clone();
        told.lines.extend(seen.into_iter().map(|line| format!("{line}.")));
        told.lines.push(if passed {
            "Everything does what it should. `done` ends the drill.".to_owned()
        } else {
            "It is not as it should be: go on looking.".to_owned()
        });
        Ok(told)
    }

    /// What was mended since the last proof, in order.
    fn mended_since_proof(&self) -> Vec<usize> {
        let proof = |entry: &Entry<'_>| matches!(entry.what, What::Proof { .. });
        let from = self.log.iter().rposition(proof).map_or(0, |at| at + 1);
        let fix = |entry: &Entry<'_>| match &entry.what {
            What::Mend(mend) => Some(mend.fix),
            _ => None,
        };
        self.log[from..].iter().filter_map(fix).collect()
    }
}
