//! `kit check --vision`: which shades look alike, to whom.

use crate::curve::{Kit, vision};
use crate::faces::cli::trouble::{Exit, Trouble};
use crate::faces::cli::wire::KitVision;
use crate::faces::cli::world::World;
use crate::faces::print::{self, Series};
use crate::intake::Kept;
use std::path::{Path, PathBuf};

pub(super) fn vision(kit: &Kept<Kit>, picture: Option<PathBuf>, world: &mut World) -> Result<Exit, Trouble> {
    let of = |test| {
        let shades = vision::shades(test);
        let pairs = vision::pairs(&shades);
        (shades, pairs)
    };
    let seen: Vec<_> = kit.value.tests.iter().map(of).collect();
    if let Some(path) = &picture {
        let series = kit.value.tests.iter().zip(&seen).filter(|(_, (shades, _))| !shades.is_empty());
        let series = series.map(|(test, (shades, pairs))| Series {
            title: match test.unit.as_str() {
                unit if unit == test.name => test.name.clone(),
                unit => format!("{} ({unit})", test.name),
            },
            shades: shades.clone(),
            pairs: pairs.clone(),
        });
        let series: Vec<Series> = series.collect();
        let bytes = match ending(path)?.as_str() {
            "svg" => print::shades_svg(&series).into_bytes(),
            _ => print::shades_png(&series)?,
        };
        std::fs::write(path, bytes).map_err(|source| Trouble::File { doing: "write", path: path.clone(), source })?;
    }
    world.show(&KitVision::of(kit, &seen, picture.map(|p| p.display().to_string())))?;
    Ok(Exit::Done)
}

fn ending(path: &Path) -> Result<String, Trouble> {
    let ending = path.extension().map(|e| e.to_string_lossy().to_ascii_lowercase()).unwrap_or_default();
    match ending.as_str() {
        "png" | "svg" => Ok(ending),
        _ => {
            let sentence = format!("{} does not say what kind of picture it is to be", path.display());
            Err(Trouble::usage(sentence, "Give it a name that ends with .png or .svg."))
        }
    }
}
