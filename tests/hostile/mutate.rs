//! Bytes changed at random, the same for the same seed.

/// A small generator of random numbers: xorshift64* (Vigna 2016, ACM Trans. Math. Softw. 42:30).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        // A state of zero would stay zero.
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    fn roll(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    /// A number from 0 to `below` − 1.
    pub fn below(&mut self, below: usize) -> usize {
        (self.roll() >> 33) as usize % below.max(1)
    }
}

/// What breaks readers of numbers: ends of ranges, signs, no numbers at all.
const WORDS: [&str; 16] = [
    "0",
    "-1",
    "1e309",
    "-0.0",
    "nan",
    "inf",
    "99999999999999999999",
    "0.0000000001",
    "",
    "\"",
    "\u{0}",
    "\u{202e}",
    "[[",
    "= ",
    "9999-12-31 23:59",
    "+14:00",
];

/// A seed changed one to six times.
pub fn changed(seeds: &[Vec<u8>], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = seeds[dice.below(seeds.len())].clone();
    for _ in 0..=dice.below(6) {
        let at = dice.below(bytes.len());
        let to = (at + 1 + dice.below(24)).min(bytes.len());
        match dice.below(9) {
            0 if !bytes.is_empty() => bytes[at] ^= 1 << dice.below(8),
            1 if !bytes.is_empty() => bytes[at] = [0, 1, 0x7f, 0x80, 0xff][dice.below(5)],
            2 => drop(bytes.drain(at.min(to)..to)),
            3 => {
                let part = bytes[at.min(to)..to].to_vec();
                bytes.splice(at..at, part.into_iter().cycle().take(1 + dice.below(200)));
            }
            4 => bytes.truncate(at),
            5 => {
                // The beginning of one, the end of another.
                let other = &seeds[dice.below(seeds.len())];
                bytes.truncate(at);
                bytes.extend_from_slice(&other[dice.below(other.len()).min(other.len())..]);
            }
            6 => drop(bytes.splice(at..at, WORDS[dice.below(WORDS.len())].bytes())),
            7 => {
                // A number in a text becomes another.
                let from = bytes[at.min(bytes.len())..].iter().position(u8::is_ascii_digit).map(|i| at + i);
                if let Some(from) = from {
                    let len = bytes[from..].iter().take_while(|b| b.is_ascii_digit() || **b == b'.').count();
                    bytes.splice(from..from + len, WORDS[dice.below(8)].bytes());
                }
            }
            _ => {
                // A length or offset of four bytes becomes huge, or one too large.
                if let Some(four) = bytes.get_mut(at..at + 4) {
                    let n = u32::from_be_bytes([four[0], four[1], four[2], four[3]]);
                    let n =
                        [n.wrapping_add(1), n.wrapping_sub(1), u32::MAX, 0x7fff_ffff, n.swap_bytes()][dice.below(5)];
                    four.copy_from_slice(&n.to_be_bytes());
                }
            }
        }
    }
    bytes
}
