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

    pub(crate) fn remove(&mut self, key: &K) {
        self.values.remove(key);
    }

    /// Keeps a value; gives back the one that has to go for it, if any, so that
    /// the caller chooses where to let go of something large.
    pub(crate) fn put(&mut self, key: K, value: V) -> Option<V> {
        self.clock += 1;
        let before = self.values.insert(key, (self.clock, value));
        if let Some((_, value)) = before {
            return Some(value);
        }
        if self.values.len() <= self.most {
            return None;
        }
        let oldest = self.values.iter().min_by_key(|(_, (used, _))| *used);
        let key = oldest.map(|(key, _)| key.clone())?;
        self.values.remove(&key).map(|(_, value)| value)
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
        assert_eq!(recent.put("c", 3), Some(2), "what goes is given back");
        assert_eq!(recent.get(&"b"), None);
        assert_eq!((recent.get(&"a"), recent.get(&"c")), (Some(1), Some(3)));
    }
}
