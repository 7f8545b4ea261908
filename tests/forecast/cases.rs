//! When no date is given, and why.

use jiff::{SignedDuration, Timestamp};
use tintline::advice::forecast::Reached;
use tintline::advice::*;
use tintline::water::Span;

fn at(day: f64) -> Timestamp {
    "2026-03-01T18:00:00Z".parse::<Timestamp>().unwrap() + SignedDuration::from_secs_f64(day * 86_400.0)
}

struct Story(Book);

impl Story {
    fn new(animals: Animals) -> Self {
        Self(Book::new(Facts {
            animals,
            litres: Some(100.0),
            planted: Some(false),
            ..Facts::new("tank", Water::Fresh)
        }))
    }

    /// A value with a tenth either way; 0 is none below half the first standard.
    fn read(&mut self, day: f64, kind: Kind, x: f64) -> &mut Measured {
        let (span, shown) = match x {
            0.0 => (Span::between(0.0, kind.first_standard() / 2.0), Shown::None),
            _ => (Span { low: 0.9 * x, best: Some(x), high: 1.1 * x }, Shown::Some),
        };
        let entry = format!("r{}", self.0.readings.len());
        self.0.readings.push(Measured::new(&entry, at(day), kind, span, shown));
        self.0.readings.last_mut().unwrap()
    }

    fn pair(&mut self, day: f64, ammonia: f64, nitrite: f64) {
        self.read(day, Kind::Ammonia, ammonia);
        self.read(day, Kind::Nitrite, nitrite);
    }

    fn happens(&mut self, day: f64, what: Happened) {
        let entry = format!("e{}", self.0.events.len());
        self.0.events.push(Happening { entry, at: at(day), what, words: String::new() });
    }

    fn ask(&self, day: f64) -> Forecast {
        forecast(&self.0, at(day), 3)
    }
}

fn why(f: &Forecast) -> &'static str {
    match f.finish.when {
        When::Unknown(why) => why.code(),
        When::Done => "done",
        When::Range { .. } => "range",
    }
}

fn words(f: &Forecast) -> String {
    f.finish.statements.iter().chain(&f.nitrate.statements).map(|s| s.words.as_str()).collect::<Vec<_>>().join("\n")
}

#[test]
fn nothing_is_forecast_from_nothing() {
    let s = Story::new(Animals::None);
    assert_eq!(why(&s.ask(0.0)), "not-fallen");
    assert!(words(&s.ask(0.0)).contains("ammonia was never tested"));
    assert_eq!(s.ask(0.0).nitrate.without_changes, Reached::Unknown);
}

