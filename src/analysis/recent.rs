//! Results remembered while they are likely to be asked for again: what a panel does to sound does
//! not depend on the network, and searches change little else.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

/// The last results of a pure function, by what they were computed from.
pub struct Recent<K, V> {
    kept: Mutex<VecDeque<(K, Arc<V>)>>,
    most: usize,
}

impl<K: PartialEq, V> Recent<K, V> {
    /// Keeps the last `most` results.
    pub const fn new(most: usize) -> Self {
        Self { kept: Mutex::new(VecDeque::new()), most }
    }

    /// The result for `key`, computed if it is not among those kept. Two threads that ask for the
    /// same at the same time may both compute it.
    pub fn get(&self, key: K, compute: impl FnOnce() -> V) -> Arc<V> {
        let found = |kept: &VecDeque<(K, Arc<V>)>| {
            kept.iter().find(|(other, _)| *other == key).map(|(_, value)| Arc::clone(value))
        };
        // A thread that stopped while it held the list left it whole.
        let lock = || self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(value) = found(&lock()) {
            return value;
        }
        let value = Arc::new(compute());
        let mut kept = lock();
        kept.push_front((key, Arc::clone(&value)));
        kept.truncate(self.most);
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_results_are_kept_and_older_ones_made_anew() {
        let recent = Recent::new(2);
        let mut made = Vec::new();
        for key in [1, 2, 1, 3, 1, 2] {
            recent.get(key, || made.push(key));
        }
        assert_eq!(made, [1, 2, 3, 1, 2]);
    }
}
