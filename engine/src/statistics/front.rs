//! Best compromises between several aims.

/// Points of which none is beaten: no other point is as good in each of `K`
/// criteria and better in one. Smaller is better.
///
/// Which points remain, and in what order, does not depend on the order in
/// which they are offered. An offer costs at most one comparison with each
/// distinct point of the present front.
#[derive(Debug, Clone)]
pub struct Front<const K: usize> {
    /// Distinct points in ascending order of their criteria, the first criterion first.
    places: Vec<Place<K>>,
    refused: u64,
}

#[derive(Debug, Clone)]
struct Place<const K: usize> {
    criteria: [f64; K],
    /// Points that share the criteria, ascending; one place, so that many equals cost no more than one.
    ids: Vec<u64>,
}

impl<const K: usize> Default for Front<K> {
    fn default() -> Self {
        Front { places: Vec::new(), refused: 0 }
    }
}

impl<const K: usize> Front<K> {
    /// A front without points.
    pub fn new() -> Self {
        Self::default()
    }

    /// Offers a point and tells whether it is on the front for now. Criteria
    /// that are not finite keep a point off; it is counted as refused.
    pub fn offer(&mut self, id: u64, criteria: [f64; K]) -> bool {
        if criteria.iter().any(|c| !c.is_finite()) {
            self.refused += 1;
            return false;
        }
        // −0 and 0 are equally good
        let criteria = criteria.map(|c| c + 0.0);
        // what beats a point comes before it, what it beats comes after
        let place = self.places.partition_point(|p| p.criteria < criteria);
        let (before, after) = self.places.split_at_mut(place);
        if let Some(same) = after.first_mut().filter(|p| p.criteria == criteria) {
            let at = same.ids.partition_point(|&kept| kept < id);
            same.ids.insert(at, id);
            return true;
        }
        if before.iter().any(|p| no_worse(&p.criteria, &criteria)) {
            return false;
        }
        let mut position = 0;
        self.places.retain(|p| {
            position += 1;
            position <= place || !no_worse(&criteria, &p.criteria)
        });
        self.places.insert(place, Place { criteria, ids: vec![id] });
        true
    }

    /// The points in ascending order of their criteria, the first criterion
    /// first, equals in ascending order of their numbers.
    pub fn points(&self) -> impl Iterator<Item = (u64, [f64; K])> {
        self.places.iter().flat_map(|p| p.ids.iter().map(|&id| (id, p.criteria)))
    }

    /// Points refused because a criterion was not finite.
    pub fn refused(&self) -> u64 {
        self.refused
    }
}

/// Whether `a` is as good as `b` in every criterion, or better.
fn no_worse<const K: usize>(a: &[f64; K], b: &[f64; K]) -> bool {
    a.iter().zip(b).all(|(a, b)| a <= b)
}

#[cfg(test)]
mod tests {
    use super::{Front, no_worse};
    use crate::sampling::{Draws, Scheme};

    /// Points on a coarse grid, so that ties occur.
    fn cloud(n: u64) -> Vec<[f64; 3]> {
        let draws = Draws::new(Scheme::Random { n }, 3, 4).unwrap();
        (0..n)
            .map(|i| {
                let mut u = [0.0; 3];
                draws.at(i, &mut u);
                u.map(|u| (u * 12.0).floor() - 6.0)
            })
            .collect()
    }

    #[test]
    fn keeps_what_comparing_all_with_all_keeps_in_whatever_order() {
        let points = cloud(2000);
        let beaten = |p: &[f64; 3]| points.iter().any(|q| no_worse(q, p) && q != p);
        let mut expected: Vec<([f64; 3], u64)> =
            points.iter().zip(0..).filter(|(p, _)| !beaten(p)).map(|(&p, i)| (p, i)).collect();
        expected.sort_by(|a, b| a.partial_cmp(b).unwrap());
        let (mut forth, mut back) = (Front::new(), Front::new());
        (0..2000).for_each(|i| _ = forth.offer(i as u64, points[i]));
        (0..2000).rev().for_each(|i| _ = back.offer(i as u64, points[i]));
        for front in [forth, back] {
            let found: Vec<_> = front.points().map(|(id, criteria)| (criteria, id)).collect();
            assert_eq!(found, expected);
        }
        assert!(expected.len() > 3);
    }

    #[test]
    fn ties_stay_and_beaten_points_go() {
        let mut front = Front::new();
        assert!(front.offer(7, [1.0, 2.0]));
        assert!(front.offer(3, [1.0, 2.0]));
        assert!(!front.offer(1, [1.0, 2.5]));
        assert!(front.offer(4, [0.0, 3.0]));
        assert_eq!(front.points().map(|p| p.0).collect::<Vec<_>>(), [4, 3, 7]);
        assert!(front.offer(9, [-0.0, 2.0]));
        assert_eq!(front.points().collect::<Vec<_>>(), [(9, [0.0, 2.0])]);
    }

    #[test]
    fn what_is_not_finite_is_refused_and_counted() {
        let mut front = Front::new();
        assert!(!front.offer(1, [f64::NAN, 0.0]));
        assert!(!front.offer(2, [0.0, f64::NEG_INFINITY]));
        assert_eq!((front.points().count(), front.refused()), (0, 2));
    }
}
