//! Several photos of one sample: one answer, with what they share counted.
//!
//! Photos under the same light share nearly all of their error: the way of the light through the vial, how bright the paper
//! behind it is, the card's correction, the kit's own scatter. Only the noise of the photos averages out. Under another light the
//! way and the brightness are drawn anew; the kit's scatter and the card stay. So each pair of photos has a correlation, and the
//! variance of a weighted mean is Σᵢⱼ wᵢ wⱼ ρᵢⱼ sᵢ sⱼ (error propagation with covariances, JCGM 100:2008, 5.2.2). It never
//! falls as fast as 1/n.

use super::place::same_light;
use crate::water::{Amount, Interval, Quantity};

/// What one photo said about the sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Word<'a> {
    /// The amount; all in one unit.
    pub amount: &'a Amount,
    /// The light's signature. Without one the light counts as the same as any other: then least averages out.
    pub light: Option<&'a [f64]>,
    /// Whether a finding puts it in doubt.
    pub doubtful: bool,
}

/// What all photos say together.
#[derive(Debug, Clone, PartialEq)]
pub struct Combined {
    /// The amount.
    pub amount: Amount,
    /// Which words it is made of, ascending. Words in doubt only where there is no other.
    pub used: Vec<usize>,
    /// Which words do not fit to the others by more than repeats of one sample differ, ascending. Where there are any, the interval
    /// reaches to what they say, and the amount is in doubt.
    pub odd: Vec<usize>,
}

/// Share of the variance that two photos have in common under the same light, and under different lights. Judged from the
/// computer-made sets, in which light and place make nearly all of a reading's variance; high is the careful side.
const SHARED: (f64, f64) = (0.9, 0.6);
/// Two values differ if they lie farther apart than so many standard deviations of their difference.
const ODD: f64 = 3.0;
/// Standard deviations from the value to the end of a 95 % interval.
const Z95: f64 = 1.959_964;

/// Combines the words of one sample, whatever their order. None without words, or where their units differ.
///
/// Words in doubt count only where there are no others, and then narrow nothing; but those that do not fit put all in doubt.
/// 'Not detected' gives way to a value, and both to 'above': several photos never say less than one of them without a doubt.
pub fn combine(words: &[Word]) -> Option<Combined> {
    let unit = words.first()?.amount.unit();
    if words.iter().any(|w| w.amount.unit() != unit) {
        return None;
    }
    let clean: Vec<usize> = (0..words.len()).filter(|i| !words[*i].doubtful).collect();
    let doubtful = clean.is_empty();
    let voters = if doubtful { (0..words.len()).collect() } else { clean };
    let of =
        |is: fn(&Amount) -> bool| -> Vec<usize> { voters.iter().copied().filter(|i| is(words[*i].amount)).collect() };
    let measured = of(|a| matches!(a, Amount::Measured { .. }));
    let above = of(|a| matches!(a, Amount::Above { .. }));
    let (amount, mut odd, used) = if !above.is_empty() {
        let least = by_limit(words, &above).next()?;
        (words[least].amount.clone(), Vec::new(), above)
    } else if !measured.is_empty() {
        let (mean, odd, used) = values(words, measured, doubtful);
        // One alone says what it said, to the last digit.
        let one = words[*used.first()?].amount;
        (if used.len() == 1 { one.clone() } else { mean.amount(one)? }, odd, used)
    } else {
        // Of limits that were not reached the largest is the careful one.
        let most = by_limit(words, &voters).next_back()?;
        (words[most].amount.clone(), Vec::new(), voters)
    };
    let others = (0..words.len()).filter(|i| !used.contains(i) && !odd.contains(i));
    let strangers: Vec<usize> = others.filter(|i| !fits(words, &amount, &used, *i)).collect();
    odd.extend(strangers);
    odd.sort_unstable();
    let amount = stretched(amount, odd.iter().map(|i| words[*i].amount));
    Some(Combined { amount, used, odd })
}

fn by_limit(words: &[Word], of: &[usize]) -> impl DoubleEndedIterator<Item = usize> {
    let mut of = of.to_vec();
    of.sort_by(|a, b| words[*a].amount.level().value.total_cmp(&words[*b].amount.level().value));
    of.into_iter()
}

/// A weighted mean with its standard deviations downwards and upwards.
struct Mean {
    value: f64,
    down: f64,
    up: f64,
}

impl Mean {
    fn amount(&self, like: &Amount) -> Option<Amount> {
        let unit = like.unit().clone();
        let least = if unit.has_zero() { 0.0 } else { f64::MIN };
        let lower = (self.value - Z95 * self.down).max(least);
        let interval = Interval::new(lower, self.value + Z95 * self.up).ok()?;
        Amount::measured(Quantity::new(self.value, unit), interval).ok()
    }
}

/// Value, and standard deviations downwards, upwards and on the whole.
fn parts(amount: &Amount) -> Option<(f64, [f64; 3])> {
    let Amount::Measured { value, interval95: i } = amount else { return None };
    let down = (value.value - i.lower()) / Z95;
    let up = (i.upper() - value.value) / Z95;
    // A width of none would weigh infinitely.
    let least = 1e-6 * (value.value.abs() + 1e-6);
    Some((value.value, [down.max(least), up.max(least), ((down + up) / 2.0).max(least)]))
}

