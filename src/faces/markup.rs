//! Text into XML and HTML.

/// Text that stands for itself between tags and in quoted attributes. Signs that XML forbids are left out.
pub(super) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            // XML 1.0, production 2.
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_gets_out_of_its_place() {
        assert_eq!(escape("</title><script>'\"&\u{1}\u{ffff}x\ny"), "&lt;/title&gt;&lt;script&gt;&#39;&quot;&amp;x y");
    }
}
