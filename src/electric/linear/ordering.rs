//! In which order the equations are eliminated, and which unknown each is solved for.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::equations::{Columns, Layout};
use crate::electric::law::Row;

/// Pairs of an equation and the unknown it is solved for, in the order of elimination.
pub(in crate::electric) type Order = Vec<(usize, usize)>;

/// A branch that closes a loop waits to the last if its own resistance is below this: a small pivot,
/// which grows to the resistance of the whole loop once the tree is eliminated.
const LEAST_LINK_PIVOT: f64 = 0.1;

/// Pairs equations with unknowns along a tree of least resistance, then puts them in order of least degree.
///
/// The tree makes the pivots sums of like signs: the volts of a node come from the line of its branch
/// towards ground, the amperes of that branch from the sum at the node, and what is left of every other
/// branch is the resistance of its loop. So a floating island keeps its leak to the last digit, however
/// thick its cables; the conductances of nodal analysis would have swallowed it.
pub(in crate::electric) fn order(layout: &Layout, rows: &[Row], matrix: &Columns) -> Order {
    let pairs = pairs(layout, rows);
    let late = |&(equation, unknown): &(usize, usize)| {
        equation == unknown && equation >= layout.nodes && {
            let row = rows[equation - layout.nodes];
            row.beta.abs() < LEAST_LINK_PIVOT
        }
    };
    let late: Vec<bool> = pairs.iter().map(late).collect();
    by_degree(&pairs, &late, matrix)
}

/// Equation and unknown of each pair, in no particular order.
fn pairs(layout: &Layout, rows: &[Row]) -> Order {
    let mut joins: Vec<Vec<(usize, usize)>> = vec![Vec::new(); layout.nodes];
    let mut in_tree = vec![false; rows.len()];
    for branch in spanning_tree(layout, rows) {
        let (from, to) = layout.ends[branch];
        joins[from].push((to, branch));
        joins[to].push((from, branch));
        in_tree[branch] = true;
    }
    let mut pairs = Vec::with_capacity(layout.size());
    let mut reached = vec![false; layout.nodes];
    for root in 0..layout.nodes {
        if reached[root] {
            continue;
        }
        reached[root] = true;
        pairs.push((root, root));
        let mut open = vec![root];
        while let Some(node) = open.pop() {
            for &(next, branch) in &joins[node] {
                if std::mem::replace(&mut reached[next], true) {
                    continue;
                }
                pairs.push((layout.nodes + branch, next));
                pairs.push((next, layout.nodes + branch));
                open.push(next);
            }
        }
    }
    let links = (0..rows.len()).filter(|&branch| !in_tree[branch]);
    pairs.extend(links.map(|branch| (layout.nodes + branch, layout.nodes + branch)));
    pairs
}

/// The branches of a spanning forest of least resistance.
fn spanning_tree(layout: &Layout, rows: &[Row]) -> Vec<usize> {
    let mut branches: Vec<usize> =
        (0..rows.len()).filter(|&branch| rows[branch].alpha != 0.0).collect();
    let ohms = |branch: usize| (rows[branch].beta / rows[branch].alpha).abs();
    branches.sort_by(|&a, &b| ohms(a).total_cmp(&ohms(b)).then(a.cmp(&b)));
    let mut islands: Vec<usize> = (0..layout.nodes).collect();
    branches.retain(|&branch| {
        let (from, to) = layout.ends[branch];
        let (a, b) = (island(&mut islands, from), island(&mut islands, to));
        islands[a] = b;
        a != b
    });
    branches
}

/// A node of each island that no conducting branch joins to ground.
pub(in crate::electric) fn floating(layout: &Layout, rows: &[Row]) -> Vec<usize> {
    let islands = islands(layout, rows);
    (1..layout.nodes).filter(|&node| islands[node] == node).collect()
}

