//! Maps in the order of their keys that cost little code. The standard library's trees are compiled
//! anew, at several kilobytes, for every type of key and value; here only a few lines are.

/// Entries that one block holds: inserting moves no more than these.
const LONGEST: usize = 64;

/// Values by key: blocks of entries in order, none of them empty.
#[derive(Clone, Debug)]
pub struct Map<K, V> {
    blocks: Vec<Vec<(K, V)>>,
}

impl<K, V> Default for Map<K, V> {
    fn default() -> Self {
        Self::new()
    }
}

impl<K, V> Map<K, V> {
    /// Nothing.
    pub const fn new() -> Self {
        Self { blocks: Vec::new() }
    }

    /// Is there nothing?
    pub fn is_empty(&self) -> bool {
        self.blocks.is_empty()
    }

    /// The entries in the order of their keys.
    pub fn iter(&self) -> impl Iterator<Item = &(K, V)> {
        self.blocks.iter().flatten()
    }

    /// The entries in the order of their keys.
    pub fn into_entries(self) -> Vec<(K, V)> {
        let mut entries = Vec::new();
        for block in self.blocks {
            entries.extend(block);
        }
        entries
    }

    /// Takes out the entry with the largest key.
    pub fn pop_last(&mut self) -> Option<(K, V)> {
        let last = self.blocks.last_mut()?;
        let entry = last.pop();
        if last.is_empty() {
            self.blocks.pop();
        }
        entry
    }
}

impl<K: Ord, V> Map<K, V> {
    /// The block that a key belongs to, and its place there or where it would go.
    fn find(&self, key: &K) -> (usize, Result<usize, usize>) {
        let starts_before = |block: &Vec<(K, V)>| block.first().is_some_and(|(k, _)| k <= key);
        let block = self.blocks.partition_point(starts_before).saturating_sub(1);
        let place = match self.blocks.get(block) {
            Some(entries) => entries.binary_search_by(|(own, _)| own.cmp(key)),
            None => Err(0),
        };
        (block, place)
    }

    /// The value of a key.
    pub fn get(&self, key: &K) -> Option<&V> {
        let (block, place) = self.find(key);
        let (_, value) = self.blocks.get(block)?.get(place.ok()?)?;
        Some(value)
    }

    /// Gives a key its value, in place of an earlier one.
    pub fn insert(&mut self, key: K, value: V) {
        match self.find(&key) {
            (block, Ok(place)) => self.blocks[block][place].1 = value,
            (block, Err(place)) => {
                self.put(block, place, (key, value));
            }
        }
    }

    /// The value of a key, which is made if there is none.
    pub fn value_or(&mut self, key: K, make: impl FnOnce() -> V) -> &mut V {
        let (block, place) = match self.find(&key) {
            (block, Ok(place)) => (block, place),
            (block, Err(place)) => self.put(block, place, (key, make())),
        };
        &mut self.blocks[block][place].1
    }

    /// Puts an entry where it belongs and tells where that is now.
    fn put(&mut self, block: usize, place: usize, entry: (K, V)) -> (usize, usize) {
        if self.blocks.is_empty() {
            self.blocks.push(Vec::new());
        }
        let entries = &mut self.blocks[block];
        entries.insert(place, entry);
        if entries.len() <= LONGEST {
            return (block, place);
        }
        let rest = entries.split_off(LONGEST / 2);
        self.blocks.insert(block + 1, rest);
        if place < LONGEST / 2 {
            (block, place)
        } else {
            (block + 1, place - LONGEST / 2)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Map;
    use std::collections::BTreeMap;

    #[test]
    fn the_same_as_the_standard_map() {
        let mut seed = 20_261_125_u64;
        let mut random = |below: u64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) % below
        };
        for keys in [3, 100, 5000] {
            let (mut own, mut standard) = (Map::new(), BTreeMap::new());
            assert!(own.is_empty());
            for step in 0..4000_u64 {
                let key = random(keys);
                match random(8) {
                    0 => assert_eq!(own.pop_last(), standard.pop_last()),
                    1 | 2 => {
                        own.insert(key, step);
                        standard.insert(key, step);
                    }
                    _ => {
                        *own.value_or(key, || 1) += step;
                        *standard.entry(key).or_insert(1) += step;
                    }
                }
                let other = random(keys);
                assert_eq!(own.get(&other), standard.get(&other));
                assert_eq!(own.is_empty(), standard.is_empty());
            }
            let standard: Vec<(u64, u64)> = standard.into_iter().collect();
            assert_eq!(own.iter().copied().collect::<Vec<_>>(), standard);
            assert_eq!(own.into_entries(), standard);
        }
    }
}