fn shared(a: &Word, b: &Word) -> f64 {
    match (a.light, b.light) {
        (Some(x), Some(y)) if !same_light(x, y) => SHARED.1,
        _ => SHARED.0,
    }
}

/// The mean of measured words, each weighted by its own uncertainty. `narrow` says whether repeats may narrow it.
fn mean(words: &[Word], of: &[usize], narrow: bool) -> Mean {
    let parts: Vec<(f64, [f64; 3])> = of.iter().filter_map(|i| parts(words[*i].amount)).collect();
    let total: f64 = parts.iter().map(|(_, s)| s[2].powi(-2)).sum();
    let weights: Vec<f64> = parts.iter().map(|(_, s)| s[2].powi(-2) / total).collect();
    let value = parts.iter().zip(&weights).map(|((v, _), w)| v * w).sum();
    let spread = |side: usize| {
        let mut var = 0.0;
        for (i, (_, a)) in parts.iter().enumerate() {
            for (j, (_, b)) in parts.iter().enumerate() {
                let both = if i == j || !narrow { 1.0 } else { shared(&words[of[i]], &words[of[j]]) };
                var += weights[i] * weights[j] * both * a[side] * b[side];
            }
        }
        var.sqrt()
    };
    Mean { value, down: spread(0), up: spread(1) }
}

/// By how many standard deviations of the difference a measured word lies off the mean of others.
fn off(words: &[Word], of: &[usize], i: usize) -> f64 {
    let Some((value, s)) = parts(words[i].amount) else { return 0.0 };
    let m = mean(words, of, true);
    // Towards the mean: the side of each that faces the other.
    let (own, theirs) = if value > m.value { (s[0], m.up) } else { (s[1], m.down) };
    let both = of.iter().map(|j| shared(&words[i], &words[*j])).fold(0.0, f64::max);
    let var = own.powi(2) + theirs.powi(2) - 2.0 * both * own * theirs;
    // What a photo has for itself is not less than that, however the others lie.
    let least = (1.0 - both) * own.max(theirs).powi(2);
    (value - m.value).abs() / var.max(least).sqrt()
}

/// Measured words: their mean, those that do not fit, those it is made of.
fn values(words: &[Word], mut of: Vec<usize>, doubtful: bool) -> (Mean, Vec<usize>, Vec<usize>) {
    let mut odd = Vec::new();
    while of.len() >= 3 {
        let without = |i: usize| -> Vec<usize> { of.iter().copied().filter(|j| *j != i).collect() };
        let offs = of.iter().map(|i| (off(words, &without(*i), *i), *i));
        let Some((worst, i)) = offs.max_by(|a, b| a.0.total_cmp(&b.0)) else { break };
        if worst <= ODD {
            break;
        }
        of = without(i);
        odd.push(i);
    }
    if let [a, b] = of[..]
        && off(words, &[a], b).max(off(words, &[b], a)) > ODD
    {
        // Of two nobody can say which is wrong.
        odd.extend([a, b]);
    }
    (mean(words, &of, !doubtful), odd, of)
}

/// Whether a word that is no part of the combined amount fits to it.
fn fits(words: &[Word], amount: &Amount, used: &[usize], i: usize) -> bool {
    let word = words[i].amount;
    if let (Amount::Measured { .. }, Amount::Measured { .. }) = (amount, word) {
        return off(words, used, i) <= ODD;
    }
    let (a, b) = (ends(amount), ends(word));
    a.0 <= b.1 && b.0 <= a.1
}

fn ends(amount: &Amount) -> (f64, f64) {
    match amount {
        Amount::Measured { interval95: i, .. } => (i.lower(), i.upper()),
        Amount::NotDetected { below: limit } | Amount::Below { limit } => (f64::NEG_INFINITY, limit.value),
        Amount::Above { limit } => (limit.value, f64::INFINITY),
    }
}

/// The amount with its interval reaching to what the odd ones say. 'Not detected' beside a photo that saw some becomes what that
/// photo saw.
fn stretched<'a>(amount: Amount, odd: impl Iterator<Item = &'a Amount>) -> Amount {
    let mut out = amount;
    for other in odd {
        out = match (&out, other) {
            (_, Amount::Above { .. }) => other.clone(),
            (Amount::NotDetected { .. } | Amount::Below { .. }, Amount::Measured { .. }) => other.clone(),
            (Amount::Measured { value, interval95: i }, _) => {
                let (lower, upper) = match other {
                    Amount::Measured { value: v, interval95: j } => {
                        (i.lower().min(v.value).max(0.0), i.upper().max(j.upper()))
                    }
                    _ => (if out.unit().has_zero() { 0.0 } else { i.lower().min(other.level().value) }, i.upper()),
                };
                let wider = Interval::new(lower.min(value.value), upper);
                let wider = wider.and_then(|w| Amount::measured(Quantity::new(value.value, out.unit().clone()), w));
                wider.unwrap_or_else(|_| out.clone())
            }
            _ => out,
        };
    }
    out
}

#[cfg(test)]
mod tests;
