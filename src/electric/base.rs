//! A network factored with fixed lines, and the columns of its inverse.

mod pair_table;
pub(super) mod span;
pub(super) mod unit;
pub(super) mod values;

use std::sync::{Arc, OnceLock};

use self::pair_table::PairTable;
use self::values::{Place, Values, Watched};
use super::error::SolveError;
use super::law::Row;
use super::linear::equations::{Columns, Layout};
use super::linear::ordering::order;
use super::linear::paths::Paths;
use super::linear::paths::together::Together;
use super::linear::paths::walk::Walk;
use super::linear::sparse_lu::Factors;
use super::network::{GROUND, NodeId};

/// A network factored with fixed lines, and the columns of its inverse asked for so far.
#[derive(Debug)]
pub(super) struct Base {
    /// The network's own branches and the ties behind them.
    pub layout: Layout,
    pub rows: Vec<Row>,
    /// Number of the network's own branches.
    pub own: usize,
    /// Some branch is as good as a short.
    has_shorts: bool,
    matrix: Columns,
    factors: Factors,
    /// Of a large network, whose columns are not kept.
    paths: Option<OnceLock<Paths>>,
    /// Solution with the fixed lines.
    pub rest: Values,
    /// What each solution has at hand for quick looks.
    watched: Vec<Watched>,
    /// Branches that are watched because they rest.
    rests: Vec<bool>,
    of_branch: Vec<OnceLock<Values>>,
    of_node: Vec<OnceLock<Values>>,
    of_pair: PairTable,
}

/// Of more unknowns than these, columns are kept only of branches that rest, and even what bends or moves is told by
/// single entries: the columns of all faults would be as many numbers as the square of the network.
const MOST_KEPT: usize = 800;

/// Whether a network of so many unknowns is large. In this room's own tests every other one is taken for
/// large, so that what must hold for any network is held against both ways.
const fn is_large(size: usize) -> bool {
    if cfg!(test) { size % 2 == 1 } else { size > MOST_KEPT }
}

/// Of more unknowns, not even those of nodes that testers touch.
const MOST_TOUCHED: usize = 8000;

/// A branch of fewer ohms is as good as none.
const SHORT_OHMS: f64 = 1e-8;

/// What a unit of drive does to all unknowns: a unit on the right side of a branch's line, or an ampere
/// through a branch added between two nodes.
#[derive(Debug, Clone)]
pub(super) enum Column<'base> {
    Kept(&'base Values),
    /// One that is not kept.
    Lone(Arc<Values>),
}

impl std::ops::Deref for Column<'_> {
    type Target = Values;

    fn deref(&self) -> &Values {
        match self {
            Column::Kept(column) => column,
            Column::Lone(column) => column,
        }
    }
}

impl Base {
    /// `ties` are the branches behind the network's own.
    pub fn new(
        layout: Layout,
        rows: Vec<Row>,
        ties: usize,
        watched: Vec<Watched>,
    ) -> Result<Base, SolveError> {
        let own = rows.len() - ties;
        let has_shorts = rows.iter().any(|row| row.beta.abs() < SHORT_OHMS * row.alpha);
        let matrix = layout.matrix(&rows);
        let factors = Factors::new(&matrix, &order(&layout, &rows, &matrix))
            .map_err(|unknown| SolveError::Singular { unknown })?;
        let rest = refined(&matrix, &factors, &layout.right(&rows));
        let rest = Values::new(rest, &layout, &watched);
        let paths = (is_large(layout.size()) && !has_shorts).then(OnceLock::new);
        let mut rests = vec![false; rows.len()];
        for watched in &watched {
            if let Watched::Volts(branch) = *watched {
                rests[branch] = true;
            }
        }
        let of_branch = rows.iter().map(|_| OnceLock::new()).collect();
        let of_node = (0..layout.nodes).map(|_| OnceLock::new()).collect();
        let paired = if layout.size() > MOST_TOUCHED { 1 } else { layout.nodes };
        Ok(Base {
            layout,
            rows,
            own,
            has_shorts,
            matrix,
            factors,
            paths,
            rests,
            rest,
            watched,
            of_branch,
            of_node,
            of_pair: PairTable::new(paired),
        })
    }

