//! The symmetric factorisation of a nodal matrix: one pattern per topology, numbers filled in for each step.
//!
//! A supply network is nearly a tree, so its matrix is nearly empty. Eliminating the node with the fewest neighbours
//! first keeps it so: the work then grows with the number of wires, where a dense factorisation grows with its cube.

use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

/// Where two unknowns meet in the matrix.
#[derive(Debug, Clone, Copy)]
pub(in crate::solve) struct Link {
    /// The row of the first end, if it is unknown.
    pub a: Option<usize>,
    /// The row of the second end, if it is unknown.
    pub b: Option<usize>,
    /// The place of the pair, if both are unknown and they differ.
    slot: Option<usize>,
}

impl Link {
    /// The difference of a vector over the unknowns between the two ends; known ends count as zero.
    pub fn across(self, vector: &[f64]) -> f64 {
        self.a.map_or(0.0, |row| vector[row]) - self.b.map_or(0.0, |row| vector[row])
    }

    /// Adds a value at the first end and takes it off at the second.
    pub fn inject(self, vector: &mut [f64], value: f64) {
        if let Some(row) = self.a {
            vector[row] += value;
        }
        if let Some(row) = self.b {
            vector[row] -= value;
        }
    }
}

/// Which places of the matrix and of its factor are not zero. Rows are numbered in elimination order.
#[derive(Debug)]
pub(in crate::solve) struct Pattern {
    /// For each column, where its entries start in `rows`; one more at the end.
    start: Vec<usize>,
    /// The rows under the diagonal, column by column, rising.
    rows: Vec<usize>,
    /// For each column and each pair of its rows, the place that elimination changes.
    targets: Vec<usize>,
}

impl Pattern {
    /// Orders the unknowns `0..count`, coupled by `pairs`; gives the pattern and the row of each unknown.
    pub fn new(count: usize, pairs: impl Iterator<Item = (usize, usize)>) -> (Self, Vec<usize>) {
        let mut neighbours = vec![BTreeSet::new(); count];
        for (one, other) in pairs.filter(|(one, other)| one != other) {
            neighbours[one].insert(other);
            neighbours[other].insert(one);
        }
        let (order, columns) = eliminate(neighbours);
        let mut row_of = vec![0; count];
        for (row, &unknown) in order.iter().enumerate() {
            row_of[unknown] = row;
        }
        let mut pattern = Self { start: vec![0], rows: Vec::new(), targets: Vec::new() };
        for column in columns {
            let first = pattern.rows.len();
            pattern.rows.extend(column.into_iter().map(|unknown| row_of[unknown]));
            pattern.rows[first..].sort_unstable();
            pattern.start.push(pattern.rows.len());
        }
        pattern.targets = pattern.find_targets();
        (pattern, row_of)
    }

    /// The link between two unknowns given by row.
    pub fn link(&self, a: Option<usize>, b: Option<usize>) -> Link {
        match (a, b) {
            (Some(one), Some(other)) if one == other => Link { a: None, b: None, slot: None },
            (Some(one), Some(other)) => Link { a, b, slot: self.slot(one.min(other), one.max(other)) },
            _ => Link { a, b, slot: None },
        }
    }

    fn slot(&self, column: usize, row: usize) -> Option<usize> {
        let entries = self.start[column]..self.start[column + 1];
        self.rows[entries.clone()].binary_search(&row).ok().map(|place| entries.start + place)
    }

    fn find_targets(&self) -> Vec<usize> {
        let mut targets = Vec::new();
        for column in self.start.windows(2) {
            let rows = &self.rows[column[0]..column[1]];
            for (place, &row) in rows.iter().enumerate() {
                // Elimination links all neighbours of the eliminated node, so the place is always there.
                targets.extend(rows[place + 1..].iter().filter_map(|&below| self.slot(row, below)));
            }
        }
        targets
    }

    /// The rows under the diagonal of a column.
    fn rows(&self, column: usize) -> &[usize] {
        &self.rows[self.start[column]..self.start[column + 1]]
    }

    /// How many unknowns there are.
    pub fn count(&self) -> usize {
        self.start.len() - 1
    }
}

/// Takes out the unknown with the fewest neighbours, joins its neighbours to each other, and so on.
fn eliminate(mut neighbours: Vec<BTreeSet<usize>>) -> (Vec<usize>, Vec<BTreeSet<usize>>) {
    let mut queue: BinaryHeap<_> =
        neighbours.iter().enumerate().map(|(node, near)| Reverse((near.len(), node))).collect();
    let mut done = vec![false; neighbours.len()];
    let (mut order, mut columns) = (Vec::new(), Vec::new());
    while let Some(Reverse((degree, node))) = queue.pop() {
        if done[node] || neighbours[node].len() != degree {
            continue;
        }
        done[node] = true;
        let near = std::mem::take(&mut neighbours[node]);
        for &one in &near {
            neighbours[one].remove(&node);
            neighbours[one].extend(near.iter().copied().filter(|&other| other != one));
            queue.push(Reverse((neighbours[one].len(), one)));
        }
        order.push(node);
        columns.push(near);
    }
    (order, columns)
}