/// Within their bounds the tests agree, so nothing has fallen; a fall that a water change makes is none; a clear one is.
#[test]
fn no_date_before_ammonia_has_measurably_fallen() {
    let mut s = Story::new(Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    s.pair(0.1, 2.0, 0.0);
    s.pair(3.0, 2.1, 0.0);
    s.pair(6.0, 1.8, 0.3);
    assert_eq!(why(&s.ask(6.1)), "not-fallen");
    assert!(words(&s.ask(6.1)).contains("more than its tests may err"));
    s.happens(6.5, Happened::Changed(Some(0.5)));
    s.pair(7.0, 1.0, 0.2);
    assert_eq!(why(&s.ask(7.1)), "not-fallen");
    s.pair(9.0, 0.5, 1.2);
    assert_eq!(why(&s.ask(9.1)), "early");
    assert!(words(&s.ask(9.1)).contains("In the first two weeks"));
    s.pair(12.0, 0.2, 2.4);
    s.pair(15.0, 0.0, 1.0);
    let f = s.ask(15.1);
    let When::Range { early, middle, late } = f.finish.when else { panic!("{f:?}") };
    assert!(at(15.1) < early && early <= middle.unwrap() && late.is_none_or(|l| middle.unwrap() < l));
    // It rests on the readings that show the fall.
    assert!(f.finish.statements[0].rests_on.iter().any(|b| b.at == at(9.0)), "{:?}", f.finish.statements[0]);
    assert!(f.finish.statements.iter().any(|s| s.rule == Rule::Proof));
}

#[test]
fn a_doubtful_none_is_no_fall() {
    let mut s = Story::new(Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    s.pair(0.1, 2.0, 0.0);
    s.pair(3.0, 2.0, 0.0);
    s.read(6.0, Kind::Ammonia, 0.0).doubtful = true;
    s.read(6.0, Kind::Nitrite, 0.0);
    assert_eq!(why(&s.ask(6.1)), "not-fallen");
}

#[test]
fn a_cycle_that_stands_still_has_no_date_but_causes() {
    let mut s = Story::new(Animals::None);
    s.happens(0.0, Happened::Dosed(Some(3.0)));
    s.pair(0.1, 3.0, 0.0);
    for day in 10..32 {
        s.pair(f64::from(day), 1.5, 4.9);
    }
    s.read(31.0, Kind::Ph, 6.3);
    let f = s.ask(31.1);
    assert_eq!(why(&f), "stalled");
    assert!(words(&f).contains("have not changed") && f.finish.statements.len() > 2, "{}", words(&f));
}

#[test]
fn used_up_alkalinity_and_old_tests_give_no_date() {
    let mut s = Story::new(Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    s.pair(0.1, 2.0, 0.0);
    s.pair(9.0, 0.5, 4.0);
    s.pair(15.0, 0.2, 3.0);
    let f = s.ask(15.1);
    assert_eq!(why(&f), "range");
    assert!(words(&f).contains("alkalinity was not tested lately"), "{}", words(&f));
    assert_eq!(why(&s.ask(22.5)), "old-tests");
    assert_eq!(why(&s.ask(57.0)), "long");
    s.read(15.0, Kind::Alkalinity, 0.2);
    assert_eq!(why(&s.ask(15.1)), "blocked");
    assert!(words(&s.ask(15.1)).contains("alkalinity is used up"));
}

/// 3 German degrees, taken where nobody tested, carry 7.5 mg/L N: a fourth dose of 2 uses up more. A test, a buffer, or a change brings
/// the date back.
#[test]
fn doses_that_may_have_used_up_alkalinity_ask_for_its_test() {
    let mut s = Story::new(Animals::None);
    for (day, a, n) in [(0.1, 2.0, 0.0), (9.0, 0.5, 2.0), (13.0, 0.0, 3.0), (15.0, 0.0, 2.0), (17.0, 0.0, 1.0)] {
        s.pair(day, a, n);
    }
    for day in [0.0, 13.1, 15.1] {
        s.happens(day, Happened::Dosed(Some(2.0)));
    }
    assert_eq!(why(&s.ask(17.05)), "range");
    s.happens(17.1, Happened::Dosed(Some(2.0)));
    let f = s.ask(17.2);
    assert_eq!(why(&f), "alkalinity-unknown");
    assert!(words(&f).contains("8 mg/L N and it was never tested"), "{}", words(&f));
    let with = |what: Happened| {
        let mut s = Story(s.0.clone());
        s.happens(16.0, what);
        why(&s.ask(17.2))
    };
    assert_eq!(with(Happened::Buffer), "range");
    assert_eq!(with(Happened::Changed(Some(0.5))), "range");
    s.read(17.15, Kind::Alkalinity, 4.0);
    assert_eq!(why(&s.ask(17.2)), "range");
}

/// Ammonia that is gone without nitrite or nitrate was not turned into them.
#[test]
fn a_fall_that_made_nothing_gives_no_date() {
    let mut s = Story::new(Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    for (day, a) in [(0.1, 2.0), (9.0, 1.0), (15.0, 0.4)] {
        s.pair(day, a, 0.0);
    }
    assert_eq!(why(&s.ask(15.1)), "early");
    assert!(words(&s.ask(15.1)).contains("no test showed nitrite or nitrate"));
}

/// The same seed gives the same, another one nearly so.
#[test]
fn a_seed_repeats() {
    let mut s = Story::new(Animals::None);
    s.happens(0.0, Happened::Dosed(Some(2.0)));
    s.pair(0.1, 2.0, 0.0);
    s.pair(9.0, 1.2, 2.0);
    s.pair(14.0, 0.4, 5.0);
    assert_eq!(s.ask(14.1), s.ask(14.1));
    let middle = |seed| match forecast(&s.0, at(14.1), seed).finish.when {
        When::Range { middle, .. } => middle.unwrap().duration_since(at(14.1)).as_secs_f64() / 86_400.0,
        other => panic!("{other:?}"),
    };
    assert_ne!(middle(3), middle(4));
    assert!((middle(3) - middle(4)).abs() < 6.0, "{} and {}", middle(3), middle(4));
}

/// 10 mg/L and 1 more a day, seen weekly: 40 on day 30. Half the water a fortnight keeps it below.
#[test]
fn nitrate_has_its_day() {
    let mut s = Story::new(Animals::Present);
    for week in 0..4 {
        let day = 7.0 * f64::from(week);
        s.read(day, Kind::Nitrate, 10.0 + day);
    }
    let f = s.ask(21.0);
    let Reached::Between(early, Some(late)) = f.nitrate.without_changes else { panic!("{:?}", f.nitrate) };
    assert!(at(25.0) < early && early < at(30.0) && at(40.0) < late && late < at(55.0), "{early} {late}");
    let daily = f.nitrate.daily.unwrap();
    assert!(
        (daily.0 - 1.0).abs() < 0.02 && (0.3..0.5).contains(&daily.1) && (1.5..1.7).contains(&daily.2),
        "{daily:?}"
    );
    // Without changes logged, both are the same; with them it never comes there.
    assert_eq!(f.nitrate.without_changes, f.nitrate.with_changes);
    let mut s = Story::new(Animals::Present);
    let mut c = 10.0;
    for day in 0..57 {
        if day % 7 == 0 {
            s.read(f64::from(day), Kind::Nitrate, c);
        }
        if day % 14 == 0 {
            s.happens(f64::from(day) + 0.1, Happened::Changed(Some(0.5)));
            c *= 0.5;
        }
        c += 1.0;
    }
    let f = s.ask(57.0);
    // 32 at most with 1 a day; with half as much again, which nobody excludes, it does come there.
    let Reached::Between(held, None) = f.nitrate.with_changes else { panic!("{}", words(&f)) };
    let Reached::Between(early, Some(_)) = f.nitrate.without_changes else { panic!("{}", words(&f)) };
    assert!(early < at(75.0) && at(82.0) < held, "{early} {held}");
    assert!((f.nitrate.daily.unwrap().0 - 1.0).abs() < 0.1, "{:?}", f.nitrate.daily);
    s.read(58.0, Kind::Nitrate, 45.0);
    assert_eq!(s.ask(58.1).nitrate.without_changes, Reached::Already);
}

/// With animals: a week in which neither shows, and no dose is asked for.
#[test]
fn with_animals_a_week_of_none_finishes() {
    let mut s = Story::new(Animals::Present);
    s.happens(0.0, Happened::Fed(Some(0.3)));
    let pairs =
        [(2.0, 0.6, 0.1), (6.0, 1.6, 0.5), (10.0, 0.8, 1.6), (14.0, 0.3, 2.2), (17.0, 0.0, 1.0), (19.0, 0.0, 0.4)];
    for (day, a, n) in pairs {
        s.pair(day, a, n);
    }
    let f = s.ask(19.1);
    let When::Range { early, .. } = f.finish.when else { panic!("{f:?}") };
    // Seven days of none lie ahead at the least.
    assert!(early.duration_since(at(19.1)).as_secs_f64() / 86_400.0 >= 6.5, "{early}");
    assert!(words(&f).contains("a week in which ammonia and nitrite show none"), "{}", words(&f));
}