    pub fn column(&self, place: Place) -> Column<'_> {
        match place {
            Place::Branch(branch) if self.paths.is_some() && !self.rests[branch] => {
                Column::Lone(Arc::new(self.of_row(branch)))
            }
            Place::Pair(from, to) if self.layout.size() > MOST_TOUCHED => {
                Column::Lone(Arc::new(self.unit(self.layout.ampere(from, to))))
            }
            _ => Column::Kept(self.keep(place)),
        }
    }

    /// The column of a place, where those are not asked for single entries.
    #[inline]
    pub fn kept(&self, place: Place) -> Option<&Values> {
        let is_lone = matches!(place, Place::Pair(..)) && self.layout.size() > MOST_TOUCHED;
        (self.paths.is_none() && !is_lone).then(|| self.keep(place))
    }

    fn keep(&self, place: Place) -> &Values {
        match place {
            Place::Branch(branch) => self.of_branch[branch].get_or_init(|| self.of_row(branch)),
            Place::Pair(from, GROUND) if from != GROUND => self.of_node[from.0 as usize]
                .get_or_init(|| self.unit(self.layout.ampere(from, GROUND))),
            // Solved as a pair, not as a difference of two nodes: on a floating island each of them alone
            // would be teravolts.
            Place::Pair(from, to) => {
                let make = || self.unit(self.layout.ampere(from, to));
                self.of_pair.get((from, to), make)
            }
        }
    }

    fn of_row(&self, branch: usize) -> Values {
        let mut right = vec![0.0; self.layout.size()];
        right[self.layout.nodes + branch] = 1.0;
        self.unit(right)
    }

    /// A column to be asked for single entries, where whole ones are not kept.
    pub fn walk(&self, place: Place) -> Option<Walk<'_>> {
        Some(Walk::new(self.paths()?, self.right(place)))
    }

    /// So much of each of some such columns together.
    pub fn together<'base, 'a>(
        &'base self,
        walks: impl Iterator<Item = (&'a Walk<'base>, f64)> + Clone,
    ) -> Option<Together<'base>>
    where
        'base: 'a,
    {
        Some(Together::new(self.paths()?, walks))
    }

    fn paths(&self) -> Option<&Paths> {
        Some(self.paths.as_ref()?.get_or_init(|| Paths::new(&self.factors)))
    }

    /// What a unit of drive puts on the right of the equations.
    fn right(&self, place: Place) -> [Option<(usize, f64)>; 2] {
        match place {
            Place::Branch(branch) => [Some((self.layout.nodes + branch, 1.0)), None],
            Place::Pair(from, to) => {
                let at =
                    |node: NodeId, amps: f64| (node != GROUND).then_some((node.0 as usize, amps));
                [at(from, -1.0), at(to, 1.0)]
            }
        }
    }

    /// Whether columns are asked for single entries.
    pub fn has_paths(&self) -> bool {
        self.paths.is_some()
    }

    /// What each solution has at hand, in its order.
    pub fn watched(&self) -> &[Watched] {
        &self.watched
    }

    /// The two nodes of a place.
    pub fn ends(&self, place: Place) -> [usize; 2] {
        match place {
            Place::Branch(branch) => self.layout.ends[branch].into(),
            Place::Pair(from, to) => [from.0 as usize, to.0 as usize],
        }
    }

    /// Volts and amperes of a place in a solution; those of a pair are none.
    #[inline]
    pub fn at(&self, place: Place, unknowns: &[f64]) -> (f64, f64) {
        match place {
            Place::Branch(branch) => {
                (self.layout.across(unknowns, branch), unknowns[self.layout.nodes + branch])
            }
            Place::Pair(from, to) => (unknowns[from.0 as usize] - unknowns[to.0 as usize], 0.0),
        }
    }

    /// Solves for any right side, by equation.
    pub fn solve(&self, right: Vec<f64>) -> Vec<f64> {
        self.factors.solve(right)
    }

    /// The answer to a unit, refined if wires of no ohms share currents by their last digits. Elsewhere,
    /// with pivots of a tenth of their column and more, refinement changed no digit that the properties
    /// look at, and columns are what a fault costs.
    fn unit(&self, right: Vec<f64>) -> Values {
        let all = if self.has_shorts {
            refined(&self.matrix, &self.factors, &right)
        } else {
            self.factors.solve(right)
        };
        Values::new(all, &self.layout, &self.watched)
    }

    /// What a solution leaves over, by equation.
    pub fn left_over(&self, right: &[f64], solution: &[f64]) -> Vec<f64> {
        self.matrix.left_over(right, solution)
    }
}

/// A solution with one step of refinement, which brings it to the last digit. (Safe here as every island
/// of a base is tied: on one that floats the rounded amperes of thick cables would lift its level.)
fn refined(matrix: &Columns, factors: &Factors, right: &[f64]) -> Vec<f64> {
    let mut solution = factors.solve(right.to_vec());
    let step = factors.solve(matrix.left_over(right, &solution));
    solution.iter_mut().zip(step).for_each(|(value, step)| *value += step);
    solution
}
