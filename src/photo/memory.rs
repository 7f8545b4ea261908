//! Room for decoded samples.
//!
//! A 12-megapixel picture is 36 MB. Given in pages of 4 kB, as systems do, that is nine thousand interruptions at the first
//! touch: a third of the time of decoding. So large pictures ask for large pages, where the system has them (Linux).

use memmap2::MmapMut;
use std::ops::Deref;

/// Bytes of a picture, all zero at first.
pub(super) enum Bytes {
    Heap(Vec<u8>),
    Mapped(MmapMut),
}

/// Less than this is not worth a mapping of its own: two large pages.
const LARGE: usize = 4 << 20;

impl Bytes {
    pub(super) fn new(length: usize) -> Self {
        if length >= LARGE
            && let Ok(map) = MmapMut::map_anon(length)
        {
            // Advice only; a system that does not take it gives small pages.
            #[cfg(target_os = "linux")]
            let _ = map.advise(memmap2::Advice::HugePage);
            return Self::Mapped(map);
        }
        Self::Heap(vec![0; length])
    }

    pub(super) fn all_mut(&mut self) -> &mut [u8] {
        match self {
            Self::Heap(v) => v,
            Self::Mapped(m) => m,
        }
    }
}

impl From<Vec<u8>> for Bytes {
    fn from(v: Vec<u8>) -> Self {
        Self::Heap(v)
    }
}

impl Deref for Bytes {
    type Target = [u8];

    #[inline]
    fn deref(&self) -> &[u8] {
        match self {
            Self::Heap(v) => v,
            Self::Mapped(m) => m,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_and_small_room_is_as_long_as_asked_for_and_empty() {
        for length in [0, 1, LARGE - 1, LARGE, LARGE + 4097] {
            let mut room = Bytes::new(length);
            assert_eq!(matches!(room, Bytes::Mapped(_)), length >= LARGE);
            assert!(room.len() == length && room.iter().all(|b| *b == 0));
            room.all_mut().fill(7);
            assert_eq!(room.iter().map(|b| usize::from(*b)).sum::<usize>(), 7 * length);
        }
    }
}
