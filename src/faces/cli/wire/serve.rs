//! `serve`.

use super::Document;
use crate::faces::web::{Code, Phone, Up};
use jiff::Timestamp;
use qrcode::render::unicode::Dense1x2;
use qrcode::{EcLevel, QrCode};
use serde::Serialize;
use std::io::{self, Write};

/// `serve`, as soon as it listens.
#[derive(Debug, Serialize)]
pub struct Serving {
    /// Where to find it, the best address first.
    pub addresses: Vec<String>,
    /// The code that pairs a phone; null where only this computer can come.
    pub code: Option<String>,
    /// When it serves no longer: then a new one is shown to whoever asks.
    pub code_until: Option<Timestamp>,
    /// Whether others on the network cannot read along.
    pub private: bool,
    #[serde(skip)]
    lan: bool,
    #[serde(skip)]
    square: bool,
}

/// Black and white whatever the terminal's own colours (the 256-colour forms of ECMA-48's 'select graphic rendition').
const INK: &str = "\u{1b}[38;5;16;48;5;231m";
const OFF: &str = "\u{1b}[0m";

impl Serving {
    pub(in crate::faces::cli) fn of(up: &Up, lan: bool, tls: bool, square: bool) -> Self {
        let (code, code_until) = (up.code.as_ref().map(|c| c.shown.clone()), up.code.as_ref().map(|c| c.until));
        Self { addresses: up.addresses.clone(), code, code_until, private: tls || !lan, lan, square }
    }

    /// The address as a QR code, with the pairing code behind a `#`, which a browser keeps to itself. A row of text is two of squares.
    fn square(&self) -> Option<String> {
        let (address, code) = (self.addresses.first()?, self.code.as_ref()?);
        let square = QrCode::with_error_correction_level(format!("{address}/pair#{code}"), EcLevel::L).ok()?;
        let rows = square.render::<Dense1x2>().build();
        Some(rows.lines().map(|row| format!("{INK}{row}{OFF}\n")).collect())
    }
}

impl Document for Serving {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "The page is at {}/", self.addresses.join("/ or "))?;
        if let Some(code) = &self.code {
            writeln!(out, "Each phone is asked once for this code: {code}")?;
            writeln!(out, "It serves for an hour; a phone that asks later finds a new one here.")?;
            if let Some(square) = self.square().filter(|_| self.square) {
                writeln!(out, "Or point the phone's camera at this:\n\n{square}")?;
            }
        }
        if self.lan && !self.private {
            writeln!(
                out,
                "This is plain HTTP: whoever is on the same network can read along. With --tls CERT KEY they cannot."
            )?;
        }
        writeln!(out, "Ctrl-C stops it.")
    }
}

/// `serve pair`.
#[derive(Debug, Serialize)]
pub struct PairingCode {
    /// The code.
    pub code: String,
    /// When it serves no longer.
    pub until: Timestamp,
}

impl PairingCode {
    pub(in crate::faces::cli) fn of(code: &Code) -> Self {
        Self { code: code.shown.clone(), until: code.until }
    }
}

impl Document for PairingCode {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "The code is {}. It pairs phones for an hour; the one before serves no longer.", self.code)
    }
}

/// `serve phones`.
#[derive(Debug, Serialize)]
pub struct PhoneList {
    /// Those that are let in.
    pub phones: Vec<PhoneOut>,
}

/// A paired phone.
#[derive(Debug, Serialize)]
pub struct PhoneOut {
    /// By which it can be forgotten; opens nothing.
    pub id: String,
    /// What the keeper called it.
    pub name: String,
    /// When it was paired.
    pub paired: Timestamp,
    /// When it last came, to a day.
    pub used: Timestamp,
}

impl PhoneList {
    pub(in crate::faces::cli) fn of(list: &[Phone]) -> Self {
        let out = |p: &Phone| PhoneOut { id: p.id.clone(), name: p.name.clone(), paired: p.paired, used: p.used };
        Self { phones: list.iter().map(out).collect() }
    }
}

impl Document for PhoneList {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.phones.is_empty() {
            return writeln!(out, "No phone is paired.");
        }
        for p in &self.phones {
            let day = |at: Timestamp| at.strftime("%-d %b %Y").to_string();
            writeln!(out, "{}  {}, paired {}, last here {}", p.id, p.name, day(p.paired), day(p.used))?;
        }
        Ok(())
    }
}

/// `serve forget`.
#[derive(Debug, Serialize)]
pub struct PhonesForgotten {
    /// The names of those that are asked for a code again.
    pub forgotten: Vec<String>,
}

impl Document for PhonesForgotten {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        match &self.forgotten[..] {
            [] => writeln!(out, "No phone was paired."),
            names => writeln!(out, "Forgotten: {}.", names.join(", ")),
        }
    }
}
