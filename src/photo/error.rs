//! What can go wrong with a photo file.

use std::path::PathBuf;

/// A photo that could not be opened: what, where, and through [`PhotoError::remedy`] what to do.
///
/// [`PhotoError::code`] is stable over versions; [`PhotoError::fault`] says where the trouble lies.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// The file system would not give the file.
    #[error("the file {} could not be read: {cause}", path.display())]
    Unreadable { path: PathBuf, cause: std::io::Error },
    /// The path names a folder.
    #[error("{} is a folder, not a photo", path.display())]
    Folder { path: PathBuf },
    /// Not one byte.
    #[error("the file is empty")]
    Empty,
    /// A file of zero bytes only, as an interrupted copy leaves it.
    #[error("the file holds {bytes} bytes, all of them zero")]
    Blank { bytes: u64 },
    /// Text, whatever the file is called.
    #[error("the file holds text, not a picture")]
    Text,
    /// Nothing that is known here.
    #[error("the file is not a JPEG, PNG, TIFF, WebP or HEIC photo (it begins with {begins})")]
    KindUnknown { begins: String },
    /// A known kind of file that is not measured.
    #[error("the file is {kind}, which is not measured")]
    KindUnsupported { kind: &'static str },
    /// HEIC, in a program built without it.
    #[error("the file is a HEIC photo, and this program was built without HEIC")]
    HeicLeftOut,
    /// More bytes than are read.
    #[error("the file is larger than {limit} bytes")]
    FileTooLarge { limit: u64 },
    /// The header asks for more pixels than are decoded.
    #[error(
        "the {format} header says {width} × {height} pixels; at most {pixels} pixels and {side} on a side are decoded"
    )]
    TooManyPixels { format: &'static str, width: u64, height: u64, pixels: u64, side: u32 },
    /// The header says that there is no picture.
    #[error("the {format} header says {width} × {height} pixels: there is no picture")]
    NoPixels { format: &'static str, width: u64, height: u64 },
    /// Cut off or damaged.
    #[error("the {format} data is damaged or cut off: {cause}")]
    Torn { format: &'static str, cause: String },
    /// No colour in the file.
    #[error("the {format} picture is grey-only: there is no colour to read")]
    GreyOnly { format: &'static str },
    /// Printing inks instead of red, green, blue.
    #[error("the {format} picture is stored as printing inks (CMYK), not as red, green and blue")]
    Inks { format: &'static str },
    /// A known format in a form that is not measured.
    #[error("the {format} picture has {form}, which is not measured")]
    FormUnsupported { format: &'static str, form: String },
    /// A colour profile that cannot be read or used. Reading on as sRGB would give wrong colours without a word.
    #[error("the colour profile in the {format} picture cannot be used: {cause}")]
    ProfileBroken { format: &'static str, cause: String },
    /// A colour profile for another kind of picture.
    #[error("the colour profile in the {format} picture is for {space}, but the picture is red, green and blue")]
    ProfileForeign { format: &'static str, space: &'static str },
    /// The decoder gave up in a way it should not.
    #[error("the {format} decoder broke down on this file")]
    DecoderFailed { format: &'static str },
}

/// Where the trouble lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// The path or the permissions: the file was not reached.
    Path,
    /// The file: damaged on its way.
    File,
    /// The choice: a whole file that is not a photo to measure.
    Choice,
    /// This program: it does not go further.
    Program,
}

impl PhotoError {
    /// The stable text form, such as `photo-torn`.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Unreadable { .. } => "photo-unreadable",
            Self::Folder { .. } => "photo-folder",
            Self::Empty => "photo-empty",
            Self::Blank { .. } => "photo-blank",
            Self::Text => "photo-text",
            Self::KindUnknown { .. } => "photo-kind-unknown",
            Self::KindUnsupported { .. } => "photo-kind-unsupported",
            Self::HeicLeftOut => "photo-heic-left-out",
            Self::FileTooLarge { .. } => "photo-file-too-large",
            Self::TooManyPixels { .. } => "photo-too-many-pixels",
            Self::NoPixels { .. } => "photo-no-pixels",
            Self::Torn { .. } => "photo-torn",
            Self::GreyOnly { .. } => "photo-grey-only",
            Self::Inks { .. } => "photo-inks",
            Self::FormUnsupported { .. } => "photo-form-unsupported",
            Self::ProfileBroken { .. } => "photo-profile-broken",
            Self::ProfileForeign { .. } => "photo-profile-foreign",
            Self::DecoderFailed { .. } => "photo-decoder-failed",
        }
    }

    /// What the keeper can do about it: one sentence.
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Unreadable { .. } => "Check the path and that you may read the file.",
            Self::Folder { .. } => "Name the photos in the folder, or let your shell name them all.",
            Self::Empty | Self::Blank { .. } | Self::Torn { .. } => {
                "Copy the photo from the phone again and wait until the copy is complete."
            }
            Self::Text | Self::KindUnknown { .. } => {
                "Give the photo as the phone saved it: JPEG, PNG, TIFF, WebP or HEIC."
            }
            Self::KindUnsupported { .. } => "Take a photo, or export this one as JPEG from the phone's gallery.",
            Self::HeicLeftOut => {
                "Set the phone's camera to save JPEG, export this photo as JPEG, or build with the feature `heic`."
            }
            Self::FileTooLarge { .. } | Self::TooManyPixels { .. } => {
                "Export the photo at a smaller size; about 12 million pixels are plenty."
            }
            Self::NoPixels { .. } => "Export the photo again from the phone's gallery; this copy holds no picture.",
            Self::GreyOnly { .. } => "Turn off the camera's black-and-white filter and retake the photo.",
            Self::Inks { .. } | Self::FormUnsupported { .. } => "Export the photo as an ordinary JPEG in colour.",
            Self::ProfileBroken { .. } | Self::ProfileForeign { .. } => {
                "Export the photo again as JPEG in sRGB from the phone's gallery."
            }
            Self::DecoderFailed { .. } => "Export the photo as JPEG, and report this file if you may share it.",
        }
    }

    /// Where the trouble lies.
    pub fn fault(&self) -> Fault {
        match self {
            Self::Unreadable { .. } | Self::Folder { .. } => Fault::Path,
            Self::Empty
            | Self::Blank { .. }
            | Self::Torn { .. }
            | Self::NoPixels { .. }
            | Self::ProfileBroken { .. } => Fault::File,
            Self::Text
            | Self::KindUnknown { .. }
            | Self::KindUnsupported { .. }
            | Self::GreyOnly { .. }
            | Self::Inks { .. }
            | Self::ProfileForeign { .. } => Fault::Choice,
            Self::HeicLeftOut
            | Self::FileTooLarge { .. }
            | Self::TooManyPixels { .. }
            | Self::FormUnsupported { .. }
            | Self::DecoderFailed { .. } => Fault::Program,
        }
    }
}