/// A symmetric matrix on a pattern; after [`Matrix::factor`] its factor L D L'.
#[derive(Debug, Clone)]
pub(in crate::solve) struct Matrix {
    diagonal: Vec<f64>,
    below: Vec<f64>,
}

impl Matrix {
    pub fn zero(pattern: &Pattern) -> Self {
        Self { diagonal: vec![0.0; pattern.count()], below: vec![0.0; pattern.rows.len()] }
    }

    /// Takes over the numbers of another matrix on the same pattern.
    pub fn copy_from(&mut self, other: &Self) {
        self.diagonal.copy_from_slice(&other.diagonal);
        self.below.copy_from_slice(&other.below);
    }

    /// Adds a conductance between the ends of a link.
    pub fn stamp(&mut self, link: Link, conductance: f64) {
        for row in [link.a, link.b].into_iter().flatten() {
            self.diagonal[row] += conductance;
        }
        if let Some(slot) = link.slot {
            self.below[slot] -= conductance;
        }
    }

    /// Factors in place; false when the matrix is not positive definite.
    pub fn factor(&mut self, pattern: &Pattern) -> bool {
        let mut target = 0;
        for column in 0..pattern.count() {
            let pivot = self.diagonal[column];
            if pivot.is_nan() || pivot <= 0.0 {
                return false;
            }
            // Elimination changes only places of later columns.
            let (below, later) = self.below.split_at_mut(pattern.start[column + 1]);
            let first_later = below.len();
            let (below, rows) = (&mut below[pattern.start[column]..], pattern.rows(column));
            for (place, row) in rows.iter().enumerate() {
                let value = below[place];
                let multiplier = value / pivot;
                self.diagonal[*row] -= multiplier * value;
                let changed = &pattern.targets[target..];
                for (other, changed) in below[place + 1..].iter().zip(changed) {
                    later[changed - first_later] -= multiplier * other;
                }
                target += below.len() - place - 1;
                below[place] = multiplier;
            }
        }
        true
    }

    /// The numbers under the diagonal of a column.
    fn below(&self, pattern: &Pattern, column: usize) -> &[f64] {
        &self.below[pattern.start[column]..pattern.start[column + 1]]
    }

    /// Solves in place, once factored.
    pub fn solve(&self, pattern: &Pattern, vector: &mut [f64]) {
        for column in 0..pattern.count() {
            let value = vector[column];
            for (row, below) in pattern.rows(column).iter().zip(self.below(pattern, column)) {
                vector[*row] -= below * value;
            }
        }
        for column in (0..pattern.count()).rev() {
            let mut value = vector[column] / self.diagonal[column];
            for (row, below) in pattern.rows(column).iter().zip(self.below(pattern, column)) {
                value -= below * vector[*row];
            }
            vector[column] = value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    /// A mesh with chords, against the dense factorisation of a linear-algebra library.
    #[test]
    fn agrees_with_a_dense_cholesky() {
        let pairs = [(0, 1), (1, 2), (2, 3), (3, 4), (4, 0), (1, 4), (2, 5), (5, 6), (6, 0), (3, 6)];
        let (pattern, row) = Pattern::new(7, pairs.into_iter());
        let mut sparse = Matrix::zero(&pattern);
        let mut dense = DMatrix::<f64>::zeros(7, 7);
        for (&(a, b), conductance) in pairs.iter().zip([3.0, 700.0, 0.2, 15.0, 4.0, 90.0, 1.0, 2.0, 8.0, 5e3]) {
            sparse.stamp(pattern.link(Some(row[a]), Some(row[b])), conductance);
            dense[(a, a)] += conductance;
            dense[(b, b)] += conductance;
            dense[(a, b)] -= conductance;
            dense[(b, a)] -= conductance;
        }
        sparse.stamp(pattern.link(Some(row[2]), None), 10.0);
        dense[(2, 2)] += 10.0;
        let right = [1.0, -2.0, 3.0, 0.5, 0.0, 7.0, -4.0];
        let mut found = [0.0; 7];
        (0..7).for_each(|node| found[row[node]] = right[node]);
        assert!(sparse.factor(&pattern));
        sparse.solve(&pattern, &mut found);
        let expected = dense.cholesky().expect("grounded").solve(&DVector::from_row_slice(&right));
        for node in 0..7 {
            assert!((found[row[node]] - expected[node]).abs() < 1e-12, "node {node}");
        }
    }

    #[test]
    fn refuses_what_is_not_positive_definite() {
        let (pattern, row) = Pattern::new(2, [(0, 1)].into_iter());
        let mut matrix = Matrix::zero(&pattern);
        matrix.stamp(pattern.link(Some(row[0]), Some(row[1])), 2.0);
        matrix.stamp(pattern.link(Some(row[1]), None), -1.0);
        assert!(!matrix.factor(&pattern));
    }

    #[test]
    fn a_star_fills_nothing_in() {
        let (pattern, _) = Pattern::new(50, (1..50).map(|leaf| (0, leaf)));
        assert_eq!(pattern.rows.len(), 49);
        assert!(pattern.targets.is_empty());
    }
}
