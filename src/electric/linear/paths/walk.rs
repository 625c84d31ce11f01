//! A solution of which single unknowns are asked for.

use super::{Half, OfTop, Paths, add};

/// A solution of which single unknowns are asked for.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Walk<'paths> {
    paths: &'paths Paths,
    /// What became of each equation's unit, with its value on the right.
    pub(super) parts: [Option<(&'paths Half, f64)>; 2],
    /// What comes to steps of the top: summed before it is multiplied, as on a floating island it would be the
    /// difference of two huge numbers afterwards.
    pub(super) top: OfTop,
}

impl<'paths> Walk<'paths> {
    /// For these values on the right of one or two equations.
    pub fn new(paths: &'paths Paths, right: [Option<(usize, f64)>; 2]) -> Self {
        let parts = right.map(|one| one.map(|(equation, value)| (paths.forward(equation), value)));
        let mut top = OfTop::new();
        for (part, much) in parts.iter().flatten() {
            part.top.iter().for_each(|&(index, value)| add(&mut top, index, much * value));
        }
        top.retain(|one| one.1 != 0.0);
        Walk { paths, parts, top }
    }

    /// An unknown of the solution.
    pub fn unknown(&self, unknown: usize) -> f64 {
        self.paths.unknown(unknown, |step| self.of_top(step), |path| self.of_path(path))
    }

    pub(super) fn of_top(&self, step: u32) -> f64 {
        let column =
            |&(index, came): &(u32, f64)| came * self.paths.top_column(index)[step as usize];
        self.top.iter().map(column).sum()
    }

    /// What came to the steps of a path, so much of each. Where nothing came to one, nothing did below.
    pub(super) fn of_path(&self, path: &[(u32, f64)]) -> f64 {
        if let [Some((part, much)), None] = self.parts {
            let both = part.path.iter().zip(path).take_while(|(one, other)| one.0 == other.0);
            return much * both.map(|(one, other)| one.1 * other.1).sum::<f64>();
        }
        let came = |index: usize, step: u32| {
            let here = |&(part, much): &(&Half, f64)| {
                let one = part.path.get(index).filter(|one| one.0 == step)?;
                Some(much * one.1)
            };
            let mut came = self.parts.iter().flatten().filter_map(here).peekable();
            came.peek()?;
            Some(came.sum::<f64>())
        };
        let taken =
            |(index, &(step, share)): (usize, &(u32, f64))| Some(share * came(index, step)?);
        path.iter().enumerate().map_while(taken).sum()
    }
}
