//! The code that stands in the terminal, and how often it may be guessed at.
//!
//! Eight signs of thirty-two are 2⁴⁰, 1.1e12 codes. At most 60 wrong ones an hour are looked at, 526 thousand a year: who guesses for a
//! whole year without a pause gets in with a chance of one in two million. A code serves for an hour and 20 wrong guesses; each
//! new one is as hard to guess as the one before it, so the change takes nothing from that sum.

use jiff::Timestamp;
use std::collections::{HashMap, VecDeque};
use std::net::IpAddr;

/// Without those that look alike. A byte falls on each of the 32 with the same chance.
const SIGNS: &[u8; 32] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
const LENGTH: usize = 8;

/// Wrong guesses from one address before it has to wait; the wait doubles with each that follows.
const FREE: u32 = 5;
const FIRST_WAIT: i64 = 30;
const HOUR: i64 = 3600;
/// Wrong guesses after which there is another code.
const FOR_A_CODE: u32 = 20;
/// Wrong guesses an hour, from all addresses together.
const AN_HOUR: usize = 60;

/// A code that nobody can foresee.
pub(super) fn code() -> Result<String, getrandom::Error> {
    let mut bytes = [0u8; LENGTH];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().map(|b| char::from(SIGNS[usize::from(*b) % SIGNS.len()])).collect())
}

/// So many random bytes, in hexadecimal: what a cookie or an address holds that nobody can foresee.
pub(in crate::faces::web) fn token<const BYTES: usize>() -> Result<String, getrandom::Error> {
    let mut bytes = [0u8; BYTES];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

/// In two halves, as people read it.
pub(super) fn halves(code: &str) -> String {
    let (a, b) = code.split_at(LENGTH / 2);
    format!("{a}-{b}")
}

/// What was typed without what people add.
pub(super) fn plain(typed: &str) -> String {
    typed.chars().filter(|c| !c.is_whitespace() && *c != '-').map(|c| c.to_ascii_uppercase()).collect()
}

/// The guesses that were wrong.
#[derive(Debug, Default)]
pub(super) struct Guesses {
    by: HashMap<IpAddr, (u32, Timestamp)>,
    of_code: u32,
    hour: VecDeque<Timestamp>,
}

impl Guesses {
    /// Begins a guess, counted as wrong until it is said to be right: a hundred at the same moment are a hundred guesses. Where one has
    /// to wait, so many seconds.
    pub(super) fn begin(&mut self, from: IpAddr, now: Timestamp) -> Result<(), i64> {
        let age = |at: Timestamp| now.duration_since(at).as_secs();
        while self.hour.front().is_some_and(|at| age(*at) >= HOUR) {
            self.hour.pop_front();
        }
        // An address that was quiet for a day begins anew; so the list stays short, too.
        self.by.retain(|_, (_, last)| age(*last) < 24 * HOUR);
        let wait = match self.by.get(&from) {
            Some((wrong, last)) if *wrong >= FREE => wait_after(*wrong) - age(*last),
            _ => 0,
        };
        let all = match self.hour.front() {
            Some(first) if self.hour.len() >= AN_HOUR => HOUR - age(*first),
            _ => 0,
        };
        if wait.max(all) > 0 {
            return Err(wait.max(all));
        }
        let own = self.by.entry(from).or_insert((0, now));
        *own = (own.0 + 1, now);
        self.hour.push_back(now);
        Ok(())
    }

    /// The guess that was begun was right.
    pub(super) fn right(&mut self, from: IpAddr) {
        self.by.remove(&from);
        self.hour.pop_back();
    }

    /// It was wrong. Whether it was the last with this code.
    pub(super) fn wrong(&mut self) -> bool {
        self.of_code += 1;
        self.of_code >= FOR_A_CODE
    }

    /// There is another code.
    pub(super) fn anew(&mut self) {
        self.of_code = 0;
    }
}

/// Seconds to wait after so many wrong guesses.
fn wait_after(wrong: u32) -> i64 {
    let doubled = wrong.saturating_sub(FREE).min(7);
    (FIRST_WAIT << doubled).min(HOUR)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::SignedDuration;
    use std::net::Ipv4Addr;

    fn at(s: i64) -> Timestamp {
        "2026-03-01T12:00:00Z".parse::<Timestamp>().unwrap() + SignedDuration::from_secs(s)
    }

    fn ip(n: u8) -> IpAddr {
        IpAddr::V4(Ipv4Addr::new(192, 0, 2, n))
    }

    #[test]
    fn codes_are_all_signs_and_none_twice() {
        let codes: Vec<String> = (0..500).map(|_| code().unwrap()).collect();
        let signs: std::collections::BTreeSet<u8> = codes.iter().flat_map(|c| c.bytes()).collect();
        assert!(signs.iter().eq(SIGNS.iter()), "{signs:?}");
        assert_eq!(codes.iter().collect::<std::collections::BTreeSet<_>>().len(), 500);
        assert_eq!(halves("ABCD2345"), "ABCD-2345");
        assert_eq!(plain(" abcd - 2345\n"), "ABCD2345");
    }

    #[test]
    fn an_address_waits_longer_each_time() {
        let mut g = Guesses::default();
        for s in 0..5 {
            assert_eq!(g.begin(ip(1), at(s)), Ok(()));
            g.wrong();
        }
        assert_eq!(g.begin(ip(1), at(5)), Err(29));
        assert_eq!(g.begin(ip(2), at(5)), Ok(()), "others do not wait");
        g.right(ip(2));
        let mut now = 4;
        for wait in [30, 60, 120, 240, 480, 960, 1920, 3600, 3600] {
            assert_eq!(g.begin(ip(1), at(now + wait - 1)), Err(1), "{wait}");
            now += wait;
            assert_eq!(g.begin(ip(1), at(now)), Ok(()), "{wait}");
        }
        // The right one makes an end of it.
        g.right(ip(1));
        assert_eq!(g.begin(ip(1), at(now + 1)), Ok(()));
    }

    #[test]
    fn all_together_have_sixty_an_hour_and_twenty_a_code() {
        let mut g = Guesses::default();
        let mut worn = Vec::new();
        for n in 0..60u8 {
            assert_eq!(g.begin(ip(n), at(i64::from(n))), Ok(()));
            if g.wrong() {
                g.anew();
                worn.push(n);
            }
        }
        assert_eq!(worn, [19, 39, 59]);
        assert_eq!(g.begin(ip(99), at(60)), Err(3540));
        assert_eq!(g.begin(ip(99), at(3600)), Ok(()));
        assert_eq!(g.begin(ip(98), at(3600)), Err(1));
    }

    #[test]
    fn guesses_at_the_same_moment_are_counted_before_they_are_looked_at() {
        let mut g = Guesses::default();
        let begun = (0..100).filter(|_| g.begin(ip(1), at(0)).is_ok()).count();
        assert_eq!(begun, 5);
    }
}
