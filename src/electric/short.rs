//! Lists that are short in nearly every case: one entry a port.
//!
//! Not of what borrows a network: such a list would tie a case to the very end of its solver's life.
//!
//! A fault has one or two ports, and a case in which something moves was some seventy allocations.

use smallvec::SmallVec;

/// An entry a port.
pub(super) type PerPort<T> = SmallVec<[T; 4]>;

/// An entry for each port and drive.
pub(super) type PerPair<T> = SmallVec<[T; 16]>;

/// An entry for each of what is watched; more than a small circuit has go to the heap.
pub(super) type PerWatched = SmallVec<[f64; 64]>;

/// A flag for each relay.
pub(super) type PerRelay = SmallVec<[bool; 16]>;

/// The same entry for each port. (The list's own way to do it asks at each entry whether there is room.)
pub(super) fn alike<T: Copy>(ports: usize, entry: T) -> PerPort<T> {
    let list = [entry; 4];
    if ports <= list.len() {
        return SmallVec::from_buf_and_len(list, ports);
    }
    SmallVec::from_vec(vec![entry; ports])
}

/// An entry for each port by its number; `none` is any entry.
pub(super) fn each<T: Copy>(ports: usize, none: T, one: impl Fn(usize) -> T) -> PerPort<T> {
    let mut list = alike(ports, none);
    list.iter_mut().enumerate().for_each(|(port, entry)| *entry = one(port));
    list
}

/// Zero for each port and drive.
pub(super) fn nothing(ports: usize) -> PerPair<f64> {
    let (list, size) = ([0.0; 16], ports * ports);
    if size <= list.len() {
        return SmallVec::from_buf_and_len(list, size);
    }
    SmallVec::from_vec(vec![0.0; size])
}