/// For each node the first node of its island.
pub(in crate::electric) fn islands(layout: &Layout, rows: &[Row]) -> Vec<usize> {
    let mut islands: Vec<usize> = (0..layout.nodes).collect();
    for (&(from, to), row) in layout.ends.iter().zip(rows) {
        if row.alpha != 0.0 {
            let (a, b) = (island(&mut islands, from), island(&mut islands, to));
            islands[a.max(b)] = a.min(b);
        }
    }
    (0..layout.nodes).map(|node| island(&mut islands, node)).collect()
}

fn island(islands: &mut [usize], mut node: usize) -> usize {
    while islands[node] != node {
        islands[node] = islands[islands[node]];
        node = islands[node];
    }
    node
}

/// Least degree first, on the pattern of the matrix and its mirror image; ties by position; those that
/// are `late` behind all others.
///
/// Ground comes before all: its volts are none, so its equation has no other unknown and it adds nothing
/// to any other, while as a neighbour of every grounded branch it would make each of them look crowded.
fn by_degree(pairs: &Order, late: &[bool], matrix: &Columns) -> Order {
    let mut of_equation = vec![0; pairs.len()];
    for (pair, &(equation, _)) in pairs.iter().enumerate() {
        of_equation[equation] = pair;
    }
    // Lists, not sets: most have a handful of entries.
    let mut neighbours: Vec<Vec<usize>> = vec![Vec::with_capacity(8); pairs.len()];
    for (pair, &(_, unknown)) in pairs.iter().enumerate() {
        if unknown == 0 {
            continue;
        }
        for &(equation, _) in matrix.column(unknown) {
            let other = of_equation[equation];
            if other != pair && !neighbours[pair].contains(&other) {
                neighbours[pair].push(other);
                neighbours[other].push(pair);
            }
        }
    }
    let mut queue: BinaryHeap<Reverse<(bool, usize, usize)>> = neighbours
        .iter()
        .enumerate()
        .map(|(pair, near)| Reverse((late[pair], near.len(), pair)))
        .collect();
    let mut done = vec![false; pairs.len()];
    let mut order = Vec::with_capacity(pairs.len());
    // For which pair each was last seen as a neighbour.
    let mut seen_by = vec![usize::MAX; pairs.len()];
    while let Some(Reverse((_, degree, pair))) = queue.pop() {
        if done[pair] || degree != neighbours[pair].len() {
            continue;
        }
        done[pair] = true;
        order.push(pairs[pair]);
        let near = std::mem::take(&mut neighbours[pair]);
        for &one in &near {
            let mut own = std::mem::take(&mut neighbours[one]);
            own.retain(|&other| other != pair);
            for &other in &own {
                seen_by[other] = one;
            }
            own.extend(near.iter().filter(|&&other| other != one && seen_by[other] != one));
            queue.push(Reverse((late[one], own.len(), one)));
            neighbours[one] = own;
        }
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(nodes: usize, ends: &[(usize, usize)], ohms: &[f64]) {
        let layout = Layout { nodes, ends: ends.to_vec() };
        let rows: Vec<Row> = ohms.iter().map(|&ohms| Row::source(0.0, ohms)).collect();
        let order = order(&layout, &rows, &layout.matrix(&rows));
        let mut equations: Vec<usize> = order.iter().map(|pair| pair.0).collect();
        let mut unknowns: Vec<usize> = order.iter().map(|pair| pair.1).collect();
        equations.sort_unstable();
        unknowns.sort_unstable();
        let all: Vec<usize> = (0..layout.size()).collect();
        assert_eq!(equations, all);
        assert_eq!(unknowns, all);
    }

    #[test]
    fn every_equation_and_unknown_comes_once() {
        check(1, &[], &[]);
        check(3, &[(1, 0), (1, 2), (2, 0)], &[0.1, 1.0, 10.0]);
        check(5, &[(1, 2), (2, 1), (3, 3), (3, 4)], &[1.0, 0.0, 5.0, 1e9]);
    }

    #[test]
    fn the_thick_branch_is_in_the_tree() {
        let layout = Layout { nodes: 2, ends: vec![(1, 0), (1, 0)] };
        let rows = [Row::source(0.0, 5.0), Row::source(0.0, 0.01)];
        assert_eq!(spanning_tree(&layout, &rows), vec![1]);
    }
}
