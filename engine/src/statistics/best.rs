//! The best few of many.

/// The `k` entries with the smallest keys seen so far, the lower number first
/// among equal keys. The order in which entries are offered does not matter.
#[derive(Debug, Clone)]
pub struct Best {
    k: usize,
    entries: Vec<(f64, u64)>,
}

impl Best {
    /// Keeps the best `k`.
    pub fn new(k: usize) -> Best {
        Best { k, entries: Vec::new() }
    }

    /// Offers an entry and tells whether it is among the best for now. A key
    /// that is no number never is; an infinite one may be.
    pub fn offer(&mut self, id: u64, key: f64) -> bool {
        if key.is_nan() {
            return false;
        }
        // −0 and 0 are the same key
        let entry = (key + 0.0, id);
        let place = self.entries.partition_point(|kept| (kept.0, kept.1) < entry);
        if place >= self.k {
            return false;
        }
        self.entries.insert(place, entry);
        self.entries.truncate(self.k);
        true
    }

    /// Keys and numbers kept, best first.
    pub fn entries(&self) -> &[(f64, u64)] {
        &self.entries
    }
}

#[cfg(test)]
mod tests {
    use super::Best;

    #[test]
    fn keeps_what_sorting_everything_keeps_in_whatever_order() {
        let mut all: Vec<(f64, u64)> = (0..1000).map(|i| (((i * 7919) % 101) as f64, i)).collect();
        let (mut forth, mut back) = (Best::new(25), Best::new(25));
        all.iter().for_each(|&(key, id)| _ = forth.offer(id, key));
        all.iter().rev().for_each(|&(key, id)| _ = back.offer(id, key));
        all.sort_by(|a, b| a.partial_cmp(b).unwrap());
        assert_eq!(forth.entries(), &all[..25]);
        assert_eq!(back.entries(), &all[..25]);
    }

    #[test]
    fn no_number_is_refused_and_infinity_comes_last() {
        let mut best = Best::new(2);
        assert!(!best.offer(1, f64::NAN));
        assert!(best.offer(2, f64::INFINITY));
        assert!(best.offer(3, 1.0));
        assert!(best.offer(4, 0.0));
        assert_eq!(best.entries(), &[(0.0, 4), (1.0, 3)]);
        assert!(!Best::new(0).offer(1, 0.0));
    }
}
