//! A photo's identity: SHA-256 over the coded picture without its metadata.
//!
//! A photo renamed, copied, or stripped of place and camera data stays the same photo; one that was edited or saved
//! anew is another. What counts, format by format:
//! - JPEG: every segment but application data (EXIF, XMP, profile, Adobe) and comments, and the scans, up to the end
//!   marker; nothing behind it.
//! - PNG: the contents of IHDR, PLTE, tRNS, and of all IDAT joined (a tool may cut them anew).
//! - WebP: the contents of VP8, VP8L and ALPH.
//! - HEIC: the primary item's parameter sets and coded data, tile by tile for a grid.
//! - TIFF: the decoded samples with width, height and channels, because strips may be repacked.
//!
//! How a picture is turned (EXIF orientation, HEIC rotation) does not count: galleries turn photos without a word.

use super::PhotoId;
use sha2::{Digest, Sha256};

pub(super) struct Hasher(Sha256);

impl Hasher {
    /// A hasher for one format; the format's name goes in first.
    pub(super) fn new(format: &str) -> Self {
        let mut h = Self(Sha256::new());
        h.part(b"photo", format.as_bytes());
        h
    }

    /// Takes in a named part; name and length go in too, so that parts cannot run into each other.
    pub(super) fn part(&mut self, name: &[u8], content: &[u8]) {
        self.name(name, content.len());
        self.0.update(content);
    }

    /// Takes in a part that comes in pieces, as if they were joined.
    pub(super) fn pieces<'a>(&mut self, name: &[u8], pieces: impl Iterator<Item = &'a [u8]> + Clone) {
        self.name(name, pieces.clone().map(<[u8]>::len).sum());
        pieces.for_each(|p| self.0.update(p));
    }

    fn name(&mut self, name: &[u8], len: usize) {
        self.0.update((name.len() as u64).to_le_bytes());
        self.0.update(name);
        self.0.update((len as u64).to_le_bytes());
    }

    pub(super) fn finish(self) -> PhotoId {
        self.0.finalize().iter().map(|b| format!("{b:02x}")).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_count_as_joined_and_parts_do_not() {
        let id = |f: &dyn Fn(&mut Hasher)| {
            let mut h = Hasher::new("png");
            f(&mut h);
            h.finish()
        };
        let joined = id(&|h| h.part(b"IDAT", b"abcd"));
        assert_eq!(id(&|h| h.pieces(b"IDAT", [&b"a"[..], b"bcd"].into_iter())), joined);
        assert_ne!(id(&|h| (h.part(b"IDAT", b"ab"), h.part(b"IDAT", b"cd")).0), joined);
        assert_eq!(joined.len(), 64);
    }
}
