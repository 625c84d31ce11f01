//! Solutions of which single unknowns are asked for, summed.

use std::collections::HashMap;
use std::hash::BuildHasherDefault;

use super::Paths;
use super::walk::Walk;
use crate::electric::linear::spreading::Spreading;

/// Of more solutions, what comes to each step is summed once.
const FEW: usize = 3;

/// So much of each of some solutions together, to be asked for many unknowns.
#[derive(Debug, Clone)]
pub(in crate::electric) struct Together<'paths> {
    paths: &'paths Paths,
    sum: Sum<'paths>,
}

#[derive(Debug, Clone)]
enum Sum<'paths> {
    Few(Vec<(Walk<'paths>, f64)>),
    Many {
        /// What comes to steps below the top.
        came: HashMap<u32, f64, BuildHasherDefault<Spreading>>,
        /// The unknowns of the top.
        top: Vec<f64>,
    },
}

impl<'paths> Together<'paths> {
    pub fn new<'a>(
        paths: &'paths Paths,
        walks: impl Iterator<Item = (&'a Walk<'paths>, f64)> + Clone,
    ) -> Self
    where
        'paths: 'a,
    {
        let count = walks.clone().count();
        let sum = if count <= FEW {
            Sum::Few(walks.map(|(walk, much)| (walk.clone(), much)).collect())
        } else {
            Sum::many(paths, walks)
        };
        Together { paths, sum }
    }

    /// An unknown of them together.
    pub fn unknown(&self, unknown: usize) -> f64 {
        match &self.sum {
            Sum::Few(walks) => self.paths.unknown(
                unknown,
                |step| walks.iter().map(|(walk, much)| much * walk.of_top(step)).sum(),
                |path| walks.iter().map(|(walk, much)| much * walk.of_path(path)).sum(),
            ),
            Sum::Many { came, top } => {
                // What came to a step went on to all above it: below the first without, there is none.
                let of_path = |path: &[(u32, f64)]| {
                    path.iter().map_while(|(step, share)| Some(share * came.get(step)?)).sum()
                };
                self.paths.unknown(unknown, |step| top[step as usize], of_path)
            }
        }
    }
}

impl<'paths> Sum<'paths> {
    fn many<'a>(
        paths: &'paths Paths,
        walks: impl Iterator<Item = (&'a Walk<'paths>, f64)> + Clone,
    ) -> Self
    where
        'paths: 'a,
    {
        let parts = |walk: &Walk<'paths>| walk.parts.into_iter().flatten();
        let steps = walks.clone().flat_map(|(walk, _)| parts(walk)).map(|one| one.0.path.len());
        let mut came =
            HashMap::with_capacity_and_hasher(steps.sum(), BuildHasherDefault::default());
        let mut to_top = vec![0.0; paths.top.len()];
        for (walk, much) in walks {
            for (part, value) in parts(walk) {
                for &(step, one) in &part.path {
                    *came.entry(step).or_insert(0.0) += much * value * one;
                }
            }
            walk.top.iter().for_each(|one| to_top[one.0 as usize] += much * one.1);
        }
        let mut top = vec![0.0; paths.top.len()];
        for (index, share) in to_top.into_iter().enumerate().filter(|one| one.1 != 0.0) {
            let column = paths.top_column(index as u32);
            top.iter_mut().zip(column).for_each(|(sum, value)| *sum += value * share);
        }
        Sum::Many { came, top }
    }
}
