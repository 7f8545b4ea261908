//! A page to look through what was read: `index.html` with its pictures beside it. It asks nothing of any network, is understood
//! without colour, and can be walked through by keyboard.

use crate::faces::cli::trouble::Trouble;
use crate::faces::cli::wire::{PhotoOut, SampleOut};
use crate::faces::markup::escape;
use crate::faces::overlay;
use crate::intake::Ready;
use crate::store;
use std::fmt::Write;
use std::path::Path;

/// Makes the folder, so that it is known before the work whether it can be written to.
pub(super) fn ready(dir: &Path) -> Result<(), Trouble> {
    let write = |source| Trouble::File { doing: "write", path: dir.into(), source };
    std::fs::create_dir_all(dir).map_err(write)?;
    tempfile::tempfile_in(dir).map(drop).map_err(write)
}

/// Draws what was read into a small copy of the photo and gives its name in the folder.
pub(super) fn picture(ready: &Ready, dir: &Path) -> Result<String, Trouble> {
    let bytes = overlay::small_jpeg(&overlay::draw_ready(ready))?;
    let path = dir.join(format!("{}.jpg", &ready.look.opened.photo.id()[..16]));
    store::write_atomic(&path, &bytes)?;
    Ok(path.file_name().unwrap_or_default().to_string_lossy().to_string())
}

/// Writes the page, whole or not at all.
pub(super) fn page(dir: &Path, photos: &[PhotoOut]) -> Result<(), Trouble> {
    Ok(store::write_atomic(&dir.join("index.html"), html(photos).as_bytes())?)
}

fn html(photos: &[PhotoOut]) -> String {
    let look = photos.iter().filter(|p| needs_look(p)).count();
    let mut out = String::from(HEAD);
    let _ = write!(
        out,
        "<header><h1>Photos read</h1><p>{} photos, {look} need a look.</p>\
         <p class=keys><kbd>j</kbd> next, <kbd>k</kbd> back, <kbd>n</kbd> next that needs a look, <kbd>o</kbd> only those</p>\
         <label><input type=checkbox id=only> Only photos that need a look</label></header>\n<main id=photos>\n",
        photos.len()
    );
    for (i, photo) in photos.iter().enumerate() {
        article(&mut out, i + 1, photo);
    }
    out.push_str("</main>\n");
    out.push_str(SCRIPT);
    out.push_str("</body></html>\n");
    out
}

fn needs_look(p: &PhotoOut) -> bool {
    p.error.is_some() || p.samples.iter().any(|s| word(s) != "read") || (p.known && !p.asides().is_empty())
}

/// How a sample stands, in a word.
fn word(s: &SampleOut) -> &'static str {
    match () {
        () if s.amount.status == "refused" => "not read",
        () if s.findings.iter().any(|f| f.severity == "doubt") => "in doubt",
        () if s.log.did == "left" => "not logged",
        () => "read",
    }
}

