//! What can go wrong between a photo and the log.

use super::{BackupError, ClearError, HandError, LabelError, RuleError, TableError};
use crate::curve::{KitError, SeriesError};
use crate::finding::Finding;
use crate::light::CardFileError;
use crate::log::{Id, LogError};
use crate::photo::PhotoError;
use crate::store::StoreError;
use crate::water::standards::StandardsError;
use crate::water::{AmountError, DilutionError, TypedError, UnitError};
use std::io;
use std::path::{Path, PathBuf};

/// Something that could not be done.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum IntakeError {
    /// The home folder cannot be made or looked into.
    #[error("the folder {} cannot be used: {source}", path.display())]
    Home { path: PathBuf, source: io::Error },
    /// A photo that cannot be opened.
    #[error("{}", photo_text(path, source))]
    Photo { path: PathBuf, source: PhotoError },
    /// Nobody says when the photo was taken.
    #[error("{} does not say when it was taken", path.display())]
    NoTime { path: PathBuf },
    /// Nobody has looked at what was read so far.
    #[error("{most} photos wait to be looked at, and no more are taken")]
    TooManyWaiting { most: usize },
    /// Not one of the forms of a time.
    #[error("'{typed}' is no date and time")]
    At { typed: String },
    /// Not a length of time.
    #[error("'{typed}' is no length of time")]
    ClockOffset { typed: String },

    /// Nothing of this kind has been made yet.
    #[error("there is no {what} yet")]
    NoneYet { what: &'static str },
    /// No name given, and more than one to choose from.
    #[error("there are several {what}s, and it was not said which: {}", known.join(", "))]
    Which { what: &'static str, known: Vec<String> },
    /// No such name.
    #[error("there is no {what} '{name}'; there {}", listed(known))]
    Unknown { what: &'static str, name: String, known: Vec<String> },

    /// The name has been given before.
    #[error("there is a {what} named '{name}' already")]
    Taken { what: &'static str, name: String },
    /// Nothing says what the photo shows.
    #[error("it was not said what stands at the stations")]
    NoSamples { known: Vec<String> },
    /// A pad with the test of another.
    #[error("{station} of this kit's strips is '{own}', not '{typed}'")]
    PadTest { station: String, own: String, typed: String },
    /// Not `STATION=TEST`.
    #[error("'{typed}' does not say which test stands at which station")]
    Sample { typed: String, form: &'static str },
    /// The card has no such station.
    #[error("the card has no station '{station}'; it has {}", known.join(", "))]
    Station { station: String, known: Vec<String> },
    /// One vial cannot hold two tests.
    #[error("the station {station} is named twice")]
    StationTwice { station: String },
    /// The kit has no such test.
    #[error("the kit '{kit}' has no test '{typed}'; it {}", has(known))]
    Test { typed: String, kit: String, known: Vec<String> },
    /// The beginning of several tests' names.
    #[error("'{typed}' can be {}", fits.join(" or "))]
    TestAmbiguous { typed: String, fits: Vec<String> },
    /// A test's name that the command line could not name again.
    #[error("a test cannot be called '{name}'")]
    TestName { name: String },
    /// The part after the colon.
    #[error("{typed}: {source}")]
    Dilution { typed: String, source: DilutionError },
    /// pH is no concentration.
    #[error("{typed}: {source}")]
    NoDilution { typed: String, source: Box<AmountError> },
    /// A standard's concentration.
    #[error("{typed}: {source}")]
    Value { typed: String, source: Box<TypedError> },

    /// Words that stand on several labels.
    #[error("'{typed}' can be the label {}", fits.join(" or "))]
    LabelWhich { typed: String, fits: Vec<String> },
    /// What labels say.
    #[error("{}: {source}", path.display())]
    Labels { path: PathBuf, source: LabelError },
    /// Labels, where no photo is at hand.
    #[error(transparent)]
    Label(#[from] LabelError),
    /// The clear vial.
    #[error(transparent)]
    Clear(#[from] ClearError),
    /// Nothing was typed, and what the photo shows cannot be seen in it.
    #[error("{}: {}", path.display(), finding.sentence.trim_end_matches('.'))]
    Unseen { path: PathBuf, finding: Finding },
    /// Neither labels nor words nor rules.
    #[error("nothing says what {} shows: no labels, no rule, no row in {}", path.display(), super::SIDECAR)]
    Unsaid { path: PathBuf },
    /// Another photo says it already, taken in the same second.
    #[error(
        "{} and another photo in the log were taken of the same water by the test '{test}' in the same second: is it the same \
         photo, saved anew?",
        path.display()
    )]
    Twin { path: PathBuf, test: String, reading: Id, photo: String },
    /// Rules, or a table beside photos.
    #[error(transparent)]
    Rules(#[from] RuleError),
    /// The photo was logged as another tank's.
    #[error("{} is in the log already, as of {logged}", path.display())]
    OtherTank { path: PathBuf, logged: String, hash: String },
    /// A photo to be read again that the log does not know.
    #[error("{} is not in the log", path.display())]
    NotLogged { path: PathBuf },
    /// The kit's colours are in another card's space.
    #[error("the kit '{kit}' was calibrated with {own}, not with {given}")]
    KitCard { kit: String, own: String, given: String },

    /// The card was enrolled anew since the kit was calibrated.
    #[error("the card was enrolled anew since the kit '{kit}' was calibrated")]
    CardRenewed { kit: String },
    /// Something stands before the first photo.
    #[error("'{typed}' stands before the first photo")]
    BeforePhoto { typed: String },
    /// Photos by two phones, where one is to be carried over to.
    #[error("the photos are by two phones: {one}, and {other}")]
    TwoCameras { one: String, other: String },
    /// Nothing to carry over to.
    #[error("the kit '{kit}' is calibrated with this card, this phone and these bottles: nothing is new")]
    NothingNew { kit: String },
    /// A zero standard shows nothing of a dead reagent.
    #[error("a dead reagent reads a zero standard as well as a good one does")]
    ZeroControl,

    /// A kit's file.
    #[error("the kit '{name}': {source}")]
    KitFile { name: String, source: Box<KitError> },
    /// A kit's file that was to be taken in.
    #[error("{}: {source}", path.display())]
    KitImport { path: PathBuf, source: Box<KitError> },
    /// A card's file.
    #[error("the card '{name}': {source}")]
    CardFile { name: String, source: CardFileError },
    /// A change to a kit.
    #[error(transparent)]
    Kit(Box<KitError>),
    /// A unit or an analyte as typed.
    #[error(transparent)]
    Unit(Box<UnitError>),
    /// A diluted sample without a level.
    #[error(transparent)]
    Series(#[from] SeriesError),
    /// Standards that cannot be made.
    #[error(transparent)]
    Standards(#[from] StandardsError),
    /// What was typed by hand.
    #[error(transparent)]
    Hand(Box<HandError>),
    /// A table to be taken in.
    #[error(transparent)]
    Table(Box<TableError>),
    /// A backup.
    #[error(transparent)]
    Backup(#[from] BackupError),
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error(transparent)]
    Log(#[from] LogError),
}

/// Where the trouble lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// In what was asked for: a name, a number, a unit.
    Asked,
    /// In a photo or another file that was given.
    Input,
    /// In the log or in what is kept at home.
    Storage,
}

impl IntakeError {
    /// Where the trouble lies.
    pub fn fault(&self) -> Fault {
        match self {
            Self::Home { .. } | Self::KitFile { .. } | Self::CardFile { .. } => Fault::Storage,
            Self::Photo { .. } | Self::NoTime { .. } | Self::OtherTank { .. } | Self::NotLogged { .. } => Fault::Input,
            Self::KitImport { .. } | Self::Labels { .. } | Self::Unseen { .. } => Fault::Input,
            Self::Unsaid { .. } | Self::Twin { .. } => Fault::Input,
            Self::Table(e) => match **e {
                TableError::Malformed { .. } | TableError::Empty => Fault::Input,
                TableError::DateMixed { .. } | TableError::WrongRows { .. } => Fault::Input,
                _ => Fault::Asked,
            },
            Self::Backup(e) => match e {
                BackupError::Exists { .. } | BackupError::Inside { .. } | BackupError::Empty { .. } => Fault::Asked,
                BackupError::File { doing, .. } if *doing != "read" => Fault::Storage,
                _ => Fault::Input,
            },
            Self::Store(e) => match e {
                StoreError::Name { .. } | StoreError::NameTaken { .. } => Fault::Asked,
                StoreError::NothingKept { .. } | StoreError::NoRevision { .. } => Fault::Asked,
                _ => Fault::Storage,
            },
            Self::Log(e) => match e {
                LogError::Newer { .. }
                | LogError::Damaged { .. }
                | LogError::Foreign { .. }
                | LogError::Unwritable { .. }
                | LogError::Full { .. }
                | LogError::Busy { .. }
                | LogError::Failed { .. }
                | LogError::Export { .. } => Fault::Storage,
                LogError::ImportFormat { .. } | LogError::ImportNewer { .. } | LogError::ImportConflict { .. } => {
                    Fault::Input
                }
                _ => Fault::Asked,
            },
            _ => Fault::Asked,
        }
    }

    /// Stable text form.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Home { .. } => "home-unusable",
            Self::Photo { source, .. } => source.code(),
            Self::NoTime { .. } => "time-missing",
            Self::TooManyWaiting { .. } => "photos-waiting",
            Self::At { .. } => "time-malformed",
            Self::ClockOffset { .. } => "clock-offset-malformed",
            Self::NoneYet { .. } => "name-none-yet",
            Self::Which { .. } => "name-ambiguous",
            Self::Unknown { .. } => "name-unknown",
            Self::Taken { .. } => "name-taken",
            Self::NoSamples { .. } => "samples-missing",
            Self::PadTest { .. } => "pad-test",
            Self::Sample { .. } => "sample-malformed",
            Self::Station { .. } => "station-unknown",
            Self::StationTwice { .. } => "station-twice",
            Self::Test { .. } => "test-unknown",
            Self::TestAmbiguous { .. } => "test-ambiguous",
            Self::TestName { .. } => "test-name",
            Self::Dilution { source, .. } => source.code(),
            Self::NoDilution { source, .. } => source.code(),
            Self::Value { source, .. } => source.code(),
            Self::LabelWhich { .. } => "label-ambiguous",
            Self::Labels { source, .. } | Self::Label(source) => source.code(),
            Self::Clear(e) => e.code(),
            Self::Unseen { finding, .. } => finding.code.as_str(),
            Self::Unsaid { .. } => "photo-unsaid",
            Self::Twin { .. } => "photo-twin",
            Self::Rules(e) => e.code(),
            Self::OtherTank { .. } => "photo-other-tank",
            Self::NotLogged { .. } => "photo-not-logged",
            Self::KitCard { .. } => "kit-other-card",
            Self::CardRenewed { .. } => "kit-card-renewed",
            Self::BeforePhoto { .. } => "sample-before-photo",
            Self::TwoCameras { .. } => "photos-two-phones",
            Self::NothingNew { .. } => "adopt-nothing-new",
            Self::ZeroControl => "control-zero",
            Self::KitFile { source, .. } | Self::KitImport { source, .. } | Self::Kit(source) => source.code(),
            Self::CardFile { source, .. } => source.code(),
            Self::Unit(e) => e.code(),
            Self::Series(e) => e.code(),
            Self::Standards(e) => e.code(),
            Self::Hand(e) => e.code(),
            Self::Table(e) => e.code(),
            Self::Backup(e) => e.code(),
            Self::Store(e) => e.code(),
            Self::Log(e) => e.code(),
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        let s = match self {
            Self::Home { .. } => "Name a folder that you may write to with --home.",
            Self::Photo { source, .. } => source.remedy(),
            Self::NoTime { .. } => {
                "Say when with --at, such as --at '2026-03-01 18:30' or --at now; --file-time takes the file's own time."
            }
            Self::TooManyWaiting { .. } => "Keep or discard some of those that were read, then send the rest.",
            Self::At { .. } => "Write 2026-03-01 18:30, 18:30 for the last time it was that late, or now.",
            Self::ClockOffset { .. } => "Write what to add to the phone's clock, such as 1h, -25m or '-1d 2h'.",
            Self::NoneYet { what: "tank" } => "Add it: tintline tank add NAME --water fresh",
            Self::NoneYet { what: "kit" } => "Make one: tintline kit new NAME, then tintline kit add-test and kit add",
            Self::NoneYet { what: "label" } => "Print some: tintline card labels print",
            Self::NoneYet { .. } => "Enrol one: tintline card enrol PHOTO..",
            Self::Which { what, .. } => return format!("Name it with --{what}."),
            Self::Unknown { .. } => "Write the name as listed, or make it first.",
            Self::Taken { .. } => "Choose another name.",
            Self::PadTest { own, .. } => return format!("Name the test alone, {own}=VALUE, or correct the kit."),
            Self::NoSamples { known } if known.is_empty() => "Add tests to the kit first: tintline kit add-test",
            Self::NoSamples { known } => {
                return format!(
                    "Write STATION=TEST, such as A={}, or lay labels; the kit's tests: {}.",
                    known[0],
                    known.join(", ")
                );
            }
            Self::Sample { form, .. } => return format!("Write {form}."),
            Self::Station { .. } => "Use one of the letters printed below the bay.",
            Self::StationTwice { .. } => "Name each station once; one vial holds one test.",
            Self::Test { .. } => "Write one of the kit's tests, or add the test first.",
            Self::TestAmbiguous { .. } => "Write more of the name.",
            Self::TestName { .. } => "Leave out = and :, which part station, test and dilution when reading.",
            Self::Dilution { source, .. } => return source.remedy(),
            Self::NoDilution { source, .. } => return source.remedy(),
            Self::Value { source, .. } => return source.remedy(),
            Self::LabelWhich { .. } => "Give the end of its id, as tintline card labels list shows it.",
            Self::Labels { source, .. } | Self::Label(source) => source.remedy(),
            Self::Clear(e) => e.remedy(),
            Self::Unseen { finding, .. } => finding.remedy(),
            Self::Unsaid { .. } => {
                "What does it show? Say it: tintline read PHOTO A=ammonia; or write a rule into rules.toml in the home folder."
            }
            Self::Twin { reading, .. } => {
                return format!(
                    "If it is another one, log it with --twins; the reading in the log is {}.",
                    reading.short()
                );
            }
            Self::Rules(e) => return e.remedy(),
            Self::OtherTank { hash, .. } => {
                return format!("To log it elsewhere, first undo it: tintline log undo --photo {}", &hash[..12]);
            }
            Self::NotLogged { .. } => "Read it without --again, saying what stands at the stations.",
            Self::KitCard { kit, .. } => {
                return format!(
                    "Use that card; if its print was enrolled only now, measure the kept photos again: tintline kit remeasure {kit}; else make a new kit."
                );
            }
            Self::CardRenewed { kit } => {
                return format!(
                    "If it is the same print, measure the kept photos again: tintline kit remeasure {kit}; else carry the kit over: \
                     tintline kit adopt {kit}"
                );
            }
            Self::BeforePhoto { .. } => {
                "Write each photo first, then what stands in it: zero.jpg B=ammonia:0 half.jpg B=ammonia:0.5"
            }
            Self::TwoCameras { .. } => "Carry the kit over to one phone at a time.",
            Self::NothingNew { .. } => "To see whether it still reads right, check it: tintline kit control",
            Self::ZeroControl => "Check with a standard that holds some, best in the upper half of the scale.",
            Self::KitFile { source, .. } | Self::KitImport { source, .. } | Self::Kit(source) => {
                return source.remedy();
            }
            Self::CardFile { source, .. } => source.remedy(),
            Self::Unit(e) => return e.remedy(),
            Self::Series(e) => e.remedy(),
            Self::Standards(e) => return e.remedy(),
            Self::Hand(e) => return e.remedy(),
            Self::Table(e) => return e.remedy(),
            Self::Backup(e) => e.remedy(),
            Self::Store(e) => e.remedy(),
            Self::Log(e) => e.remedy(),
        };
        s.to_string()
    }
}

impl From<KitError> for IntakeError {
    fn from(e: KitError) -> Self {
        Self::Kit(Box::new(e))
    }
}

impl From<UnitError> for IntakeError {
    fn from(e: UnitError) -> Self {
        Self::Unit(Box::new(e))
    }
}

impl From<TableError> for IntakeError {
    fn from(e: TableError) -> Self {
        Self::Table(Box::new(e))
    }
}

impl From<HandError> for IntakeError {
    fn from(e: HandError) -> Self {
        Self::Hand(Box::new(e))
    }
}

fn photo_text(path: &Path, source: &PhotoError) -> String {
    match source {
        // These two name the path themselves.
        PhotoError::Unreadable { .. } | PhotoError::Folder { .. } => source.to_string(),
        _ => format!("{}: {source}", path.display()),
    }
}

fn listed(known: &[String]) -> String {
    match known {
        [] => "is none yet".into(),
        [one] => format!("is: {one}"),
        all => format!("are: {}", all.join(", ")),
    }
}

fn has(known: &[String]) -> String {
    if known.is_empty() { "has none yet".into() } else { format!("has {}", known.join(", ")) }
}
