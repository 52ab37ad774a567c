//! Points of outlines, in memory or put aside: a long clip has more of them than memory should hold.
//!
//! They are kept as they are, single precision, so that what comes back is the same to the last bit. A shelf that fails says so at the
//! end ([`Shelf::fault`]); until then its points count as none. Where it is, is the caller's.

use std::borrow::Cow;
use std::sync::Arc;

/// Where bytes are put aside.
pub trait Shelf: Send + Sync {
    /// Puts bytes aside and says where; `None` when it cannot.
    fn put(&self, bytes: &[u8]) -> Option<u64>;
    /// Fetches what was put at a place; false when it cannot.
    fn get(&self, at: u64, bytes: &mut [u8]) -> bool;
    /// What went wrong first, in words, if anything did.
    fn fault(&self) -> Option<String>;
}

/// A list of points of `N` numbers.
#[derive(Clone)]
pub struct Points<const N: usize> {
    count: usize,
    place: Place<N>,
}

#[derive(Clone)]
enum Place<const N: usize> {
    Here(Vec<[f32; N]>),
    There(Arc<dyn Shelf>, u64),
}

impl<const N: usize> Points<N> {
    /// How many.
    pub fn len(&self) -> usize {
        self.count
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// The points, fetched if need be.
    pub fn get(&self) -> Cow<'_, [[f32; N]]> {
        match &self.place {
            Place::Here(points) => Cow::Borrowed(points),
            Place::There(shelf, at) => Cow::Owned(fetched(shelf.as_ref(), *at, self.count)),
        }
    }

    /// Puts the points on a shelf; they stay in memory if it cannot take them.
    pub fn put_aside(&mut self, shelf: &Arc<dyn Shelf>) {
        let Place::Here(points) = &self.place else { return };
        let bytes: Vec<u8> = points.iter().flatten().flat_map(|x| x.to_le_bytes()).collect();
        if let Some(at) = shelf.put(&bytes) {
            self.place = Place::There(Arc::clone(shelf), at);
        }
    }

    /// Other points, put where these are.
    #[must_use]
    pub fn alike<const M: usize>(&self, points: Vec<[f32; M]>) -> Points<M> {
        let mut points = Points::from(points);
        if let Place::There(shelf, _) = &self.place {
            points.put_aside(shelf);
        }
        points
    }
}

fn fetched<const N: usize>(shelf: &dyn Shelf, at: u64, count: usize) -> Vec<[f32; N]> {
    let mut bytes = vec![0; 4 * N * count];
    if !shelf.get(at, &mut bytes) {
        return Vec::new();
    }
    let numbers = bytes
        .chunks_exact(4)
        .map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]]));
    let numbers: Vec<f32> = numbers.collect();
    let point = |n: &[f32]| std::array::from_fn(|i| n[i]);
    numbers.chunks_exact(N).map(point).collect()
}

impl<const N: usize> From<Vec<[f32; N]>> for Points<N> {
    fn from(points: Vec<[f32; N]>) -> Self {
        Self {
            count: points.len(),
            place: Place::Here(points),
        }
    }
}

impl<const N: usize> FromIterator<[f32; N]> for Points<N> {
    fn from_iter<I: IntoIterator<Item = [f32; N]>>(points: I) -> Self {
        points.into_iter().collect::<Vec<_>>().into()
    }
}

impl<const N: usize> Default for Points<N> {
    fn default() -> Self {
        Vec::new().into()
    }
}

impl<const N: usize> PartialEq for Points<N> {
    fn eq(&self, other: &Self) -> bool {
        self.get() == other.get()
    }
}

impl<const N: usize> std::fmt::Debug for Points<N> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_list().entries(self.get().iter()).finish()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    #[derive(Default)]
    struct Bytes(Mutex<Vec<u8>>);

    impl Shelf for Bytes {
        fn put(&self, bytes: &[u8]) -> Option<u64> {
            let mut all = self.0.lock().unwrap();
            all.extend(bytes);
            Some((all.len() - bytes.len()) as u64)
        }

        fn get(&self, at: u64, bytes: &mut [u8]) -> bool {
            let all = self.0.lock().unwrap();
            let found = all.get(at as usize..at as usize + bytes.len());
            found.map(|found| bytes.copy_from_slice(found)).is_some()
        }

        fn fault(&self) -> Option<String> {
            None
        }
    }

    #[test]
    fn points_put_aside_are_the_same_to_the_last_bit() {
        let bytes = Arc::new(Bytes::default());
        let shelf: Arc<dyn Shelf> = bytes.clone();
        let list: Vec<[f32; 3]> = (0..50).map(|k| [0.1, 1.0 / 3.0, k as f32]).collect();
        let mut points = Points::from(list.clone());
        assert!(matches!(points.get(), Cow::Borrowed(_)) && points.alike(vec![[1.0]]).get().len() == 1);
        points.put_aside(&shelf);
        points.put_aside(&shelf);
        let other = points.alike(vec![[7.0_f32, 8.0]]);
        assert_eq!(bytes.0.lock().unwrap().len(), 50 * 12 + 8);
        assert!(matches!(points.get(), Cow::Owned(_)) && points.len() == 50);
        assert_eq!(points, Points::from(list));
        assert_eq!(other.get().as_ref(), [[7.0, 8.0]]);
        bytes.0.lock().unwrap().clear();
        assert!(points.get().is_empty());
    }
}
