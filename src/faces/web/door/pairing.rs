//! The code that stands in the terminal, and how often it may be guessed at.
//!
//! Eight signs of thirty-two: 1.1e12 codes. With 5 wrong guesses a minute from one address and 30 from all, half of them are
//! tried in 35,000 years. The code stays for as long as the server runs, for all phones of a home.

use jiff::{SignedDuration, Timestamp};
use sha2::{Digest, Sha256};
use std::collections::VecDeque;
use std::net::IpAddr;
use subtle::ConstantTimeEq;

/// Without those that look alike.
const SIGNS: &[u8] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";
const LENGTH: usize = 8;
const MINUTE: SignedDuration = SignedDuration::from_secs(60);
const FROM_ONE: usize = 5;
const FROM_ALL: usize = 30;

pub(super) struct Pairing {
    code: String,
    /// Wrong guesses of the last minute.
    wrong: VecDeque<(Timestamp, IpAddr)>,
}

/// What came of a guess.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::faces::web) enum Guess {
    Right,
    Wrong,
    /// It was not looked at.
    TooMany {
        seconds: i64,
    },
}

impl Pairing {
    /// With a code that nobody can foresee.
    pub(super) fn new() -> Result<Self, getrandom::Error> {
        let mut code = String::with_capacity(LENGTH);
        while code.len() < LENGTH {
            let mut byte = [0u8];
            getrandom::fill(&mut byte)?;
            // Only the bytes that give every sign the same chance.
            let usable = 256 / SIGNS.len() * SIGNS.len();
            if usize::from(byte[0]) < usable {
                code.push(char::from(SIGNS[usize::from(byte[0]) % SIGNS.len()]));
            }
        }
        Ok(Self { code, wrong: VecDeque::new() })
    }

    /// In two halves, as people read it.
    pub(super) fn shown(&self) -> String {
        let (a, b) = self.code.split_at(LENGTH / 2);
        format!("{a}-{b}")
    }

    pub(super) fn guess(&mut self, typed: &str, from: IpAddr, now: Timestamp) -> Guess {
        while self.wrong.front().is_some_and(|(at, _)| now.duration_since(*at) >= MINUTE) {
            self.wrong.pop_front();
        }
        let own = self.wrong.iter().filter(|(_, ip)| *ip == from).count();
        if own >= FROM_ONE || self.wrong.len() >= FROM_ALL {
            let since = self.wrong.iter().find(|(_, ip)| own < FROM_ONE || *ip == from).map_or(now, |(at, _)| *at);
            return Guess::TooMany { seconds: (MINUTE - now.duration_since(since)).as_secs().max(1) };
        }
        let plain: String = typed.chars().filter(char::is_ascii_alphanumeric).collect();
        // Of hashes, so that neither length nor place of a difference can be told from the time it takes.
        let [a, b] = [plain.to_ascii_uppercase(), self.code.clone()].map(|c| Sha256::digest(c.as_bytes()));
        if bool::from(a.as_slice().ct_eq(b.as_slice())) {
            return Guess::Right;
        }
        self.wrong.push_back((now, from));
        Guess::Wrong
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::net::Ipv4Addr;

    #[test]
    fn guesses_are_few() {
        let start: Timestamp = "2026-03-01T12:00:00Z".parse().unwrap();
        let at = |s: i64| start + SignedDuration::from_secs(s);
        let ip = |n| IpAddr::V4(Ipv4Addr::new(192, 0, 2, n));
        let mut p = Pairing::new().unwrap();
        let code = p.shown();
        assert!(code.len() == 9 && code.bytes().filter(|b| *b != b'-').all(|b| SIGNS.contains(&b)), "{code}");
        assert_ne!(code, Pairing::new().unwrap().shown());
        for s in 0..5 {
            assert_eq!(p.guess("AAAA-AAAA", ip(1), at(s)), Guess::Wrong);
        }
        // The right one is not looked at either, from there; from elsewhere it is.
        assert_eq!(p.guess(&code, ip(1), at(10)), Guess::TooMany { seconds: 50 });
        assert_eq!(p.guess(&code.to_lowercase().replace('-', " "), ip(2), at(10)), Guess::Right);
        assert_eq!(p.guess(&code, ip(1), at(60)), Guess::Right);
        for n in 10..40 {
            p.guess("", ip(n), at(100));
        }
        assert_eq!(p.guess(&code, ip(99), at(101)), Guess::TooMany { seconds: 59 });
        assert_eq!(p.guess(&code, ip(99), at(160)), Guess::Right);
    }
}
