//! `serve`.

use super::Document;
use crate::faces::web::Up;
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
    /// Whether others on the network cannot read along.
    pub private: bool,
    #[serde(skip)]
    lan: bool,
}

impl Serving {
    pub(in crate::faces::cli) fn of(up: &Up, lan: bool, tls: bool) -> Self {
        Self { addresses: up.addresses.clone(), code: up.code.clone(), private: tls || !lan, lan }
    }

    /// The address, with the code behind a `#`, which a browser keeps to itself.
    fn square(&self) -> Option<String> {
        let (address, code) = (self.addresses.first()?, self.code.as_ref()?);
        let square = QrCode::with_error_correction_level(format!("{address}/pair#{code}"), EcLevel::L).ok()?;
        // Dark on light whatever the terminal's own colours: a light frame of full blocks around it.
        Some(square.render::<Dense1x2>().dark_color(Dense1x2::Dark).light_color(Dense1x2::Light).build())
    }
}

impl Document for Serving {
    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "The page is at {}/", self.addresses.join("/ or "))?;
        if let Some(code) = &self.code {
            writeln!(out, "Each phone is asked once for this code: {code}")?;
            if let Some(square) = self.square() {
                writeln!(out, "Or photograph this with the phone:\n\n{square}\n")?;
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
