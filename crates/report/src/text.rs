//! Text made safe for HTML and SVG, and the small signs that plain text lacks.
//!
//! Whatever comes from a file (titles, paths, cautions) goes through [`escape`] before it is written into markup, so
//! that it can never become markup. Does not know what the text says.

/// The text with the five characters that mean something in markup written as entities.
///
/// ```
/// use tremolet_report::text::escape;
/// assert_eq!(escape("<b> & \"c\""), "&lt;b&gt; &amp; &quot;c&quot;");
/// ```
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // Control characters are not allowed in XML at all.
            c if c.is_control() && !matches!(c, '\n' | '\t') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// Digits of `n` as subscripts: `12` gives "₁₂".
pub fn subscript(n: u32) -> String {
    digits(
        &n.to_string(),
        &['₀', '₁', '₂', '₃', '₄', '₅', '₆', '₇', '₈', '₉'],
    )
}

/// Digits of `n` as superscripts, with its sign: `-3` gives "⁻³".
pub fn superscript(n: i32) -> String {
    digits(
        &n.to_string(),
        &['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'],
    )
}

fn digits(text: &str, signs: &[char; 10]) -> String {
    text.chars()
        .map(|c| c.to_digit(10).map_or('⁻', |d| signs[d as usize]))
        .collect()
}

/// `lower_snake` as words with a capital at the front: `surface_tension` gives "Surface tension".
pub fn words(name: &str) -> String {
    let plain = name.replace('_', " ");
    let mut letters = plain.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A relative path as the target of a link: each byte that is not plain is percent-encoded, so that it can be
/// neither a scheme nor another host (RFC 3986, 2.1).
pub fn link(path: &str) -> String {
    let mut out = String::from("./");
    for byte in path.trim_start_matches('/').bytes() {
        if byte.is_ascii_alphanumeric() || b"-_.~/".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

/// A name made of lower-case letters, digits and hyphens, for files and identifiers.
pub fn slug(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
    }
    out.trim_end_matches('-').to_owned()
}

/// Units that stay on the line of their number.
const UNITS: &[&str] = &[
    "Hz", "kHz", "mm", "m", "cm", "km", "s", "ms", "%", "px", "Pa", "kPa", "°C", "degC", "K", "mN/m", "N/m",
    "mm²/s", "mm^2/s", "m/s", "m/s²", "m/s^2", "mm/s", "1/s", "fps", "g", "kg", "mg", "mL", "µL", "mPa",
    "mm/px", "µm", "rad",
];

/// The text with a number and the unit after it kept on one line.
///
/// ```
/// use tremolet_report::text::bound;
/// assert_eq!(bound("from 5 mm to 240 Hz, 3 m; 4 more"), "from 5\u{a0}mm to 240\u{a0}Hz, 3\u{a0}m; 4 more");
/// ```
pub fn bound(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (i, word) in text.split(' ').enumerate() {
        let bare = word.trim_end_matches([',', '.', ';', ':', ')', '(']);
        let after_number = out.ends_with(|c: char| c.is_ascii_digit());
        if i > 0 {
            out.push(if after_number && UNITS.contains(&bare) {
                '\u{a0}'
            } else {
                ' '
            });
        }
        out.push_str(word);
    }
    out
}

/// Items joined as in a sentence: "a", "a and b", "a, b and c".
pub fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [front @ .., last] => format!("{} and {last}", front.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::{escape, link, listed, slug, subscript, superscript, words};

    #[test]
    fn nothing_from_a_file_becomes_markup() {
        let evil = "</title><script>alert('x')</script>\u{0}";
        let safe = escape(evil);
        assert!(!safe.contains('<') && !safe.contains('\'') && !safe.contains('\u{0}'));
    }

    #[test]
    fn a_link_stays_in_the_folder() {
        assert_eq!(link("series/modes 1.csv"), "./series/modes%201.csv");
        assert_eq!(link("javascript:alert(1)"), "./javascript%3Aalert%281%29");
        assert_eq!(link("//host/x"), "./host/x");
    }

    #[test]
    fn small_signs() {
        assert_eq!(subscript(12), "₁₂");
        assert_eq!(superscript(-3), "⁻³");
        assert_eq!(words("kinematic_viscosity"), "Kinematic viscosity");
        assert_eq!(slug("Body 1: Mode 2"), "body-1-mode-2");
        assert_eq!(listed(&["a".into(), "b".into(), "c".into()]), "a, b and c");
    }
}
