//! The last few values by key.

use std::collections::BTreeMap;

/// Keeps so many values, those used last.
pub(crate) struct Recent<K, V> {
    most: usize,
    clock: u64,
    values: BTreeMap<K, (u64, V)>,
}

impl<K: Ord + Clone, V: Clone> Recent<K, V> {
    pub(crate) fn new(most: usize) -> Self {
        Self {
            most,
            clock: 0,
            values: BTreeMap::new(),
        }
    }

    pub(crate) fn get(&mut self, key: &K) -> Option<V> {
        self.clock += 1;
        let (used, value) = self.values.get_mut(key)?;
        *used = self.clock;
        Some(value.clone())
    }

    pub(crate) fn put(&mut self, key: K, value: V) {
        self.clock += 1;
        self.values.insert(key, (self.clock, value));
        if self.values.len() > self.most {
            let oldest = self.values.iter().min_by_key(|(_, (used, _))| *used);
            if let Some(key) = oldest.map(|(key, _)| key.clone()) {
                self.values.remove(&key);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Recent;

    #[test]
    fn what_was_used_last_stays() {
        let mut recent = Recent::new(2);
        recent.put("a", 1);
        recent.put("b", 2);
        assert_eq!(recent.get(&"a"), Some(1));
        recent.put("c", 3);
        assert_eq!(recent.get(&"b"), None);
        assert_eq!((recent.get(&"a"), recent.get(&"c")), (Some(1), Some(3)));
    }
}
