//! Reading what people type: Unicode forms brought to ASCII, numbers with a point or a comma.

/// Typographic forms brought to the plain ones: subscripts, superscripts, dashes, both micro signs, full-width letters;
/// white space collapsed and trimmed. Upper and lower case stay.
pub(super) fn plain(s: &str) -> String {
    let mut out = String::with_capacity(s.len());
    for c in s.chars() {
        let p = match c {
            '₀'..='₉' => digit(c, '₀'),
            '⁰' | '⁴'..='⁹' => digit(c, '⁰'),
            '¹' => '1',
            '²' => '2',
            '³' => '3',
            '⁺' | '₊' | '＋' => '+',
            '⁻' | '₋' | '−' | '–' | '—' | '‐' | '‑' | '－' => '-',
            'µ' | 'μ' => 'u',
            '·' => ' ',
            c if c.is_whitespace() => ' ',
            c => c,
        };
        if p != ' ' || !(out.is_empty() || out.ends_with(' ')) {
            out.push(p);
        }
    }
    out.truncate(out.trim_end().len());
    out
}

fn digit(c: char, zero: char) -> char {
    char::from_digit(c as u32 - zero as u32, 10).unwrap_or(c)
}

/// Why a text is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NotANumber {
    /// Something else than digits and one decimal sign.
    Malformed,
    /// `1,250`: a decimal comma or thousands.
    Comma,
}

/// A plain decimal number without sign or exponent; the decimal sign may be a point or a comma.
///
/// A comma before exactly three digits, as in `1,250`, is a decimal comma to some and thousands to others, a factor of
/// a thousand apart: refused, unless it stands after a lone 0.
pub(super) fn number(s: &str) -> Result<f64, NotANumber> {
    let s = s.trim();
    if s.is_empty() || s.len() > 20 || !s.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',') {
        return Err(NotANumber::Malformed);
    }
    if let Some((whole, rest)) = s.split_once(',')
        && rest.len() == 3
        && !rest.contains([',', '.'])
        && whole.chars().any(|c| c != '0')
    {
        return Err(NotANumber::Comma);
    }
    s.replace(',', ".").parse().map_err(|_| NotANumber::Malformed)
}

/// `value` with at most `digits` significant digits, without trailing zeros or exponent where that stays readable.
pub fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}");
    }
    decimals(value, digits - 1 - value.abs().log10().floor() as i32, true)
}

/// `value` with `places` decimals (none where negative); a value that would show as zero keeps one significant digit.
pub(super) fn decimals(value: f64, places: i32, trim: bool) -> String {
    let mut places = places.max(0);
    if value != 0.0 {
        let first = -value.abs().log10().floor() as i32;
        if first > 9 {
            return format!("{value:.1e}");
        }
        if (value * 10f64.powi(places)).round() == 0.0 {
            places = first;
        }
    }
    let places = places.min(12) as usize;
    let s = format!("{value:.places$}");
    if trim { trimmed(s) } else { s }
}

/// Without the zeros at the end of a decimal fraction.
pub(super) fn trimmed(s: String) -> String {
    if s.contains('.') && !s.contains('e') { s.trim_end_matches('0').trim_end_matches('.').to_string() } else { s }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn typographic_forms_become_plain() {
        assert_eq!(plain(" mg/l\u{a0} NO₃⁻ "), "mg/l NO3-");
        assert_eq!(plain("µg/L NH₄⁺–N"), "ug/L NH4+-N");
        assert_eq!(plain("μmol"), plain("µmol"));
    }

    #[test]
    fn numbers_with_point_or_comma() {
        for (s, v) in [("0.25", 0.25), ("0,25", 0.25), ("12", 12.0), (".5", 0.5), ("0,125", 0.125), ("5.", 5.0)] {
            assert_eq!(number(s), Ok(v), "{s}");
        }
        for s in ["", "-1", "1e3", "NaN", "inf", "1.2.3", "1,2,3", "1.000,5", "0x10", ".", ","] {
            assert_eq!(number(s), Err(NotANumber::Malformed), "{s}");
        }
        assert_eq!(number("1,250"), Err(NotANumber::Comma));
    }

    #[test]
    fn no_value_shows_as_zero() {
        assert_eq!(decimals(0.0004, 2, false), "0.0004");
        assert_eq!(decimals(0.214, 2, false), "0.21");
        assert_eq!(decimals(0.0, 2, false), "0.00");
        assert_eq!(decimals(3e-12, 2, false), "3.0e-12");
        assert_eq!(decimals(1234.6, -2, false), "1235");
        assert_eq!(significant(5.0, 3), "5");
        assert_eq!(significant(0.047_31, 2), "0.047");
        assert_eq!(significant(120.0, 2), "120");
    }
}
