//! Iterators that run side by side with the feature `parallel`, and one after the other without it; the answers are the same.
#[cfg(feature = "parallel")]
pub(crate) use rayon::prelude::*;
#[cfg(not(feature = "parallel"))]
pub(crate) use serial::*;

/// The methods of rayon that this library uses, by the iterators of the standard library.
#[cfg(not(feature = "parallel"))]
mod serial {
    /// `into_par_iter` for ranges and vectors.
    pub(crate) trait IntoParallelIterator: IntoIterator + Sized {
        /// Returns the plain iterator.
        fn into_par_iter(self) -> Self::IntoIter {
            self.into_iter()
        }
    }
    impl<T: IntoIterator> IntoParallelIterator for T {}

    /// `par_iter` and `par_iter_mut` for slices.
    pub(crate) trait ParallelSlice<T> {
        /// Returns the plain iterator.
        fn par_iter(&self) -> std::slice::Iter<'_, T>;
        /// Returns the plain iterator over mutable items.
        fn par_iter_mut(&mut self) -> std::slice::IterMut<'_, T>;
    }
    impl<T> ParallelSlice<T> for [T] {
        fn par_iter(&self) -> std::slice::Iter<'_, T> {
            self.iter()
        }
        fn par_iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
            self.iter_mut()
        }
    }

    /// `with_max_len`, which has no meaning here.
    pub(crate) trait WithMaxLen: Sized {
        /// Returns the iterator itself.
        fn with_max_len(self, _most: usize) -> Self {
            self
        }
    }
    impl<T: Iterator> WithMaxLen for T {}
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The three entry points keep the order of the items, with rayon and without.
    #[test]
    fn items_keep_their_order() {
        let mut list = vec![3, 1, 2];
        list.par_iter_mut().for_each(|n| *n *= 10);
        let doubled: Vec<i32> = list.par_iter().map(|n| 2 * n).collect();
        let moved: Vec<i32> = doubled.into_par_iter().with_max_len(1).map(|n| n + 1).collect();
        assert_eq!(moved, [61, 21, 41]);
    }
}
