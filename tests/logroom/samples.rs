//! Photos of one sample give one answer, whatever the order in which they came into the log.

use super::*;
use jiff::ToSpan;
use tintline::finding::{Code, Finding};

const WINDOW: [f64; 9] = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0];

/// One photo: name, station, minutes after noon, what it says.
#[derive(Clone)]
struct Photo(&'static str, &'static str, i64, Outcome, Vec<Finding>);

fn some(name: &'static str, minutes: i64, value: f64) -> Photo {
    Photo(name, "B", minutes, Outcome::Read(measured(value, value - 1.0, value + 1.0, &nitrate().unit)), Vec::new())
}

fn refused(name: &'static str, minutes: i64) -> Photo {
    let why = vec![Finding::doubt(Code::PhotoBlurred, "it is blurred")];
    Photo(name, "B", minutes, Outcome::Refused(why.clone()), why)
}

fn enter(log: &mut Log, tank: Id, p: &Photo) -> Added {
    let taken = Moment { source: TimeSource::ExifOffset, ..moment(NOW) };
    let taken = Moment { instant: taken.instant + p.2.minutes(), ..taken };
    let reading = from_photo(1.0, p.0, p.1, "kit-1");
    let light = Some(WINDOW.to_vec());
    let reading = NewReading { outcome: p.3.clone(), findings: p.4.clone(), light, ..reading };
    let sample = NewSample { photo: Some(taken), ..NewSample::new(Target::Tank(tank), moment(NOW)) };
    log.write(at("2026-03-02T12:00:00Z"), |w| w.add_reading(Whose::New(&sample), &reading)).unwrap()
}

fn answers(log: &Log) -> Vec<Reading> {
    log.samples(&Filter::default(), &|_| None).unwrap()
}

/// Amount, photos and findings of each answer, after entering in an order.
fn in_order<'p>(photos: impl Iterator<Item = &'p Photo>) -> Vec<(String, Timestamp, usize, Vec<String>)> {
    let (mut log, hall) = fresh();
    photos.for_each(|p| {
        enter(&mut log, hall, p);
    });
    let one = |r: Reading| {
        let codes = r.findings.iter().map(|f| f.code.clone()).collect();
        (r.amount.map_or("refused".into(), |a| a.to_string()), r.sample.at().instant, r.photos.len(), codes)
    };
    answers(&log).into_iter().map(one).collect()
}

#[test]
fn the_order_of_entry_does_not_matter() {
    // Two of one sample, a retake, one of the next sample 11 minutes after the first, one that was refused.
    let photos = [
        some("a", 0, 10.0),
        some("b", 8, 10.4),
        refused("c", 9),
        some("d", 11, 20.0),
        some("e", 19, 20.4),
        some("f", 40, 5.0),
    ];
    let forth = in_order(photos.iter());
    assert_eq!(forth.iter().map(|a| a.2).collect::<Vec<_>>(), [3, 2, 0]);
    // Equal weights; 1 × √((1 + 0.9) / 2) = 0.975.
    assert_eq!(forth[0].0, "10.2 mg/L NO3- (9.2 to 11.2)");
    assert_eq!(in_order(photos.iter().rev()), forth);
    let mixed = [3, 0, 5, 2, 4, 1].map(|i| &photos[i]);
    assert_eq!(in_order(mixed.into_iter()), forth);
}

#[test]
fn a_retake_joins_what_was_refused() {
    let (mut log, hall) = fresh();
    enter(&mut log, hall, &refused("a", 0));
    assert_eq!(answers(&log)[0].status, Status::Refused);
    let retake = enter(&mut log, hall, &some("b", 3, 10.0));
    let all = answers(&log);
    assert_eq!((all.len(), all[0].status, all[0].id, all[0].photos.len()), (1, Status::Measured, retake.id, 2));
    assert!(!all[0].is_doubtful(), "what the refused photo had is not on the retake");
    // The time of the sample is that of its first photo.
    assert_eq!(all[0].sample.at().instant, at(NOW));
    // Each photo's reading stays as it was.
    assert_eq!(log.readings(&Filter::default()).unwrap().len(), 2);
    undo(&mut log, Undo::Entry(retake.id));
    assert_eq!((answers(&log).len(), answers(&log)[0].status), (1, Status::Refused));
}

#[test]
fn two_vials_in_a_photo_are_two_samples_and_stay_two_in_a_retake() {
    let at_station =
        |name, station, minutes, value| Photo(name, station, minutes, some(name, minutes, value).3, Vec::new());
    let photos = [
        at_station("a", "A", 0, 10.0),
        at_station("a", "C", 0, 30.0),
        at_station("b", "A", 2, 10.2),
        at_station("b", "C", 2, 30.2),
    ];
    let said: Vec<_> = in_order(photos.iter()).into_iter().map(|a| (a.0, a.2)).collect();
    assert_eq!(said[0], ("10.1 mg/L NO3- (9.1 to 11.1)".to_string(), 2));
    assert_eq!(said[1], ("30.1 mg/L NO3- (29.1 to 31.1)".to_string(), 2));
    assert_eq!(said.len(), 2);
}