fn article(out: &mut String, number: usize, p: &PhotoOut) {
    let look = needs_look(p);
    let state = match () {
        () if p.error.is_some() => "set aside",
        () if look => "needs a look",
        () if p.known => "in the log before",
        () => "read",
    };
    let _ = write!(
        out,
        "<article id=p{number} tabindex=-1{}><h2>{number}. {} <span class=state>{state}</span></h2>\n<p>{}</p>\n",
        if look { " class=look" } else { "" },
        escape(&p.file),
        escape(&heading(p)),
    );
    if let Some(picture) = &p.picture {
        let _ = writeln!(
            out,
            "<figure><img src=\"{}\" loading=lazy alt=\"The photo with what was measured drawn into it\"></figure>",
            escape(picture)
        );
    }
    if let Some(e) = &p.error {
        let _ = writeln!(
            out,
            "<p><strong>{}.</strong> <code>{}</code><br>{}</p>",
            escape(&e.sentence),
            escape(&e.code),
            escape(&e.remedy)
        );
    }
    if !p.samples.is_empty() {
        out.push_str("<table><thead><tr><th scope=col>Station<th scope=col>Water<th scope=col>Test<th scope=col>Amount<th scope=col>State</tr></thead><tbody>\n");
        for s in &p.samples {
            let _ = writeln!(
                out,
                "<tr><th scope=row>{}<td>{}<td>{}<td>{}<td>{}</tr>",
                escape(&s.station),
                escape(&s.water()),
                escape(&s.test),
                escape(&s.amount.text),
                word(s)
            );
        }
        out.push_str("</tbody></table>\n");
    }
    let mut lines: Vec<String> = Vec::new();
    for (station, f) in p.samples.iter().flat_map(|s| s.refusal.iter().chain(&s.findings).map(move |f| (&s.station, f)))
    {
        let remedy = f.remedy.as_deref().unwrap_or_default();
        let weight = if f.severity == "doubt" { "Doubt" } else { "Note" };
        let line = format!(
            "{weight}, {}: {} <code>{}</code> {}",
            escape(station),
            escape(&f.sentence),
            escape(&f.code),
            escape(remedy)
        );
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines.extend(p.remarks.iter().chain(p.asides()).map(|r| escape(r)));
    if !lines.is_empty() {
        let _ = writeln!(out, "<ul><li>{}</ul>", lines.join("\n<li>"));
    }
    out.push_str("</article>\n");
}

fn heading(p: &PhotoOut) -> String {
    let mut said = Vec::new();
    said.extend(
        p.taken.as_ref().map(|t| format!("Taken {}{}", t.at, if t.certainty == "sure" { "" } else { ", unsure" })),
    );
    said.extend(p.tank.as_ref().map(|t| format!("tank '{t}'")));
    said.extend(p.kit.as_ref().map(|k| format!("kit '{}'", k.name)));
    said.extend(match (&p.rule, p.named_by) {
        (Some(rule), _) => Some(format!("said by {rule}")),
        (None, Some("labels")) => Some("said by labels".to_string()),
        _ => None,
    });
    said.join(" · ")
}

const HEAD: &str = "<!doctype html>
<html lang=en><head><meta charset=utf-8><meta name=viewport content=\"width=device-width, initial-scale=1\">
<meta name=referrer content=no-referrer><title>Photos read</title>
<style>
:root { color-scheme: light dark; }
body { font: 1rem/1.45 system-ui, sans-serif; margin: 0 auto; max-width: 60rem; padding: 1rem; }
header { border-bottom: 1px solid; margin-bottom: 1rem; }
kbd { border: 1px solid; border-radius: .2rem; padding: 0 .3rem; }
article { border: 1px solid; border-radius: .4rem; margin: 0 0 1.2rem; padding: .2rem 1rem .8rem; }
article.look { border-width: 4px; border-style: double; }
article:focus { outline: 3px solid; outline-offset: 3px; }
h2 { font-size: 1.1rem; overflow-wrap: anywhere; }
.state { border: 1px solid; border-radius: .2rem; font-weight: normal; padding: 0 .4rem; white-space: nowrap; }
.look .state { font-weight: bold; border-width: 2px; }
figure { margin: .5rem 0; } img { height: auto; max-height: 85vh; max-width: 100%; width: auto; }
table { border-collapse: collapse; } th, td { border-bottom: 1px solid; padding: .2rem .8rem .2rem 0; text-align: left; }
body.only article:not(.look) { display: none; }
</style></head><body>
";

const SCRIPT: &str = "<script>
const only = document.getElementById('only');
only.addEventListener('change', () => document.body.classList.toggle('only', only.checked));
let at = -1;
function go(step, look) {
  const all = [...document.querySelectorAll('article')];
  for (let i = at + step; i >= 0 && i < all.length; i += step) {
    if ((look || only.checked) && !all[i].classList.contains('look')) continue;
    at = i;
    all[i].focus();
    all[i].scrollIntoView();
    return;
  }
}
document.addEventListener('keydown', e => {
  if (e.ctrlKey || e.altKey || e.metaKey) return;
  if (e.key === 'j') go(1, false);
  else if (e.key === 'k') go(-1, false);
  else if (e.key === 'n') go(1, true);
  else if (e.key === 'o') only.click();
});
</script>
";
