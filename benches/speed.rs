//! One 12-megapixel JPEG from bytes to readings against a plain full decode of the same file, in one run.
//!
//! ```text
//! cargo bench --bench speed -- [FILE.jpg ..]
//! ```
//!
//! Without files a shipped photo, enlarged to 4032 × 3024 pixels, is taken. Everything runs on one thread; rounds are
//! interleaved, medians are compared. Nothing is asserted about time: machines differ, ratios tell.

use std::time::Instant;

use image::ImageEncoder;
use tintline::card::{self, Layout};
use tintline::curve::Kit;
use tintline::light::{Enrolment, Scene};
use tintline::numeric::robust::median;
use tintline::photo::{Limits, Photo};
use tintline::reading::{Ask, Job, read};
use tintline::sample::Samples;

const ROUNDS: usize = 9;
const STAGES: [&str; 9] = [
    "plain decode, jpeg-decoder",
    "plain decode, image",
    "decode at 1/2, jpeg-decoder",
    "decode at 1/4, jpeg-decoder",
    "photo",
    "card",
    "light",
    "samples",
    "bytes to readings",
];

fn main() {
    // Cargo passes `--bench`; only names of files count.
    let files: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    println!("References, one thread: jpeg-decoder 0.3.2 `Decoder::decode` (no rayon), image 0.25 `load_from_memory`.");
    if files.is_empty() {
        measure("shipped photo, enlarged", &enlarged());
    }
    for file in files {
        match std::fs::read(&file) {
            Ok(bytes) => measure(&file, &bytes),
            Err(e) => eprintln!("{file}: {e}"),
        }
    }
    if let Ok(status) = std::fs::read_to_string("/proc/self/status") {
        let peak = status.lines().find(|l| l.starts_with("VmHWM")).unwrap_or("VmHWM unknown");
        println!("Peak memory of this process, references included: {peak}");
    }
}

fn measure(name: &str, bytes: &[u8]) {
    let layout = Layout::first();
    let enrolment =
        Enrolment::from_toml(include_str!("../calibration/card/demo-print.toml")).expect("the shipped card");
    let reference = enrolment.reference(&layout).expect("the shipped card fits the layout");
    let kit = Kit::from_toml(include_str!("../calibration/kit/demo-vials.toml")).expect("the shipped kit");
    let asks: Vec<Ask> = [("A", "pH"), ("B", "ammonia"), ("C", "nitrate"), ("D", "nitrite")]
        .map(|(station, test)| Ask { station: station.into(), test: test.into(), dilution: None })
        .to_vec();
    let mut times: [Vec<f64>; STAGES.len()] = Default::default();
    let mut size = (0, 0);
    for _ in 0..ROUNDS {
        let mut stage = 0;
        let mut clock = |since: Instant| {
            times[stage].push(since.elapsed().as_secs_f64() * 1e3);
            stage += 1;
        };
        let t = Instant::now();
        let pixels = jpeg_decoder::Decoder::new(bytes).decode();
        clock(t);
        assert!(pixels.is_ok(), "the reference decoder takes the file");
        drop(pixels);
        let t = Instant::now();
        let pixels = image::load_from_memory(bytes);
        clock(t);
        assert!(pixels.is_ok(), "the reference decoder takes the file");
        drop(pixels);

        for part in [2, 4] {
            let t = Instant::now();
            let mut decoder = jpeg_decoder::Decoder::new(bytes);
            let size = decoder.read_info().ok().and_then(|()| decoder.info());
            let size = size.map(|i| (i.width / part, i.height / part)).expect("a sound header");
            let pixels = decoder.scale(size.0, size.1).and_then(|_| decoder.decode());
            clock(t);
            assert!(pixels.is_ok(), "the reference decoder takes the file");
        }

        let t = Instant::now();
        let photo = Photo::from_bytes(bytes, &Limits::default()).expect("a sound photo");
        clock(t);
        size = (photo.width(), photo.height());
        let t = Instant::now();
        let card = card::find(&photo, &layout).expect("a card in the photo");
        clock(t);
        let t = Instant::now();
        let scene = Scene::fit(&photo, &layout, &card, &reference).expect("even light");
        clock(t);
        let t = Instant::now();
        let samples = Samples::find(&photo, &layout, &card, &scene);
        clock(t);
        assert!(samples.all().count() > 0, "a vial in the photo");
        drop(photo);

        let t = Instant::now();
        let photo = Photo::from_bytes(bytes, &Limits::default()).expect("a sound photo");
        let reading =
            read(&Job { photo: &photo, layout: &layout, reference: &reference, kit: &kit, asks: &asks, clear: None });
        clock(t);
        assert_eq!(reading.samples.len(), asks.len());
    }
    let middle: Vec<f64> = times.iter().map(|t| median(t).unwrap_or(f64::NAN)).collect();
    println!("\n{name}: {} × {} pixels, {} kB, {ROUNDS} rounds, medians", size.0, size.1, bytes.len() / 1000);
    for (stage, ms) in STAGES.iter().zip(&middle) {
        println!("  {stage:<28} {ms:>7.1} ms  {:>5.2} × jpeg-decoder  {:>5.2} × image", ms / middle[0], ms / middle[1]);
    }
}

/// A shipped photo at the size phones take them.
fn enlarged() -> Vec<u8> {
    let small = image::load_from_memory(include_bytes!("../fixtures/photos/demo/friday.jpg")).expect("a shipped photo");
    // As stored, lying: its orientation tag is lost here, which the card does not mind.
    let large = image::imageops::resize(&small.to_rgb8(), 4032, 3024, image::imageops::FilterType::CatmullRom);
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 90)
        .write_image(large.as_raw(), 4032, 3024, image::ExtendedColorType::Rgb8)
        .expect("a JPEG");
    bytes
}