#[test]
fn what_does_not_fit_is_named_and_puts_all_in_doubt() {
    let (mut log, hall) = fresh();
    for p in [some("a", 0, 10.0), some("b", 1, 10.1), some("c", 2, 25.0)] {
        enter(&mut log, hall, &p);
    }
    let all = answers(&log);
    assert_eq!(all.len(), 1);
    assert!(all[0].is_doubtful());
    let odd = all[0].findings.iter().find(|f| f.known() == Some(Code::SamplePhotosDiffer)).unwrap();
    let c = log.readings(&Filter::default()).unwrap()[2].id.short();
    assert!(odd.sentence.contains("13:02:00") && odd.sentence.contains(&c), "{}", odd.sentence);
    let Some(Amount::Measured { value, interval95 }) = &all[0].amount else { panic!("{all:?}") };
    assert!((value.value - 10.05).abs() < 1e-9 && interval95.upper() == 26.0, "{value:?} {interval95:?}");
}

#[test]
fn the_kits_window_and_what_tells_samples_apart_hold() {
    let (mut log, hall) = fresh();
    for p in [some("a", 0, 10.0), some("b", 4, 10.4)] {
        enter(&mut log, hall, &p);
    }
    assert_eq!(answers(&log).len(), 1);
    assert_eq!(log.samples(&Filter::default(), &|_| Some(3.0)).unwrap().len(), 2);
    // With the whole history nothing is combined; a filter is for the answers, not for their photos.
    let history = Filter { show: Show::History, ..Filter::default() };
    assert_eq!(log.samples(&history, &|_| None).unwrap().len(), 2);
    let late = Filter { since: Some(at(NOW) + 2.minutes()), ..Filter::default() };
    assert_eq!(log.samples(&late, &|_| None).unwrap().len(), 0);
    let last = Filter { last: Some(1), ..Filter::default() };
    assert_eq!(log.samples(&last, &|_| None).unwrap()[0].photos.len(), 2);
    // Another water, another lot, values by hand are other samples.
    let other = tank(&mut log, "Pool");
    enter(&mut log, other, &some("c", 1, 10.0));
    add(&mut log, hall, NOW, &by_eye(10.0));
    let new_lot = from_photo(10.0, "d", "B", "kit-2");
    let sample = NewSample { photo: Some(moment(NOW)), ..NewSample::new(Target::Tank(hall), moment(NOW)) };
    log.write(at(NOW), |w| w.add_reading(Whose::New(&sample), &new_lot)).unwrap();
    assert_eq!(answers(&log).len(), 4);
    // The keeper's word joins a photo of another time.
    let first = log.readings(&Filter { photo: Some("a".into()), ..Filter::default() }).unwrap().remove(0);
    let later = from_photo(10.2, "e", "C", "kit-1");
    log.write(at(NOW), |w| w.add_reading(Whose::Sample(first.sample.id), &later)).unwrap();
    let joined = answers(&log).into_iter().find(|r| r.photos.contains(&first.id)).unwrap();
    assert_eq!((answers(&log).len(), joined.photos.len()), (4, 3));
}

#[test]
fn doubtful_photos_do_not_become_sure_together() {
    let doubt = || vec![Finding::doubt(Code::SampleNeighbour, "a red vial stands next to it")];
    let pale = |name, minutes| Photo(name, "B", minutes, some(name, minutes, 10.0).3, doubt());
    let (mut log, hall) = fresh();
    for p in [pale("a", 0), pale("b", 1), pale("c", 2)] {
        enter(&mut log, hall, &p);
    }
    let all = answers(&log);
    assert!(all[0].is_doubtful() && all.len() == 1);
    let Some(Amount::Measured { interval95: i, .. }) = &all[0].amount else { panic!("{all:?}") };
    assert!((i.lower() - 9.0).abs() < 1e-9 && (i.upper() - 11.0).abs() < 1e-9, "no narrower than each: {i:?}");
    assert_eq!(all[0].findings.len(), 1, "said once");
    // A clean retake frees it.
    enter(&mut log, hall, &some("d", 3, 10.2));
    assert!(!answers(&log)[0].is_doubtful());
}

#[test]
fn the_keepers_judgement_stands_over_all_photos_of_a_sample() {
    let (mut log, hall) = fresh();
    for p in [some("a", 0, 10.0), some("b", 1, 10.4)] {
        enter(&mut log, hall, &p);
    }
    let shown = answers(&log).remove(0);
    let own = measured(5.0, 4.0, 6.0, &nitrate().unit);
    let correction = log.write(at(NOW), |w| w.correct(shown.id, &own, Some("5"), "the cap was red")).unwrap();
    let all = answers(&log);
    assert_eq!((all.len(), all[0].origin, all[0].amount.as_ref()), (1, Origin::Correction, Some(&own)));
    let before = all[0].instead_of.as_ref().unwrap();
    assert_eq!(before.amount, shown.amount);
    assert_eq!(all[0].photos.len(), 2);
    assert_eq!(log.judged(correction).unwrap().instead_of.unwrap().amount.unwrap().level().value, 10.0);
    // A third photo joins what was judged, and does not overrule it.
    enter(&mut log, hall, &some("c", 2, 10.2));
    let all = answers(&log);
    assert_eq!((all.len(), all[0].amount.as_ref(), all[0].photos.len()), (1, Some(&own), 3));
    undo(&mut log, Undo::Entry(correction));
    let all = answers(&log);
    assert_eq!((all[0].origin, all[0].instead_of.as_ref()), (Origin::Photo, None));
    assert!((all[0].amount.as_ref().unwrap().level().value - 10.2).abs() < 1e-9);
}
