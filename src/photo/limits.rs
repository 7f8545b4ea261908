//! How much is taken in, checked on the file's size and on its header, before a pixel is decoded or memory set aside.

use super::PhotoError;
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// What may be decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Most pixels in the picture. A decoded 8-bit pixel takes three bytes, a 16-bit one six.
    pub pixels: u64,
    /// Most bytes in the file.
    pub bytes: u64,
    /// Most pixels along one side.
    pub side: u32,
}

impl Default for Limits {
    /// Wide enough for the 108-million-pixel photos of some phones and for a 16-bit TIFF of 12 million.
    fn default() -> Self {
        Self { pixels: 120_000_000, bytes: 120_000_000, side: 20_000 }
    }
}

impl Limits {
    /// Whether a picture of this size, as its header says, may be decoded.
    pub(super) fn size(&self, format: &'static str, width: u64, height: u64) -> Result<(u32, u32), PhotoError> {
        if width == 0 || height == 0 {
            return Err(PhotoError::NoPixels { format, width, height });
        }
        let (pixels, side) = (self.pixels, self.side);
        if width > side.into() || height > side.into() || width * height > pixels {
            return Err(PhotoError::TooManyPixels { format, width, height, pixels, side });
        }
        Ok((width as u32, height as u32))
    }

    /// Whether a file of so many bytes may be read.
    pub(super) fn file(&self, bytes: u64) -> Result<(), PhotoError> {
        if bytes == 0 {
            return Err(PhotoError::Empty);
        }
        if bytes > self.bytes { Err(PhotoError::FileTooLarge { limit: self.bytes }) } else { Ok(()) }
    }
}

/// Reads a whole file, never more than the limit of it, even where the file system does not know its size.
pub fn read_file(path: &Path, limits: &Limits) -> Result<Vec<u8>, PhotoError> {
    let unreadable = |cause| PhotoError::Unreadable { path: path.into(), cause };
    let meta = std::fs::metadata(path).map_err(unreadable)?;
    if meta.is_dir() {
        return Err(PhotoError::Folder { path: path.into() });
    }
    if meta.is_file() {
        limits.file(meta.len())?;
    }
    let file = File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::with_capacity(meta.len().min(limits.bytes) as usize + 1);
    file.take(limits.bytes + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    limits.file(bytes.len() as u64)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_and_pixels_are_limited_apart() {
        let l = Limits { pixels: 100, bytes: 10, side: 50 };
        assert_eq!(l.size("png", 50, 2).unwrap(), (50, 2));
        assert_eq!(l.size("png", 51, 1).unwrap_err().code(), "photo-too-many-pixels");
        assert_eq!(l.size("png", 11, 10).unwrap_err().code(), "photo-too-many-pixels");
        assert_eq!(l.size("png", 0, 10).unwrap_err().code(), "photo-no-pixels");
        assert_eq!(l.size("png", u32::MAX.into(), u32::MAX.into()).unwrap_err().code(), "photo-too-many-pixels");
        assert!(l.file(10).is_ok());
        assert_eq!(l.file(11).unwrap_err().code(), "photo-file-too-large");
        assert_eq!(l.file(0).unwrap_err().code(), "photo-empty");
    }
}
