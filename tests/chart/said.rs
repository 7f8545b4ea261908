//! Trends with their limits, and the chart in the terminal.

use super::*;
use tintline::advice::{Bad, Level, Subject, trends};
use tintline::faces::chart::{Signs, terminal};

#[test]
fn the_terminal_shows_every_result_in_its_column() {
    let chart = chart(false);
    // 31 columns of a day: results 30, 20, 10 and 5 days ago.
    let text = terminal(&chart, Signs::Ascii, 31);
    let row = text.lines().next().unwrap();
    let cells: Vec<char> = row.split('|').nth(1).unwrap().chars().collect();
    let filled: Vec<(usize, char)> = cells.iter().copied().enumerate().filter(|(_, c)| *c != ' ').collect();
    assert_eq!((cells.len(), &filled[..]), (31, &[(1, '_'), (11, '1'), (21, '^'), (26, '?')][..]), "{text}");
    assert!(row.starts_with("nitrite mg/L NO2-  0.0 |") && row.ends_with("| 7.5"), "{row}");
    let below =
        "\n    last 0.3 mg/L NO2- (0.2 to 0.4), in doubt, 26 Mar 2026\n    ! caution from 0.25, !! danger from 0.5, ";
    assert!(text.contains(below), "{text}");
    assert!(
        text.contains("28 Feb 2026") && text.contains("31 Mar 2026") && text.contains("A column is 1 day;"),
        "{text}"
    );
    assert!(text.is_ascii() && text.lines().all(|l| l.len() <= 80));
    // pH 7.0 on 6.5 to 7.5 lies in the fourth eighth.
    let blocks = terminal(&chart, Signs::Blocks, 31);
    let ph = blocks.lines().find(|l| l.starts_with("pH")).unwrap();
    let scale: Vec<f64> = [ph.split('|').next().unwrap(), ph.split('|').nth(2).unwrap()]
        .iter()
        .map(|p| p.split_whitespace().last().unwrap().parse().unwrap())
        .collect();
    let eighth = ((7.0 - scale[0]) / (scale[1] - scale[0]) * 8.0).ceil() as usize - 1;
    assert_eq!(ph.split('|').nth(1).unwrap().chars().nth(26), "▁▂▃▄▅▆▇█".chars().nth(eighth), "{ph}");
}

#[test]
fn of_two_results_in_a_column_the_higher_is_shown() {
    let mut book = book();
    let low = Measured::new("low", ago(20.1), Kind::Nitrite, Span::exact(0.3), Shown::Some);
    book.readings.push(low);
    let mut high = Measured::new("high", ago(20.2), Kind::Nitrite, Span::exact(6.0), Shown::Some);
    high.words = "6 mg/L NO2-".into();
    book.readings.push(high);
    let chart = Chart::new("shelf", zone(), (ago(31.0), now()), trends(&book, now()), &[], false);
    let text = terminal(&chart, Signs::Ascii, 31);
    let cell = text.split('|').nth(1).unwrap().chars().nth(10).unwrap();
    assert_eq!(cell, '7', "6 of 7.5 lies in the seventh eighth: {text}");
}

#[test]
fn limits_are_those_danger_is_judged_by() {
    let limits = |water, kind: Subject| {
        let mut book = Book::new(Facts::new("t", water));
        for k in [Kind::Ammonia, Kind::Nitrite, Kind::Nitrate, Kind::Ph, Kind::Alkalinity] {
            book.readings.push(Measured::new("r", ago(1.0), k, Span::exact(7.0), Shown::Some));
        }
        let all = trends(&book, now());
        let trend = all.into_iter().find(|t| t.subject == kind).unwrap();
        trend.guides.into_iter().map(|g| (g.value, g.bad, g.level)).collect::<Vec<_>>()
    };
    use Bad::{Above, Below};
    use Level::{Caution, Danger, Urgent};
    assert!(limits(Water::Fresh, Subject::Measured(Kind::Ammonia)).is_empty(), "total ammonia harms by its free share");
    assert_eq!(
        limits(Water::Fresh, Subject::FreeAmmonia),
        [(0.02, Above, Caution), (0.05, Above, Danger), (0.2, Above, Urgent)]
    );
    assert_eq!(limits(Water::Marine, Subject::Measured(Kind::Nitrite))[2], (50.0, Above, Urgent));
    // Nitrate: notice is no level, and nothing of it is urgent.
    assert_eq!(limits(Water::Fresh, Subject::Measured(Kind::Nitrate)), [(40.0, Above, Caution), (80.0, Above, Danger)]);
    assert_eq!(limits(Water::Marine, Subject::Measured(Kind::Ph)), [(7.8, Below, Caution), (8.6, Above, Caution)]);
    assert_eq!(limits(Water::Fresh, Subject::Measured(Kind::Alkalinity)), [(3.0, Below, Caution)]);
}

#[test]
fn free_ammonia_follows_from_total_ammonia_and_ph() {
    let mut book = Book::new(Facts::new("t", Water::Fresh));
    let mut add = |kind, value| {
        book.readings.push(Measured::new("r", ago(1.0), kind, Span::exact(value), Shown::Some));
    };
    add(Kind::Ammonia, 1.0);
    add(Kind::Ph, 8.0);
    add(Kind::Temperature, 25.0);
    let all = trends(&book, now());
    let free = all.iter().find(|t| t.subject == Subject::FreeAmmonia).unwrap();
    // Emerson et al. 1975: pKa = 0.09018 + 2729.92 / 298.15 = 9.2464, so 1 / (1 + 10^1.2464) is free.
    let best = free.points[0].span.best.unwrap();
    assert!((best - 0.05366).abs() < 0.00001, "{best}");
    assert_eq!(free.points[0].words, "0.054 mg/L NH3-N");
    // What lies in the future is left out.
    assert!(trends(&book, ago(2.0)).is_empty());
}
