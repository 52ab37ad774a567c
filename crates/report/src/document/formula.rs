//! Formulas from plain text to HTML, without a library.
//!
//! ```text
//! sigma = rho R^3 omega_n^2 / [n (n-1) (n+2)]
//! ```
//!
//! Names of Greek letters become letters, single letters are set in italics, `_` and `^` lower and raise the next
//! number, name or `{group}`; `sqrt`, `+-`, `<=`, `>=`, `!=`, `~=`, `*` and `...` become their signs. Everything else
//! stands as written, escaped. It does not check that a formula makes sense.

use crate::text::escape;

const GREEK: &[(&str, &str)] = &[
    ("alpha", "α"),
    ("beta", "β"),
    ("gamma", "γ"),
    ("delta", "δ"),
    ("Delta", "Δ"),
    ("epsilon", "ε"),
    ("eta", "η"),
    ("theta", "θ"),
    ("kappa", "κ"),
    ("lambda", "λ"),
    ("mu", "μ"),
    ("nu", "ν"),
    ("xi", "ξ"),
    ("rho", "ρ"),
    ("sigma", "σ"),
    ("tau", "τ"),
    ("phi", "φ"),
    ("chi", "χ"),
    ("psi", "ψ"),
    ("omega", "ω"),
];

const SIGNS: &[(&str, &str)] = &[
    ("+-", "±"),
    ("<=", "≤"),
    (">=", "≥"),
    ("!=", "≠"),
    ("~=", "≈"),
    ("...", "…"),
    ("->", "→"),
    ("*", "·"),
    ("-", "\u{2212}"),
];

/// Upright names with a sign of their own.
const UPRIGHT: &[(&str, &str)] = &[
    ("pi", "π"),
    ("sqrt", "√"),
    ("sum", "∑"),
    ("infinity", "∞"),
    ("partial", "∂"),
];

/// The formula as HTML.
///
/// ```
/// use tremolet_report::document::formula::html;
/// assert_eq!(html("omega_n^2"), "<var>ω</var><sub><var>n</var></sub><sup>2</sup>");
/// assert_eq!(html("a < 2 pi"), "<var>a</var> &lt; 2 π");
/// ```
pub fn html(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        rest = match c {
            '_' => shifted(&rest[1..], "sub", &mut out),
            '^' => shifted(&rest[1..], "sup", &mut out),
            c if c.is_alphabetic() => {
                let (name, after) = split(rest, char::is_alphabetic);
                out.push_str(&named(name));
                after
            }
            c => sign(rest, c, &mut out),
        };
    }
    out
}

fn split(text: &str, inside: impl Fn(char) -> bool) -> (&str, &str) {
    text.split_at(text.find(|c| !inside(c)).unwrap_or(text.len()))
}

fn sign<'a>(rest: &'a str, c: char, out: &mut String) -> &'a str {
    match SIGNS.iter().find(|(plain, _)| rest.starts_with(plain)) {
        Some((plain, real)) => {
            out.push_str(real);
            &rest[plain.len()..]
        }
        None => {
            out.push_str(&escape(&rest[..c.len_utf8()]));
            &rest[c.len_utf8()..]
        }
    }
}

fn named(name: &str) -> String {
    if let Some((_, letter)) = GREEK.iter().find(|(plain, _)| *plain == name) {
        return format!("<var>{letter}</var>");
    }
    if let Some((_, letter)) = UPRIGHT.iter().find(|(plain, _)| *plain == name) {
        return (*letter).to_owned();
    }
    if name.chars().count() == 1 {
        format!("<var>{}</var>", escape(name))
    } else {
        escape(name)
    }
}

/// A lowered or raised piece, and what follows it.
fn shifted<'a>(rest: &'a str, tag: &str, out: &mut String) -> &'a str {
    let (piece, after) = piece(rest);
    out.push_str(&format!("<{tag}>{}</{tag}>", html(piece)));
    after
}

fn piece(rest: &str) -> (&str, &str) {
    if let Some(inside) = rest.strip_prefix('{') {
        return match inside.find('}') {
            Some(end) => (&inside[..end], &inside[end + 1..]),
            None => (inside, ""),
        };
    }
    let signed = usize::from(rest.starts_with(['-', '+']));
    let (name, _) = split(&rest[signed..], char::is_alphanumeric);
    rest.split_at(signed + name.len())
}

#[cfg(test)]
mod tests {
    use super::html;

    #[test]
    fn letters_signs_and_places() {
        assert_eq!(
            html("3 pi m f_2^2 / 8"),
            "3 π <var>m</var> <var>f</var><sub>2</sub><sup>2</sup> / 8"
        );
        assert_eq!(html("x^-1"), "<var>x</var><sup>−1</sup>");
        assert_eq!(
            html("e^{-b t}"),
            "<var>e</var><sup>−<var>b</var> <var>t</var></sup>"
        );
        assert_eq!(html("R_eff"), "<var>R</var><sub>eff</sub>");
        assert_eq!(html("cos theta"), "cos <var>θ</var>");
    }

    #[test]
    fn markup_stays_text_and_the_end_is_safe() {
        assert_eq!(html("<b>"), "&lt;<var>b</var>&gt;");
        assert_eq!(html("a_"), "<var>a</var><sub></sub>");
        assert_eq!(html("a_{n"), "<var>a</var><sub><var>n</var></sub>");
        assert!(!html("^<script>").contains("<script"));
    }
}
